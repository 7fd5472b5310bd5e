"""An event as a line of words and rounded figures, for golden traces and for the difference of two traces.

A golden trace is UTF-8 text: a head, one event of the whole run a line, an end. Instants are in seconds, to 1 ms;
lengths to 0.1 mm, speeds and accelerations to 1 mm/s and 1 mm/s2, forces to 1 N, resistances to 1 ohm. Radio frames
are left out.
"""

from __future__ import annotations

import json
import re
from typing import Any, NamedTuple

from gatesim.errors import BadInput, Trouble
from gatesim.trace import MOST_TROUBLES, Section, line
from gatesim.units import us

FORMAT = "gatesim-golden/1"
SUFFIX = ".golden"
"""Instead of the scenario's own `.scenario.yaml`."""
RADIO = ("FrameSent", "FrameArrived")
"""Most of a trace, and seldom what changed it."""
SUBJECT = ("edge", "beam", "transmitter", "wire", "device", "obstruction", "leaf")
"""Fields that say what an event is about; events of one kind and subject follow one another."""
STEP = 1_000
"""Of an instant in a golden trace (us)."""


class Unit(NamedTuple):
    """How a figure of a trace is shown: unit, how many of the trace are one of it, and the step it is rounded to."""

    name: str
    each: int
    step: int


_COUNT = Unit("", 1, 1)
_MM = Unit("mm", 1_000, 100)
UNITS = {
    "x": _MM, "overtravel": _MM, "gap": _MM, "v": Unit("mm/s", 1_000, 1_000), "a": Unit("mm/s2", 1_000, 1_000),
    "force": Unit("N", 1_000, 1_000), "level": Unit("N", 1_000, 1_000), "mohm": Unit("ohm", 1_000, 1_000),
}
"""By the key of a trace."""
_HEAD = "# Instants in s. Figures are rounded: 1 ms, 0.1 mm, 1 mm/s, 1 mm/s2, 1 N, 1 ohm. Radio frames are left out."


class Told(NamedTuple):
    """An event with its instant (us): kind, what it is about, its words, its figures (as in a trace), each by key."""

    at: int
    kind: str
    subject: tuple[tuple[str, str], ...]
    words: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, int], ...]

    def rounded(self) -> Told:
        """As a golden trace has it."""
        return self._replace(at=_nearest(self.at, STEP), figures=tuple(
            (key, _nearest(value, step(key))) for key, value in self.figures))

    def text(self) -> str:
        """Kind and fields: `LeafStopped leaf=second x=12.5mm`."""
        said = [f"{key}={quoted(value)}" for key, value in (*self.subject, *self.words)]
        said += [f"{key}={figure(key, value)}" for key, value in self.figures]
        return " ".join((self.kind, *said))


def _nearest(value: int, step: int) -> int:
    return (value + step // 2) // step * step


def figure(key: str, value: int) -> str:
    """A figure with its unit, as many places as it has: "12.5mm"."""
    unit = UNITS.get(key, _COUNT)
    whole, rest = divmod(abs(value), unit.each)
    places = len(str(unit.each)) - 1
    shown = f"{rest:0{places}}".rstrip("0") if rest else ""
    shown = shown or ("0" if unit.step < unit.each else "")
    return f"{'-' if value < 0 else ''}{whole}{'.' + shown if shown else ''}{unit.name}"


def step(key: str) -> int:
    """What a figure is rounded to in a golden trace, in the unit of a trace."""
    return UNITS.get(key, _COUNT).step


_BARE = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")


def quoted(text: str) -> str:
    """A word as it is, any other text as JSON in ASCII: no control character, and no line but this one."""
    return text if _BARE.fullmatch(text) else json.dumps(text)


def told(stamped: tuple[float, Any]) -> Told:
    """An event of a run or of a trace that was read."""
    said = json.loads(line((stamped[0], stamped[1])))
    at, kind = said.pop("t"), said.pop("is")
    figures = tuple((key, value) for key, value in said.items() if type(value) is int)
    texts = {key: _word(value) for key, value in said.items() if type(value) is not int}
    return Told(at, kind, tuple((key, texts[key]) for key in SUBJECT if key in texts),
                tuple((key, text) for key, text in texts.items() if key not in SUBJECT), figures)


def _word(value: Any) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else ", ".join(map(str, value))


class Golden(NamedTuple):
    """What a golden trace says; `ends` in us."""

    seed: int
    events: tuple[Told, ...]
    ends: int


def golden_of(whole: Section, seed: int) -> Golden:
    """The golden trace of a run."""
    events = tuple(told(one).rounded() for one in whole.events if type(one[1]).__name__ not in RADIO)
    return Golden(seed, events, _nearest(us(whole.ends), STEP))


def written(golden: Golden) -> str:
    """The text of its file."""
    lines = [f"# {FORMAT} seed={golden.seed}", _HEAD, *(f"{_instant(one.at)}  {one.text()}" for one in golden.events),
             f"# ends {_instant(golden.ends)}"]
    return "\n".join(lines) + "\n"


def _instant(at: int) -> str:
    return f"{at // 1_000_000}.{at // STEP % 1_000:03}"


# --- reading ---------------------------------------------------------------------------------------------------------

_FIRST = re.compile(rf"# {FORMAT} seed=(\d{{1,20}})")
_LAST = re.compile(r"# ends (\d{1,15})\.(\d{3})")
_EVENT = re.compile(r"(\d{1,15})\.(\d{3})  (\w+)((?: \w+=(?:\"(?:[^\"\\]|\\.)*\"|[^\s\"=]+))*)")
_FIELD = re.compile(r" (\w+)=(\"(?:[^\"\\]|\\.)*\"|[^\s\"=]+)")
_FIGURE = re.compile(r"(-?)(\d{1,18})(?:\.(\d{1,3}))?([a-zA-Z/0-9]*)")


def read(text: str, file: str) -> Golden:
    """Read a golden trace.  BadInput with every line that is none (the first 20)."""
    lines = text.splitlines()
    first, last = _FIRST.fullmatch(lines[0] if lines else ""), _LAST.fullmatch(lines[-1] if lines else "")
    troubles = [] if first else [Trouble(file, 1, 1, f"a golden trace begins with `# {FORMAT} seed=NUMBER`")]
    if lines and last is None:
        troubles.append(Trouble(file, len(lines), 1, "the trace breaks off", "the last line is `# ends SECONDS`"))
    events: list[Told] = []
    for number, raw in enumerate(lines[1:-1], 2):
        if raw.startswith("#"):
            continue
        one = _read_event(raw)
        if one is None:
            troubles.append(Trouble(file, number, 1, "the line is no event",
                                    "`SECONDS.MMM  Kind key=value key=\"some text\" key=1.5mm`"))
        elif events and one.at < events[-1].at:
            troubles.append(Trouble(file, number, 1, "time runs backward"))
        else:
            events.append(one)
    if troubles or first is None or last is None:
        raise BadInput(tuple(troubles[:MOST_TROUBLES]))
    return Golden(int(first[1]), tuple(events), int(last[1]) * 1_000_000 + int(last[2]) * STEP)


def _read_event(raw: str) -> Told | None:
    found = _EVENT.fullmatch(raw)
    if found is None:
        return None
    words, figures = {}, {}
    for key, value in _FIELD.findall(found[4]):
        number = _FIGURE.fullmatch(value)
        unit = UNITS.get(key, _COUNT)
        if key in words or key in figures:
            return None
        if number is None:
            try:
                words[key] = json.loads(value) if value.startswith('"') else value
            except ValueError:
                return None
        elif number[4] == unit.name:
            part = int((number[3] or "").ljust(3, "0")) * unit.each // 1_000
            figures[key] = (int(number[2]) * unit.each + part) * (-1 if number[1] else 1)
        else:
            return None
    return Told(int(found[1]) * 1_000_000 + int(found[2]) * STEP, found[3],
                tuple((key, words[key]) for key in SUBJECT if key in words),
                tuple((key, text) for key, text in words.items() if key not in SUBJECT), tuple(figures.items()))


def beside(scenario: str) -> str:
    """The golden trace's file beside a scenario's."""
    return scenario.removesuffix(".scenario.yaml") + SUFFIX

