"""Traces: what happened, stamped and immutable, and the file they are written to.

A trace file is UTF-8, one JSON object a line, keys sorted, no spaces: sections one after the other, the whole run
first, then
each fork with the edge's path alone, then each with the force sensing alone.  A section begins with a header and
ends with `{"ends_us": …}`; between them stands one line an event: `{"t": us, "is": "LeafStopped", "x": um}`.

Figures are whole numbers, rounded half up, once, here: instants in us, lengths in um, forces in mN, speeds in um/s,
accelerations in um/s2, resistances in mohm (key `mohm`), everything else in the unit of `gatesim.units`.  Null stands
for a figure without end.  Enums are written by value.  A field that has a default is left out where it has that: a
`leaf`
that is the first.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from enum import Enum
from types import NoneType, UnionType
from typing import Any, NamedTuple, TypeVar, Union, get_args, get_origin, get_type_hints

from gatesim import events as _events
from gatesim.errors import BadInput, ModelError, Trouble
from gatesim.events import Event, Run, Stamped
from gatesim.units import us

FORMAT = "gatesim-trace/1"
LONGEST_LINE = 65_536
"""Bytes of a line at most."""
MOST_TROUBLES = 20
"""After so many faults of a file the rest is not looked at."""
_LARGEST = 10**18

__all__ = [
    "FORMAT",
    "Foreign",
    "Run",
    "Section",
    "Span",
    "Story",
    "Trace",
    "kinds",
    "line",
    "read",
    "register",
    "sha256",
    "write",
]

E = TypeVar("E")


class Foreign(NamedTuple):
    """An event of a kind that is not known here, kept as it was read: no requirement sees it."""

    kind: str
    fields: str
    """The other fields, as the JSON object that was read."""


class Span(NamedTuple):
    """From an event to the one that ended it (instants in us); `ended` is None where nothing did."""

    begun: float
    ended: float | None

    @property
    def lasts(self) -> float:
        """How long it was (us); without end where nothing ended it."""
        return math.inf if self.ended is None else self.ended - self.begun


class Trace(tuple[Stamped, ...]):
    """Stamped events in the order in which they happened."""

    __slots__ = ()

    def of(self, kind: type[E]) -> Iterator[tuple[float, E]]:
        """Every event of a kind with its instant (us)."""
        for at, event in self:
            if type(event) is kind:
                yield at, event

    def first(self, kind: type[E], after: float = -math.inf) -> tuple[float, E] | None:
        """The first event of a kind at or after an instant (us); None where there is none."""
        return next(((at, event) for at, event in self.of(kind) if at >= after), None)

    def last(self, kind: type[E], before: float = math.inf) -> tuple[float, E] | None:
        """The last event of a kind at or before an instant (us); None where there is none."""
        found = None
        for at, event in self.of(kind):
            if at > before:
                break
            found = at, event
        return found

    def at(self, instant: int) -> tuple[Event, ...]:
        """Every event of a whole microsecond, in order."""
        return tuple([event for at, event in self if us(at) == instant])

    def spans(self, begins: Callable[[Event], bool], ends: Callable[[Event], bool]) -> tuple[Span, ...]:
        """From each event that begins something to the next that ends it; what begins again meanwhile goes on."""
        found: list[Span] = []
        begun: float | None = None
        for at, event in self:
            if begun is None and begins(event):
                begun = at
            elif begun is not None and ends(event):
                found.append(Span(begun, at))
                begun = None
        return tuple(found if begun is None else [*found, Span(begun, None)])


class Section(NamedTuple):
    """One run of a trace, or one fork of it.

    `after`: how many events of the whole run stand before the fork; `fork`: its instant (us; None for the whole run);
    `events`: its own events only; `ends`: where it ends (us).
    """

    run: Run
    after: int
    fork: float | None
    events: Sequence[Stamped]
    ends: float


class Story(NamedTuple):
    """What a trace file says.  `signals`: the event kinds that its source can give (None: all that are known)."""

    site: str
    seed: int | None
    title: str
    sections: tuple[Section, ...]
    signals: tuple[str, ...] | None = None
    foreign: int = 0
    """Events of kinds that are not known here."""


# --- events ----------------------------------------------------------------------------------------------------------

_SCALES = {"v": 10**6, "a": 10**12, "ohm": 10**3}
_KEYS = {"ohm": "mohm"}


class _BadLineError(Exception):
    """A line that is no event; the text says why."""


_quoted = json.encoder.encode_basestring


def _dump(said: Any) -> str:
    return json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def _scaled(scale: int) -> Callable[[Any], str]:
    def encode(value: float) -> str:
        return "null" if math.isinf(value) else str(us(value * scale))

    return encode


def _measured(scale: int, key: str) -> Callable[[Any], float]:
    def decode(value: Any) -> float:
        if value is None:
            return math.inf
        if not isinstance(value, int) or isinstance(value, bool) or abs(value) > _LARGEST:
            raise _BadLineError(f"{key} must be a whole number")
        return value / scale if scale != 1 else float(value)

    return decode


def _enum(kind: type[Enum], key: str) -> Callable[[Any], Enum]:
    by_value = {one.value: one for one in kind}

    def decode(value: Any) -> Enum:
        if type(value) is not str or value not in by_value:
            raise _BadLineError(f"{key} must be one of {', '.join(map(repr, by_value))}")
        return by_value[value]

    return decode


def _plain(kind: type, key: str) -> Callable[[Any], Any]:
    said = {str: "text", bool: "true or false", int: "a whole number"}[kind]

    def decode(value: Any) -> Any:
        if type(value) is not kind or (isinstance(value, int) and abs(value) > _LARGEST):
            raise _BadLineError(f"{key} must be {said}")
        return value

    return decode


def _text(value: Any) -> str:
    return _quoted(value) if type(value) is str else _dump(value)


def _yes_or_no(value: Any) -> str:
    return "true" if value is True else "false" if value is False else _dump(value)


def _whole(value: Any) -> str:
    return str(value) if type(value) is int else _dump(value)


def _codec(hint: Any, name: str) -> tuple[Callable[[Any], str], Callable[[Any], Any]]:
    """How a field of this type is written, as JSON, and read."""
    key = _KEYS.get(name, name)
    if get_origin(hint) in (UnionType, Union):
        inner = [each for each in get_args(hint) if each is not NoneType]
        encode, decode = _codec(inner[0], name)
        return (lambda v: "null" if v is None else encode(v)), (lambda v: None if v is None else decode(v))
    if get_origin(hint) is tuple:
        encode, decode = _codec(get_args(hint)[0], name)

        def many(value: Any) -> tuple[Any, ...]:
            if type(value) is not list:
                raise _BadLineError(f"{key} must be a list")
            return tuple(decode(each) for each in value)

        return (lambda v: "[" + ",".join([encode(each) for each in v]) + "]"), many
    if isinstance(hint, type) and issubclass(hint, Enum):
        written = {one.value: _dump(one.value) for one in hint}
        return (lambda v: written[v._value_]), _enum(hint, key)
    if hint is float:
        scale = _SCALES.get(name, 1)
        return _scaled(scale), _measured(scale, key)
    if hint in (str, bool, int):
        return (_text if hint is str else _whole if hint is int else _yes_or_no), _plain(hint, key)
    raise ModelError(f"an event's field {name} of type {hint} can't be written to a trace")


_NEEDED = object()
"""In place of the default of a field that has none."""
_READS: dict[type, tuple[tuple[str, Callable[[Any], Any], Any], ...]] = {}
"""A key, a decoder and a default for each field of a kind."""
_WRITES: dict[type, Callable[[float, Any], str]] = {}
"""What makes the line of an event of this kind from its instant and itself."""
_KINDS: dict[str, type] = {}


def register(kind: type) -> type:
    """Make an event kind (a NamedTuple class) known to traces; those of `gatesim.events` are.  Use it as a decorator.

    Raises ModelError where another kind has the name, or a field can't be written.
    """
    known = _KINDS.setdefault(kind.__name__, kind)
    if known is not kind:
        raise ModelError(f"two event kinds are named {kind.__name__}")
    hints = get_type_hints(kind)
    defaults: dict[str, Any] = getattr(kind, "_field_defaults", {})
    reads: list[tuple[str, Callable[[Any], Any], Any]] = []
    values = {
        "is": f"{_quoted('is')}:{_quoted(kind.__name__)}",
        "t": f"{_quoted('t')}:{{at if type(at) is int else us(at)}}",
    }
    scope: dict[str, Any] = {"us": us, "quoted": _quoted, "dump": _dump, "nothing": ""}
    optional: dict[str, int] = {}
    for place, name in enumerate(kind._fields):  # type: ignore[attr-defined]
        key = _KEYS.get(name, name)
        scope[f"encode{place}"], decode = _codec(hints[name], name)
        reads.append((key, decode, defaults.get(name, _NEEDED)))
        values[key] = f"{_quoted(key)}:{_expression(hints[name], place)}"
        if name in defaults:
            optional[key], scope[f"default{place}"] = place, defaults[name]
    line = _template(values, optional, scope)
    exec(f"def write(at, event): return f'{{{{{line}}}}}'", scope)  # noqa: S102 - from the names of our own fields
    _READS[kind], _WRITES[kind] = tuple(reads), scope["write"]
    return kind


def _template(values: dict[str, str], optional: dict[str, int], scope: dict[str, Any]) -> str:
    """The inside of the line's f-string, by key; an optional field is left out, with its comma, where it is default."""
    made, begun = "", False
    for key in sorted(values):
        place = optional.get(key)
        if place is None:
            made, begun = made + ("," if begun else "") + values[key], True
        else:
            scope[f"told{place}"] = _telling(key, scope[f"encode{place}"], after=begun)
            made += f"{{nothing if event[{place}] is default{place} else told{place}(event[{place}])}}"
    return made


def _telling(key: str, encode: Callable[[Any], str], *, after: bool) -> Callable[[Any], str]:
    """What writes an optional field after another one, or before the first that is always there."""
    before, behind = ("," if after else "") + _quoted(key) + ":", "" if after else ","
    return lambda value: before + encode(value) + behind


def _expression(hint: Any, place: int) -> str:
    """A field's value within an f-string that gives the line; common types without a call."""
    value = f"event[{place}]"
    if hint is str:
        return f"{{quoted({value}) if type({value}) is str else dump({value})}}"
    if hint is int:
        return f"{{{value} if type({value}) is int else dump({value})}}"
    return f"{{encode{place}({value})}}"


def kinds() -> dict[str, type]:
    """Every known event kind by its name."""
    return dict(_KINDS)


def line(stamped: tuple[float, Event]) -> str:
    """The line of an instant and an event in a trace file, without its line feed."""
    at, event = stamped
    if type(event) is Foreign:
        return _dump({"t": us(at), "is": event.kind, **json.loads(event.fields)})
    write = _WRITES.get(type(event))
    if write is None:
        write = _WRITES[register(type(event))]
    return write(at, event)


def _event(said: dict[str, Any]) -> Event:
    name = said.pop("is")
    if type(name) is not str:
        raise _BadLineError("is must be text, the kind of the event")
    kind = _KINDS.get(name)
    if kind is None:
        return Foreign(name, _dump(said))
    values = []
    if kind not in _READS:
        register(kind)
    for key, decode, default in _READS[kind]:
        if key in said:
            values.append(decode(said.pop(key)))
        elif default is _NEEDED:
            raise _BadLineError(f"{name} needs {key}")
        else:
            values.append(default)
    if said:
        raise _BadLineError(f"{name} has no {sorted(said)[0]}")
    event: Event = kind(*values)
    return event


# --- files -----------------------------------------------------------------------------------------------------------


def parse_line(raw: bytes) -> Stamped:
    """The stamped event of a line that `line` made."""
    said = _object(raw)
    return Stamped(said.pop("t"), _event(said))


def _head(story: Story, section: Section) -> str:
    head: dict[str, Any] = {"format": FORMAT, "run": section.run.value}
    if section.run is Run.WHOLE:
        head |= {"site": story.site, "seed": story.seed, "title": story.title}
        if story.signals is not None:
            head["signals"] = list(story.signals)
    else:
        head |= {"after": section.after, "fork_us": us(section.fork or 0)}
    return _dump(head)


def pieces(story: Story) -> Iterator[bytes]:
    """The bytes of a trace file, some at a time."""
    for section in story.sections:
        yield _bytes(_head(story, section))
        written: Callable[[], Iterator[bytes]] | None = getattr(section.events, "written", None)
        yield from (_bytes(line(stamped)) for stamped in section.events) if written is None else written()
        yield _bytes(_dump({"ends_us": us(section.ends)}))


def _bytes(each: str) -> bytes:
    # A lone surrogate, which UTF-8 has no bytes for, becomes the JSON escape of the same.
    return (each + "\n").encode("utf-8", "backslashreplace")


def write(story: Story) -> bytes:
    """The bytes of a trace file."""
    return b"".join(pieces(story))


def digest(story: Story) -> str:
    """SHA-256 of the bytes that `write` would give, without holding them."""
    running = hashlib.sha256()
    for piece in pieces(story):
        running.update(piece)
    return running.hexdigest()


def sha256(written: bytes) -> str:
    """SHA-256 of a trace file's bytes, in hexadecimal digits."""
    return hashlib.sha256(written).hexdigest()


class _Reader:
    """Reads a trace line by line; notes every fault with its line."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.troubles: list[Trouble] = []
        self.head: dict[str, Any] | None = None
        self.whole: dict[str, Any] = {}
        self.events: list[Stamped] = []
        self.sections: list[Section] = []
        self.foreign = 0

    def wrong(self, number: int, message: str, hint: str = "") -> None:
        self.troubles.append(Trouble(self.file, number, 1, message, hint))

    def take(self, number: int, raw: bytes) -> None:
        try:
            self._take(number, _object(raw))
        except _BadLineError as bad:
            self.wrong(number, str(bad), "one JSON object a line: header, events, ends_us")

    def _take(self, number: int, said: dict[str, Any]) -> None:
        if "format" in said:
            if self.head is not None:
                self.wrong(number, "a section begins before the last one has ended", "a line with ends_us is missing")
            self.head, self.events = self._header(said), []
        elif self.head is None:
            raise _BadLineError("this line stands in no section")
        elif "ends_us" in said:
            self._end(_instant(said, "ends_us"))
        else:
            at = _instant(said, "t")
            before = self.events[-1].at if self.events else self.head.get("fork_us", 0)
            if at < before:
                raise _BadLineError(f"time runs backward: {at} us after {us(before)} us")
            if "is" not in said:
                raise _BadLineError("an event needs is, its kind")
            del said["t"]
            event = _event(said)
            self.foreign += type(event) is Foreign
            self.events.append(Stamped(float(at), event))

    def _header(self, said: dict[str, Any]) -> dict[str, Any]:
        if said["format"] != FORMAT:
            raise _BadLineError(f"format must be {FORMAT!r}")
        runs = {run.value: run for run in Run}
        run = runs.get(said.get("run", "")) if isinstance(said.get("run", ""), str) else None
        if run is None:
            raise _BadLineError(f"run must be one of {', '.join(map(repr, runs))}")
        head: dict[str, Any] = {"run": run}
        if (run is Run.WHOLE) is bool(self.sections):
            raise _BadLineError("the whole run comes first, and once")
        if run is not Run.WHOLE:
            head["after"], head["fork_us"] = _instant(said, "after"), _instant(said, "fork_us")
            if head["after"] > len(self.sections[0].events):
                raise _BadLineError("after is more than the whole run has events")
            return head
        self.whole = _about(said)
        return head

    def _end(self, ends: int) -> None:
        head = self.head or {}
        if self.events and ends < self.events[-1].at:
            raise _BadLineError("the section ends before its last event")
        fork = float(head["fork_us"]) if "fork_us" in head else None
        self.sections.append(Section(head["run"], head.get("after", 0), fork, tuple(self.events), float(ends)))
        self.head, self.events = None, []


def _about(said: dict[str, Any]) -> dict[str, Any]:
    """What the header of the whole run says of the run."""
    site, seed, title, signals = (said.get(key) for key in ("site", "seed", "title", "signals"))
    if not isinstance(site, str | NoneType) or not isinstance(title, str | NoneType):
        raise _BadLineError("site and title must be text")
    if seed is not None and type(seed) is not int:
        raise _BadLineError("seed must be a whole number")
    if signals is not None and not (isinstance(signals, list) and all(isinstance(one, str) for one in signals)):
        raise _BadLineError("signals must be a list of event kinds")
    kinds_given = None if signals is None else tuple(signals)
    return {"site": site or "", "seed": seed, "title": title or "", "signals": kinds_given}


def _instant(said: dict[str, Any], key: str) -> int:
    value = said.get(key)
    if type(value) is not int or not 0 <= value <= _LARGEST:
        raise _BadLineError(f"{key} must be a whole number, not below zero")
    return value


def _constant(word: str) -> Any:
    raise _BadLineError(f"{word} is no figure")


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    said = dict(pairs)
    if len(said) != len(pairs):
        raise _BadLineError("a key stands twice")
    return said


def _object(raw: bytes) -> dict[str, Any]:
    if len(raw) > LONGEST_LINE:
        raise _BadLineError(f"the line is longer than {LONGEST_LINE} bytes")
    try:
        said = json.loads(raw.decode("utf-8"), parse_constant=_constant, object_pairs_hook=_pairs)
    except UnicodeDecodeError:
        raise _BadLineError("the line is not UTF-8") from None
    except (ValueError, RecursionError):
        raise _BadLineError("the line is not JSON") from None
    if not isinstance(said, dict):
        raise _BadLineError("the line is not a JSON object")
    return said


def read(data: bytes, file: str = "trace") -> Story:
    """Read a trace file's bytes.

    Raises BadInput with every faulty line (the first 20).  Events of unknown kinds are kept as `Foreign` and counted.
    """
    reader = _Reader(file)
    lines = data.split(b"\n")
    for number, raw in enumerate(lines, 1):
        if raw.strip():
            reader.take(number, raw)
        if len(reader.troubles) >= MOST_TROUBLES:
            break
    else:
        if reader.head is not None:
            reader.wrong(len(lines), "the trace breaks off", "the last line of a section says ends_us")
        elif not reader.sections and not reader.troubles:
            reader.wrong(1, "there is no trace here", f"the first line is a header with format {FORMAT!r}")
    if reader.troubles:
        raise BadInput(tuple(reader.troubles))
    about = reader.whole
    return Story(about["site"], about["seed"], about["title"], tuple(reader.sections), about["signals"], reader.foreign)


def _common() -> Iterable[type]:
    """The event kinds of `gatesim.events`: what stands there between commands and stimuli, in past tense."""
    names = vars(_events)
    wanted = list(names).index("CommandPressed"), list(names).index("Event")
    return [kind for kind in list(names.values())[wanted[0] : wanted[1]] if isinstance(kind, type)]


# How their fields are written is worked out when one is met.
_KINDS.update({_kind.__name__: _kind for _kind in _common()})
