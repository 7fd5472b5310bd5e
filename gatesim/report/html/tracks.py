"""The lanes of a run's page: curves of what is measured, bands of what something is, ticks of what happens."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim import shown
from gatesim.events import LeafName, Level, Stamped
from gatesim.plant.leaves import LeafTable, leaves
from gatesim.plant.nets import hosts
from gatesim.plant.site import Site
from gatesim.report.html.axis import Axis
from gatesim.report.lanes import Force, Story, Track

SAMPLES = 1_200
"""Points of a curve."""
TICKS = 1_000
"""Places of ticks along the axis."""
TOP, FOOT = 6.0, 94.0
"""Of a curve, in a box 100 high."""


class Band(NamedTuple):
    """From `since` until `until` (places on the axis, in per cent) something is so."""

    since: float
    wide: float
    text: str
    look: str


class Lane(NamedTuple):
    """One lane.  `curve`: a path in a box of 1000 x 100; `now`: values from instants (us) on, for the script."""

    name: str
    scale: str
    curve: str = ""
    bands: tuple[Band, ...] = ()
    ticks: tuple[tuple[str, str], ...] = ()
    """Paths of ticks in the same box, each with its look."""
    said: str = ""
    """The lane in words, for who does not see it."""
    now: tuple[tuple[int, str], ...] = ()


def lanes_of(events: Sequence[Stamped], story: Story, axis: Axis, site: Site, ends: float) -> list[Lane]:
    """All lanes of a run, the cause above what it does."""
    drawn = _Drawn(axis, ends)
    made = [*_states(drawn, events, _FAULTS), *_motion(drawn, story, site), *_forces(drawn, story)]
    made += _loops(drawn, story, site)
    made += _states(drawn, events, _REPORTS)
    made += _frames(drawn, events, site)
    made += _states(drawn, events, _REST, {("battery of " + node.name): "in order" for node in site.transmitters})
    return made


class _Drawn:
    """Makes lanes along one axis."""

    def __init__(self, axis: Axis, ends: float) -> None:
        self.axis, self.ends = axis, ends
        self.instants = axis.samples(SAMPLES)

    def curve(self, values: Sequence[float], low: float, high: float) -> str:
        """A path through the values at `instants`."""
        span = (high - low) or 1.0
        points = [f"{self.axis.place(t) * 1000:.1f} {FOOT - (min(max(v, low), high) - low) / span * (FOOT - TOP):.1f}"
                  for t, v in zip(self.instants, values, strict=True)]
        return "M" + "L".join(_bends(points))

    def bands(self, changes: Sequence[tuple[float, str, str]]) -> Iterator[Band]:
        """From each change to the next; what says nothing is not drawn."""
        for k, (at, text, look) in enumerate(changes):
            until = changes[k + 1][0] if k + 1 < len(changes) else self.ends
            since, place = self.axis.place(at) * 100, self.axis.place(until) * 100
            if text and until > at:
                yield Band(round(since, 3), round(max(0.15, place - since), 3), text, look)


def _bends(points: list[str]) -> Iterator[str]:
    """Without the points of a level line that lie within it."""
    heights = [point.split(" ")[1] for point in points]
    for k, point in enumerate(points):
        if k in (0, len(points) - 1) or not heights[k - 1] == heights[k] == heights[k + 1]:
            yield point


def _motion(drawn: _Drawn, story: Story, site: Site) -> Iterator[Lane]:
    for one in leaves(site):
        whose = "" if site.second_leaf is None else f", {one.leaf.value} leaf"
        track = story.tracks[one.leaf]
        places = [track.position(t) for t in drawn.instants]
        top = one.gate.travel
        yield Lane(f"position{whose}", f"closed 0 to open {shown.metres(top)}", drawn.curve(places, 0.0, top),
                   said=f"From {shown.position(places[0])} to {shown.position(places[-1])}.")
        yield _speed(drawn, track, whose)


def _speed(drawn: _Drawn, track: Track, whose: str) -> Lane:
    speeds = [velocity(track, t) for t in drawn.instants]
    top = max(1e-9, *(abs(v) for v in speeds))
    return Lane(f"speed{whose}", f"opening up, closing down, to {shown.speed(top)}", drawn.curve(speeds, -top, top),
                said=f"Fastest opening {shown.speed(max(0.0, *speeds))}, "
                     f"closing {shown.speed(max(0.0, -min(speeds)))}.")


def velocity(track: Track, at: float) -> float:
    """Of a leaf at an instant (um/us, opening positive)."""
    k = max(0, bisect_right(track.times, at) - 1)
    _, v, a = track.pieces[k]
    return v + a * (at - track.times[k])


def _forces(drawn: _Drawn, story: Story) -> Iterator[Lane]:
    for name, force in story.forces.items():
        top = max((known for known, _ in force.known), default=0.0)
        values = [_hardest(force, t, after) for t, after in
                  zip(drawn.instants, [*drawn.instants[1:], drawn.ends], strict=True)]
        yield Lane(f"force on {name}", f"0 to {shown.force(top)}", drawn.curve(values, 0.0, top or 1.0),
                   said=f"Peak {shown.force(top)}.")
    if not story.forces:
        yield Lane("force", "none in this run", said="Nothing was touched.")


def _hardest(force: Force, since: float, until: float) -> float:
    """The greatest force from an instant until before another, so that no peak falls between two points."""
    low, high = bisect_left(force.times, since), bisect_left(force.times, until)
    return max([force.at(since), *(known for known, _ in force.known[low:high])])


def _loops(drawn: _Drawn, story: Story, site: Site) -> Iterator[Lane]:
    for edge in hosts(site):
        times, ohms = story.loops[edge.name]
        top = 2 * ohms[0]
        values = [ohms[max(0, bisect_right(times, t) - 1)] for t in drawn.instants]
        now = tuple((int(t), "no connection" if math.isinf(r) or r >= 1e8 else shown.kohm(r))
                    for t, r in zip(times, ohms, strict=True))
        yield Lane(f"loop of {edge.name}", f"0 to {shown.kohm(top)} and above", drawn.curve(values, 0.0, top),
                   said=f"At rest {now[0][1]}; {len(times) - 1} changes.", now=_few(now))


# --- bands -----------------------------------------------------------------------------------------------------------

State = tuple[str, str, str]
"""Lane, text ("" for nothing to draw) and look."""


def _report(event: e.ReportChanged) -> State:
    said = event.level.value + ("" if event.heard and event.fresh else ", not fresh")
    good = event.level is Level.REST and event.heard and event.fresh
    return f"reported of {event.edge}", said, "as" if good else "warn" if event.level is Level.PRESSED else "bad"


def _orders(event: e.OrdersChanged) -> Iterator[State]:
    yield "controller", event.mode, "bad" if event.lockout is not e.Lockout.NONE else "as"
    yield "lockout", "" if event.lockout is e.Lockout.NONE else event.lockout.value, "bad"
    yield "alarm ordered", "on" if event.alarm else "", "warn"


def _faults(event: Any) -> Iterator[State]:
    yield (f"fault: {event.wire}" + (f", {event.device}" if event.device else ""),
           "present" if isinstance(event, e.WireDisturbed) else "", "bad")


_Table = dict[type, Callable[[Any], Iterable[State]]]
_FAULTS: _Table = {e.WireDisturbed: _faults, e.WireRestored: _faults}
_REPORTS: _Table = {
    e.LevelChanged: lambda v: [(f"classified, {v.edge}", v.level.value,
                                "as" if v.level is Level.REST else "warn" if v.level is Level.PRESSED else "bad")],
    e.ReportChanged: lambda v: [_report(v)],
    e.OrdersChanged: _orders,
    e.SounderChanged: lambda v: [("alarm", "sounds" if v.sounding else "", "warn")],
    e.PowerLost: lambda _: [("supply", "away", "bad")],
    e.PowerReturned: lambda _: [("supply", "", "bad")],
    e.BeamInterrupted: lambda v: [(f"ray of {v.beam}", "interrupted", "warn")],
    e.BeamCleared: lambda v: [(f"ray of {v.beam}", "", "as")],
}
_REST: _Table = {
    e.CellFell: lambda v: [(f"battery of {v.transmitter}", f"below {v.figure}", "bad")],
    e.BatteryFlagged: lambda v: [(f"battery of {v.transmitter}", f"flagged {v.flag}", "warn")],
    e.CellRenewed: lambda v: [(f"battery of {v.transmitter}", "fresh", "as")],
}


def _states(drawn: _Drawn, events: Sequence[Stamped], table: _Table, first: dict[str, str] | None = None
            ) -> Iterator[Lane]:
    found: dict[str, list[tuple[float, str, str]]] = {
        name: [(0.0, text, "as")] for name, text in (first or {}).items()}
    for at, event in events:
        for name, text, look in table.get(type(event), _nothing)(event):
            changes = found.setdefault(name, [])
            if not changes or changes[-1][1:] != (text, look):
                changes.append((at, text, look))
    for name, changes in found.items():
        if not any(text for _, text, _ in changes):
            continue
        now = tuple((int(at), text or "–") for at, text, _ in changes)
        said = "; ".join(f"{at / 1e6:.3f} s {text}" for at, text in now[:12]) + ("; ..." if len(now) > 12 else ".")
        yield Lane(name, "", bands=tuple(_visible(drawn.bands(changes))), said=said, now=_few(now))


def _nothing(_: Any) -> Iterable[State]:
    return ()


def _visible(bands: Iterable[Band]) -> Iterator[Band]:
    """Where hundreds follow one another too closely to be seen, one stands for those under it."""
    last = -1.0
    for one in bands:
        if one.wide > 0.2 or one.since - last >= 0.05:
            yield one
            last = one.since


def _few(now: Sequence[tuple[int, str]]) -> tuple[tuple[int, str], ...]:
    """What the script says of a lane at an instant; of what flickers for days, its first thousands."""
    return tuple(now[:4_000])


def _frames(drawn: _Drawn, events: Sequence[Stamped], site: Site) -> Iterator[Lane]:
    for node in site.transmitters:
        heard = {event.counter: at for at, event in events
                 if isinstance(event, e.FrameArrived) and event.transmitter == node.name}
        sent = [(at, event) for at, event in events if isinstance(event, e.FrameSent)
                and event.transmitter == node.name]
        lost = [at for at, event in sent if event.counter not in heard]
        ticks = ((_ticks(drawn, (at for at, event in sent if event.counter in heard), 55), "heard"),
                 (_ticks(drawn, lost, TOP), "lost"))
        yield Lane(f"frames of {node.name}", f"{len(sent)} sent; tall: {len(lost)} not heard", ticks=ticks,
                   said=f"{len(sent)} frames sent, {len(lost)} not heard.")


def _ticks(drawn: _Drawn, instants: Iterable[float], top: float) -> str:
    places = dict.fromkeys(round(drawn.axis.place(at) * TICKS) for at in instants)
    return "".join(f"M{place * 1000 / TICKS:g} {FOOT:g}V{top:g}" for place in places)


def samples(drawn: Sequence[float], story: Story, one: LeafTable) -> list[float]:
    """Where a leaf is at these instants, as a share of its travel."""
    track = story.tracks[LeafName(one.leaf)]
    return [round(track.position(t) / one.gate.travel, 5) for t in drawn]
