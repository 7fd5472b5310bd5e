"""A run as signals over time: what each event sets, and motion and force between events.

Every signal is a whole number, a yes or no, or a text; each choice of words is both a text and a number with a legend,
for not every reader of waveforms knows texts.  What is not told by any event before an instant is unknown there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from enum import Enum
from typing import Any

from gatesim import events as e
from gatesim.events import LeafName, Stamped
from gatesim.plant.leaves import leaves
from gatesim.plant.logic.controller_table import Mode
from gatesim.plant.nets import hosts, members, rest_ohm
from gatesim.plant.site import Site
from gatesim.report.lanes import story_of
from gatesim.units import us

SAMPLE = 10_000
"""Between events, position, speed and force are given at whole multiples of this (us)."""

Scope = tuple[str, ...]
Value = int | str | None
"""A whole number, a text, or None: it has no value (a loop without end)."""


class Form(Enum):
    """How a signal's values are written, with the bits of a number."""

    BIT = 1
    SMALL = 8
    WHOLE = 32
    LARGE = 64
    TEXT = 0


class Signal:
    """One quantity: its place, what its numbers mean, and its values from instants (us) on."""

    def __init__(self, scope: Scope, name: str, form: Form, first: Value | None = None) -> None:
        self.scope, self.name, self.form, self.first = scope, name, form, first
        self.legend: dict[str, int] = {}
        self.values: list[tuple[int, Value]] = []


class Signals:
    """All signals of a run, made as they are first set."""

    def __init__(self) -> None:
        self._all: dict[tuple[Scope, str], Signal] = {}

    def __iter__(self) -> Iterator[Signal]:
        return iter(self._all.values())

    def get(self, scope: Scope, name: str, form: Form, first: Value = None) -> Signal:
        """A signal, made where there is none; `first` is its value from the start (None: unknown)."""
        return self._all.setdefault((scope, name), Signal(scope, name, form, first))

    def bit(self, at: int, scope: Scope, name: str, value: bool, first: Value = None) -> None:
        """Yes or no."""
        self.get(scope, name, Form.BIT, first).values.append((at, int(value)))

    def number(self, at: int, scope: Scope, name: str, value: Value, form: Form = Form.WHOLE) -> None:
        """A whole number."""
        self.get(scope, name, form).values.append((at, value))

    def choice(self, at: int, scope: Scope, name: str, value: str, words: Iterable[str]) -> None:
        """One of some words: a number by their order, from 0, and a text.  Further words follow as they come."""
        signal = self.get(scope, name, Form.SMALL)
        for word in words if not signal.legend else ():
            signal.legend[word] = len(signal.legend)
        signal.values.append((at, signal.legend.setdefault(value, len(signal.legend))))
        self.get(scope, f"{name}_text", Form.TEXT).values.append((at, value))

    def count(self, at: int, scope: Scope, name: str, said: str | None = None) -> None:
        """One more of something that happens and is over; with a text, which one."""
        signal = self.get(scope, f"{name}_count", Form.WHOLE, 0)
        signal.values.append((at, len(signal.values) + 1))
        if said is not None:
            self.get(scope, f"{name}_text", Form.TEXT).values.append((at, said))


def signals_of(events: Iterable[Stamped], site: Site, ends: float) -> Signals:
    """The signals of a whole run that ends at `ends` (us)."""
    found, kept = Signals(), list(events)
    for edge in site.edges:
        found.get(("edges", edge.name), "pressed", Form.BIT, 0)
    for host in hosts(site):
        found.get(("edges", host.name), "loop mohm", Form.LARGE, us(rest_ohm(members(site, host.name)) * 1000))
    for at, event in kept:
        _SETS.get(type(event), _other)(found, us(at), event)
    _motion(found, kept, site, us(ends))
    return found


# --- what each kind of event sets ------------------------------------------------------------------------------------


def _leaf(event: Any) -> Scope:
    return ("leaf" if event.leaf is LeafName.FIRST else "second leaf",)


def _words(kind: type[Enum]) -> list[str]:
    return [one.value for one in kind]


DIRECTIONS = ["none", *_words(e.Direction)]


def _of(one: Enum | None) -> str:
    return "none" if one is None else str(one.value)


def _command(found: Signals, at: int, event: Any, pressed: bool) -> None:
    found.bit(at, ("commands",), f"{event.command.value} {event.origin.value}", pressed, 0)


def _contact(found: Signals, at: int, event: Any, touching: bool) -> None:
    found.bit(at, ("obstructions", event.obstruction), "touching", touching, 0)


def _contactors(found: Signals, at: int, event: e.ContactorsChanged) -> None:
    found.bit(at, _leaf(event), "energised opening", event.opening, 0)
    found.bit(at, _leaf(event), "energised closing", event.closing, 0)


def _orders(found: Signals, at: int, event: e.OrdersChanged) -> None:
    scope = ("controller",)
    found.choice(at, scope, "order", _of(event.order), DIRECTIONS)
    found.choice(at, scope, "brake", event.brake.value, _words(e.Brake))
    found.choice(at, scope, "lockout", event.lockout.value, _words(e.Lockout))
    found.choice(at, scope, "mode", event.mode, _words(Mode))
    for name in ("slow", "main", "alarm", "armed"):
        found.bit(at, scope, name, getattr(event, name))


def _report(found: Signals, at: int, event: e.ReportChanged) -> None:
    scope = ("receiver", event.edge)
    found.choice(at, scope, "level", event.level.value, _words(e.Level))
    for name in ("heard", "fresh", "low", "critical"):
        found.bit(at, scope, name, getattr(event, name))


def _loop(found: Signals, at: int, event: e.LoopChanged) -> None:
    mohm = None if math.isinf(event.ohm) else us(event.ohm * 1000)
    found.number(at, ("edges", event.edge), "loop mohm", mohm, Form.LARGE)


def _level(found: Signals, at: int, event: e.LevelChanged) -> None:
    found.choice(at, ("edges", event.edge), "level", event.level.value, _words(e.Level))


def _sent(found: Signals, at: int, event: e.FrameSent) -> None:
    found.count(at, ("radio", event.transmitter), "sent", event.why)
    found.number(at, ("radio", event.transmitter), "sent counter", event.counter)


def _heard(found: Signals, at: int, event: e.FrameArrived) -> None:
    found.count(at, ("radio", event.transmitter), "heard")
    found.number(at, ("radio", event.transmitter), "heard counter", event.counter)


def _fresh_cell(found: Signals, at: int, event: e.CellRenewed) -> None:
    for figure in ("low", "critical"):
        found.bit(at, ("radio", event.transmitter), f"cell {figure}", False, 0)


def _announced(found: Signals, at: int, event: e.Announced) -> None:
    found.count(at, ("controller",), "announced", f"{event.notice} {event.device}".rstrip())


def _refused(found: Signals, at: int, event: e.CommandRefused) -> None:
    found.count(at, ("controller",), "refused", f"{event.command.value}, {event.reason} {event.device}".rstrip())


def _stored(found: Signals, at: int, event: e.StoreWritten) -> None:
    found.choice(at, ("controller",), "stored lockout", event.lockout.value, _words(e.Lockout))


def _unseen(_: Signals, __: int, ___: Any) -> None:
    """What motion and force are made of is told by `_motion`."""


def _other(found: Signals, at: int, event: Any) -> None:
    """An event that has no signal of its own is counted, so that nothing is lost."""
    found.count(at, ("other",), getattr(event, "kind", type(event).__name__))


_SETS: dict[type, Callable[[Signals, int, Any], None]] = {
    e.CommandPressed: lambda f, at, v: _command(f, at, v, pressed=True),
    e.CommandReleased: lambda f, at, v: _command(f, at, v, pressed=False),
    e.PowerLost: lambda f, at, _: f.bit(at, ("supply",), "present", value=False, first=1),
    e.PowerReturned: lambda f, at, _: f.bit(at, ("supply",), "present", value=True, first=1),
    e.WireDisturbed: lambda f, at, v: f.bit(at, ("faults",), v.wire, value=True, first=0),
    e.WireRestored: lambda f, at, v: f.bit(at, ("faults",), v.wire, value=False, first=0),
    e.MotionChanged: _unseen,
    e.ForceRose: _unseen,
    e.ForceFell: _unseen,
    e.ForcePeaked: _unseen,
    e.LeafStarted: lambda f, at, v: f.choice(at, _leaf(v), "moves", _of(v.direction), DIRECTIONS),
    e.LeafStopped: lambda f, at, v: f.choice(at, _leaf(v), "moves", "none", DIRECTIONS),
    e.LeafPushed: lambda f, at, v: f.count(at, _leaf(v), "pushed", f"{v.direction.value} by {v.by}"),
    e.ContactBegan: lambda f, at, v: _contact(f, at, v, touching=True),
    e.ContactEnded: lambda f, at, v: _contact(f, at, v, touching=False),
    e.EdgeActuated: lambda f, at, v: f.bit(at, ("edges", v.edge), "pressed", value=True, first=0),
    e.EdgeReleased: lambda f, at, v: f.bit(at, ("edges", v.edge), "pressed", value=False, first=0),
    e.ForceTripped: lambda f, at, v: f.bit(at, _leaf(v), "force tripped", value=True, first=0),
    e.ForceCleared: lambda f, at, v: f.bit(at, _leaf(v), "force tripped", value=False, first=0),
    e.LimitReached: lambda f, at, v: f.bit(at, _leaf(v), f"limit {v.side.value}", value=True),
    e.LimitLeft: lambda f, at, v: f.bit(at, _leaf(v), f"limit {v.side.value}", value=False),
    e.ContactorsChanged: _contactors,
    e.MainChanged: lambda f, at, v: f.bit(at, ("drive",), "main closed", v.closed, 0),
    e.LoopChanged: _loop,
    e.LevelChanged: _level,
    e.FrameSent: _sent,
    e.FrameArrived: _heard,
    e.BatteryFlagged: lambda f, at, v: f.bit(at, ("radio", v.transmitter), f"flag {v.flag}", value=True, first=0),
    e.CellFell: lambda f, at, v: f.bit(at, ("radio", v.transmitter), f"cell {v.figure}", value=True, first=0),
    e.CellRenewed: _fresh_cell,
    e.BeamInterrupted: lambda f, at, v: f.bit(at, ("beams", v.beam), "interrupted", value=True, first=0),
    e.BeamCleared: lambda f, at, v: f.bit(at, ("beams", v.beam), "interrupted", value=False, first=0),
    e.BeamTested: lambda f, at, v: f.bit(at, ("beams", v.beam), "test passed", v.passed),
    e.ReportChanged: _report,
    e.OrdersChanged: _orders,
    e.Announced: _announced,
    e.CommandRefused: _refused,
    e.StartTested: lambda f, at, v: f.bit(at, ("controller",), "start test passed", v.passed),
    e.StoreWritten: _stored,
    e.SounderChanged: lambda f, at, v: f.bit(at, ("alarm",), "sounds", v.sounding, 0),
}


# --- between events --------------------------------------------------------------------------------------------------


def _motion(found: Signals, events: list[Stamped], site: Site, ends: int) -> None:
    """Position, speed and force: at each event that sets them, and at every sample while they change."""
    story = story_of(events, site)
    for one in leaves(site):
        track, scope = story.tracks[one.leaf], ("leaf" if one.leaf is LeafName.FIRST else "second leaf",)
        for k, (since, (_, v, a)) in enumerate(zip(track.times, track.pieces, strict=True)):
            until = track.times[k + 1] if k + 1 < len(track.times) else float(ends)
            for at in _instants(since, until, still=v == 0 and a == 0):
                x, speed = track.position(at), v + a * (at - since)
                found.number(us(at), scope, "position um", us(x))
                found.number(us(at), scope, "speed um per s", us(speed * 1_000_000))
    for obstruction, force in story.forces.items():
        signal = found.get(("obstructions", obstruction), "force mN", Form.WHOLE, 0)
        for k, since in enumerate(force.times):
            until = force.times[k + 1] if k + 1 < len(force.times) else float(ends)
            resting = force.known[k][0] == 0 and k + 1 < len(force.times) and force.known[k + 1][0] == 0
            for at in _instants(since, until, still=resting or k + 1 == len(force.times)):
                signal.values.append((us(at), us(force.at(at))))


def _instants(since: float, until: float, *, still: bool) -> Iterator[float]:
    """The beginning of a piece, and the samples within it."""
    yield since
    first = int(since // SAMPLE) + 1
    last = first if still else math.ceil(until / SAMPLE)
    yield from (float(k * SAMPLE) for k in range(first, last))
