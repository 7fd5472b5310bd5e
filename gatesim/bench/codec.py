"""The values of the contract as JSON, both ways, by reflection over `plant/logic/contract.py`.

Named tuples are objects, enums their text, bytes text, other tuples and sets arrays; numbers are written so that they
read back as the same number.  Reading is strict: a wrong type is a `Mismatch` that says what would be right.  A member
that is not known is left alone.
"""

from __future__ import annotations

from collections.abc import Callable
from difflib import get_close_matches
from enum import Enum
from functools import cache
from math import isfinite
from types import NoneType, UnionType
from typing import Any, NamedTuple, Union, get_args, get_origin, get_type_hints

from gatesim.units import clip


class Mismatch(ValueError):
    """JSON that is no value of the asked type; `message` says where and what would be right."""


class Codec(NamedTuple):
    """How values of one type are written (`dump`), read (`load(json, place)`), and described."""

    dump: Callable[[Any], Any]
    load: Callable[[Any, str], Any]
    words: str


def _same(value: Any) -> Any:
    return value


def shown(value: Any) -> str:
    """A JSON value for a message, cut short."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "an array"
    if isinstance(value, str):
        return clip(value)
    return {None: "null", True: "true", False: "false"}.get(value, repr(value)) if not _number(value) else repr(value)


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _wrong(place: str, value: Any, wanted: str) -> Mismatch:
    return Mismatch(f"{place} must be {wanted}, not {shown(value)}")


def _load_bool(value: Any, place: str) -> bool:
    if value is not True and value is not False:
        raise _wrong(place, value, "true or false")
    return bool(value)


def _load_int(value: Any, place: str) -> int:
    if not _number(value) or not isfinite(value) or value != int(value) or abs(value) > 1 << 53:
        raise _wrong(place, value, "a whole number")
    return int(value)


def _load_float(value: Any, place: str) -> float:
    if not _number(value) or abs(value) > 1e300 or not isfinite(value):
        raise _wrong(place, value, "a number")
    return float(value)


def _load_text(value: Any, place: str) -> str:
    if not isinstance(value, str):
        raise _wrong(place, value, "text")
    return value


def to_text(kept: bytes) -> str:
    """Kept bytes as text; what is no UTF-8 (a store gone bad) is shown by escapes."""
    return kept.decode("utf-8", "backslashreplace")


def _load_bytes(value: Any, place: str) -> bytes:
    return b"" if value is None else _load_text(value, place).encode("utf-8", "surrogatepass")


def _dump_int(value: Any) -> int:
    return int(value)


def _dump_float(value: Any) -> float | int:
    number = float(value)
    return int(number) if number == int(number) else number


_PLAIN: dict[Any, Codec] = {
    bool: Codec(bool, _load_bool, "true or false"),
    int: Codec(_dump_int, _load_int, "whole number"),
    float: Codec(_dump_float, _load_float, "number"),
    str: Codec(_same, _load_text, "text"),
    bytes: Codec(to_text, _load_bytes, "text"),
}


@cache
def codec(kind: Any) -> Codec:
    """The codec of a type of the contract."""
    if kind in _PLAIN:
        return _PLAIN[kind]
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        (inner,) = [arg for arg in args if arg is not NoneType]
        return _optional(codec(inner))
    if origin is tuple and len(args) == 2 and args[1] is ...:
        return _many(codec(args[0]), tuple, ordered=True)
    if origin is frozenset:
        return _many(codec(args[0]), frozenset, ordered=False)
    if origin is tuple:
        return _fixed(tuple(codec(arg) for arg in args))
    if isinstance(kind, type) and issubclass(kind, Enum):
        return _enum(kind)
    if isinstance(kind, type) and hasattr(kind, "_fields"):
        return _object(kind)
    raise TypeError(f"no JSON for {kind!r}")


def _optional(inner: Codec) -> Codec:
    def dump(value: Any) -> Any:
        return None if value is None else inner.dump(value)

    def load(value: Any, place: str) -> Any:
        if value is None:
            return None
        try:
            return inner.load(value, place)
        except Mismatch as error:
            raise Mismatch(f"{error} (or null)") from None

    return Codec(dump, load, f"{inner.words}, or null")


def _many(inner: Codec, made: Callable[[Any], Any], *, ordered: bool) -> Codec:
    def dump(value: Any) -> list[Any]:
        items = [inner.dump(item) for item in value]
        return items if ordered else sorted(items)

    def load(value: Any, place: str) -> Any:
        if not isinstance(value, list):
            raise _wrong(place, value, "an array")
        return made(inner.load(item, f"{place}[{k}]") for k, item in enumerate(value))

    return Codec(dump, load, f"array of {inner.words}" if "[" in inner.words else f"array: {inner.words}")


def _fixed(inner: tuple[Codec, ...]) -> Codec:
    def dump(value: Any) -> list[Any]:
        return [one.dump(item) for one, item in zip(inner, value, strict=True)]

    def load(value: Any, place: str) -> Any:
        if not isinstance(value, list) or len(value) != len(inner):
            raise _wrong(place, value, f"an array of {len(inner)}")
        return tuple(one.load(item, f"{place}[{k}]") for k, (one, item) in enumerate(zip(inner, value, strict=True)))

    return Codec(dump, load, "[" + ", ".join(one.words for one in inner) + "]")


def _enum(kind: type[Enum]) -> Codec:
    texts = {member.value: member for member in kind}
    legal = ", ".join(f'"{text}"' for text in texts)

    def dump(value: Any) -> Any:
        return value.value

    def load(value: Any, place: str) -> Any:
        if not isinstance(value, str) or value not in texts:
            near = get_close_matches(value, texts, 1) if isinstance(value, str) and len(value) <= 40 else []
            hint = f'; did you mean "{near[0]}"?' if near else ""
            raise Mismatch(f"{place} must be one of {legal}, not {shown(value)}{hint}")
        return texts[value]

    return Codec(dump, load, kind.__name__)


def _object(kind: Any) -> Codec:
    members = fields(kind)
    defaults: dict[str, Any] = kind._field_defaults

    def dump(value: Any) -> dict[str, Any]:
        return {name: one.dump(item) for (name, one), item in zip(members.items(), value, strict=True)}

    def load(value: Any, place: str) -> Any:
        if not isinstance(value, dict):
            raise _wrong(place, value, f"an object ({', '.join(members)})")
        missing = [name for name in members if name not in value and name not in defaults]
        if missing:
            raise Mismatch(f"{place} lacks {', '.join(missing)}")
        given = {name: one.load(value[name], f"{place}.{name}") for name, one in members.items() if name in value}
        return kind(**given)

    return Codec(dump, load, f"object {kind.__name__}")


@cache
def fields(kind: Any) -> dict[str, Codec]:
    """The codec of each member of a named tuple, in order."""
    hints = get_type_hints(kind)
    return {name: codec(hints[name]) for name in kind._fields}


# --- only what changed ------------------------------------------------------------------------------------------------

KEYED = {"reports": "edge"}
"""Arrays of which only the changed objects are told, with the member that says which one."""


def changes(kind: Any, before: Any, now: Any, momentary: frozenset[str] = frozenset()) -> dict[str, Any]:
    """The members of a named tuple that differ from `before` (None: all), as JSON.

    A `momentary` member is told whenever it is not empty, for it says what happened, not what is.
    """
    told: dict[str, Any] = {}
    for k, (name, one) in enumerate(fields(kind).items()):
        value = now[k]
        if name in momentary:
            if value:
                told[name] = one.dump(value)
        elif before is None:
            told[name] = one.dump(value)
        elif before[k] is not value and before[k] != value:
            if name in KEYED:
                value = tuple(item for item in value if item not in before[k])
            told[name] = one.dump(value)
    return told


def applied(kind: Any, before: Any, told: dict[str, Any], place: str,
            momentary: frozenset[str] = frozenset()) -> Any:
    """`before` with what was told.  Mismatch for a wrong value; members not known are left alone."""
    known = fields(kind)
    new: dict[str, Any] = {name: kind._field_defaults.get(name, ()) for name in momentary}
    for name, value in told.items():
        if name not in known:
            continue
        read = known[name].load(value, f"{place}.{name}")
        if name in KEYED and before is not None:
            read = _merged(getattr(before, name), read, KEYED[name], f"{place}.{name}")
        new[name] = read
    if before is not None:
        return before._replace(**new)
    missing = [name for name in known if name not in new]
    if missing:
        raise Mismatch(f"{place} lacks {', '.join(missing)}")
    return kind(**new)


def _merged(before: tuple[Any, ...], told: tuple[Any, ...], key: str, place: str) -> tuple[Any, ...]:
    by_key = {getattr(item, key): item for item in told}
    strange = set(by_key) - {getattr(item, key) for item in before}
    if strange and before:
        raise Mismatch(f"{place}: there is no {key} {clip(min(strange))}")
    if not before:
        return told
    return tuple(by_key.get(getattr(item, key), item) for item in before)
