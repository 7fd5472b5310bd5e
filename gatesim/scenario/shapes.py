"""From the model's plain dataclasses to what pydantic checks: the only door of pydantic.

Every scalar arrives as text and is read by a grammar of ours: quantities by `units.parse`, whole numbers, truth words
and enums here.  pydantic walks the tables, finds unknown and missing keys, chooses the step's kind, and lists all
faults at once; it reads no scalar itself.  The same shapes give the JSON Schema; files are read by pydantic's engine
alone (`engine.py`).
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Callable
from enum import Enum
from functools import lru_cache
from typing import Any, NamedTuple

from gatesim.scenario.model import AnyStep, Expectation, Override, Scenario, Step
from gatesim.units import BadQuantity, Quantity, clip, example, format_quantity, parse, whole_number

SITE_FORMAT = "gatesim-site/1"
SCENARIO_FORMAT = "gatesim-scenario/1"

WHOLE: dict[str, tuple[int, int]] = {
    "identity": (0, 2**32 - 1),
    "debounce": (1, 1_000),
    "fault_debounce": (1, 1_000),
    "event_repeats": (1, 100),
    "converter_bits": (6, 24),
    "chatter_limit": (1, 100_000),
    "counter_bits": (2, 32),
    "wire_gauge": (0, 40),
    "joints": (0, 1_000),
    "converter_error": (0, 1_000_000),
    "faults_a_day": (0, 10_000),
    "moves_in_busiest_hour": (0, 3_600),
    "moves_a_day": (0, 86_400),
    "presses_a_day": (0, 86_400),
    "times": (1, 100_000),
    "flickers": (1, 100_000),
    "seed": (0, 2**64 - 1),
    "silence_factor": (0, 1_000_000),
}
"""Range of each whole number, by the name of its field."""

LONG_TEXTS = frozenset({"notes", "teaches"})
LONGEST_LONG_TEXT = 10_000
LONGEST_TEXT = 200

DROPPED = frozenset({"file", "site_file", "site", "expected_at"})
"""Fields of a Scenario that its file does not state as they stand (`site` is read apart)."""

TEXT_OR_NUMBER: dict[str, Any] = {"type": ["string", "integer", "number", "boolean"]}


class Row(NamedTuple):
    """One key of a table of a file."""

    name: str
    kind: Any
    required: bool
    default: Any


@lru_cache(maxsize=64)
def rows(table: Any) -> tuple[Row, ...]:
    """The keys of a table in the order of the model; `kind` is the type without None."""
    hints = typing.get_type_hints(table, include_extras=True)
    made = []
    for entry in dataclasses.fields(table):
        if table is Scenario and entry.name in DROPPED:
            continue
        default = entry.default
        if entry.default_factory is not dataclasses.MISSING:
            default = entry.default_factory()
        required = default is dataclasses.MISSING
        made.append(Row(entry.name, _without_none(hints[entry.name]), required, None if required else default))
    return tuple(made)


def _without_none(kind: Any) -> Any:
    if typing.get_origin(kind) in {typing.Union, types.UnionType}:
        left = [choice for choice in typing.get_args(kind) if choice is not type(None)]
        if len(left) == 1:
            return left[0]
    return kind


def item_of(kind: Any) -> Any:
    """The type of a list's entries, or None where the kind is no list."""
    return typing.get_args(kind)[0] if typing.get_origin(kind) is tuple else None


def quantity_of(kind: Any) -> Quantity | None:
    """The Quantity marker of a field's type, if it has one."""
    for mark in getattr(kind, "__metadata__", ()):
        if isinstance(mark, Quantity):
            return mark
    return None


def is_step(kind: Any) -> bool:
    """Whether the kind is the union of the step kinds."""
    return bool(kind == AnyStep)


@lru_cache(maxsize=1)
def step_kinds() -> dict[str, type[Step]]:
    """The step classes by their `do`."""
    kinds: dict[str, type[Step]] = {}
    for kind in typing.get_args(AnyStep):
        kinds[typing.get_args(typing.get_type_hints(kind)["do"])[0]] = kind
    return kinds


def nearest(word: str, legal: typing.Iterable[str]) -> str:
    """The words "did you mean 'x'", or nothing."""
    import difflib

    if len(word) > 60:
        return ""
    close = difflib.get_close_matches(word, list(legal), n=1, cutoff=0.5)
    return f"did you mean {clip(close[0])}" if close else ""


def listed(legal: typing.Iterable[str], most: int = 16) -> str:
    """The legal words for a hint."""
    words = list(legal)
    return ", ".join(words[:most]) + (f" and {len(words) - most} more" if len(words) > most else "")


def offer(word: str, legal: typing.Iterable[str]) -> str:
    """The hint for a wrong word: the nearest, and all that are legal."""
    words = list(legal)
    near = nearest(word, words)
    legal_words = f"legal are {listed(words)}" if words else ""
    return "? ".join(part for part in (near, legal_words) if part)


# --- scalars ---------------------------------------------------------------------------------------------------


def read_enum(text: str, kind: type[Enum]) -> Enum:
    """The member whose value is this text."""
    for member in kind:
        if member.value == text:
            return member
    raise BadQuantity(f"{clip(text)} is not one of the words for this", offer(text, [m.value for m in kind]))


def read_truth(text: str) -> bool:
    """`true` or `false`."""
    if text not in {"true", "false"}:
        raise BadQuantity(f"{clip(text)} is neither true nor false", "write true or false")
    return text == "true"


def _read_text(text: str, name: str, may_be_empty: bool) -> str:
    most = LONGEST_LONG_TEXT if name in LONG_TEXTS else LONGEST_TEXT
    if not text.strip() and not may_be_empty:
        raise BadQuantity("the text is empty", "write something")
    if len(text) > most:
        raise BadQuantity(f"{clip(text)} is too long", f"at most {most} characters")
    if name not in LONG_TEXTS and "\n" in text:
        raise BadQuantity(f"{clip(text)} has more than one line", "write it on one line")
    return text


def scalar_reader(row: Row) -> Callable[[str], Any]:
    """How a scalar field's text is read."""
    kind, quantity = row.kind, quantity_of(row.kind)
    if quantity is not None:
        return lambda text: parse(text, quantity)
    if kind is bool:
        return read_truth
    if kind is int:
        low, high = WHOLE[row.name]
        return lambda text: whole_number(text, low, high)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return lambda text: read_enum(text, kind)
    if kind is str:
        empty = row.default == ""
        return lambda text: _read_text(text, row.name, empty)
    raise TypeError(f"no way to read {row.name}: {kind!r}")


def scalar_schema(row: Row) -> dict[str, Any]:
    """The JSON Schema of a scalar field."""
    kind, quantity = row.kind, quantity_of(row.kind)
    if quantity is not None:
        return _quantity_schema(quantity)
    if kind is bool:
        return {"type": "boolean"}
    if kind is int:
        low, high = WHOLE[row.name]
        return {"type": "integer", "minimum": low, "maximum": high}
    if kind is not str:
        return {"enum": [member.value for member in kind]}
    if row.name in {"value", "limit"}:
        return dict(TEXT_OR_NUMBER)
    return {"type": "string"} if row.default == "" else {"type": "string", "minLength": 1}


def _quantity_schema(quantity: Quantity) -> dict[str, Any]:
    import re

    from gatesim.units import UNITS

    units = "|".join(re.escape(unit).replace("\\%", "%") for unit in UNITS[quantity.dimension])
    sign = "[+-]?" if quantity.low is None or quantity.low < 0 else "[+]?"
    said = f"A {quantity.dimension.value} with its unit ({', '.join(UNITS[quantity.dimension])})"
    if quantity.low is not None and quantity.high is not None:
        ends = [format_quantity(end, quantity.dimension) for end in (quantity.low, quantity.high)]
        said += f", from {ends[0]} to {ends[1]}"
    pattern = rf"^{sign}[0-9]+(\.[0-9]+)? *({units})$"
    return {"type": "string", "pattern": pattern, "description": said, "examples": [example(quantity.dimension)]}


# --- shapes ----------------------------------------------------------------------------------------------------

Describe = Callable[[type, str], str]


class Shapes:
    """Builds pydantic types from the model; `describe` gives a field's words for the JSON Schema."""

    def __init__(self, describe: Describe | None = None) -> None:
        self.describe = describe
        self.made: dict[Any, Any] = {}

    def table(self, table: type, build: bool = True) -> Any:
        """The shape of a table: its keys, no others; read into the dataclass itself where `build`."""
        import pydantic
        import typing_extensions

        if (table, build) in self.made:
            return self.made[table, build]
        keys: dict[str, Any] = {}
        for row in rows(table):
            kind = self._field(row, table)
            keys[row.name] = kind if row.required else typing_extensions.NotRequired[kind]
        make: Any = typing_extensions.TypedDict
        shape = make(table.__name__, keys)
        shape.__pydantic_config__ = pydantic.ConfigDict(extra="forbid")
        shape.__doc__ = (table.__doc__ or "").strip()
        if build:
            shape = typing.Annotated[shape, pydantic.AfterValidator(lambda found: table(**found))]
        self.made[table, build] = shape
        return shape

    def _field(self, row: Row, table: type) -> Any:
        import pydantic

        kind = self._kind(row)
        if self.describe is None:
            return kind
        said = self.describe(table, row.name)
        return typing.Annotated[kind, pydantic.Field(description=said)] if said else kind

    def _kind(self, row: Row) -> Any:
        import pydantic

        if row.name == "do":
            return row.kind
        item = item_of(row.kind)
        if item is not None:
            # Only the variadic tuple[X, ...] occurs in the model.
            return tuple[self._kind(Row(row.name, item, True, None)), ...]  # type: ignore[misc]
        if is_step(row.kind):
            union: Any = typing.Union[tuple(self.table(kind) for kind in step_kinds().values())]  # noqa: UP007
            return typing.Annotated[union, pydantic.Field(discriminator="do")]
        if dataclasses.is_dataclass(row.kind) and isinstance(row.kind, type):
            return self.table(row.kind)
        return self._scalar(row)

    def _scalar(self, row: Row) -> Any:
        import pydantic

        schema = scalar_schema(row)
        return typing.Annotated[Any, pydantic.PlainValidator(checked(row)), pydantic.WithJsonSchema(schema)]


def checked(row: Row) -> Callable[[Any], Any]:
    """What reads a scalar field, and says what is wrong in the way in which pydantic wants it."""
    from pydantic_core import PydanticCustomError

    read = scalar_reader(row)

    def check(given: Any) -> Any:
        if not isinstance(given, str):
            raise PydanticCustomError("gatesim", "a single value is due here", {"hint": ""})
        try:
            return read(given)
        except BadQuantity as bad:
            raise PydanticCustomError("gatesim", "{said}", {"said": bad.message, "hint": bad.hint}) from None

    return check


__all__ = ["Expectation", "Override", "Row", "Shapes", "checked", "rows", "step_kinds"]
