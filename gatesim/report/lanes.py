"""A run at a glance: position, speed, force and loop resistance as lanes along one time axis.

Everything comes from the trace.  Position and speed are its pieces of motion, exact.  Force is known where it passes a
level or peaks, and at rest; between two of these it is drawn as a straight line over the leaf's way.  A column shows
the greatest that happened in its span (position: the last), so that nothing short is lost.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

from gatesim import events as e
from gatesim import shown
from gatesim.events import Stamped
from gatesim.plant.leaves import leaves
from gatesim.plant.site import Site

if TYPE_CHECKING:
    from rich.console import Console

PLAIN = "_.:-=+*#"
"""Marks from nothing to the top of the scale, for pipes and plain terminals."""
BLOCKS = "_\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"
BEYOND = "^"
"""Above the top of the scale."""
BREAK = "|"
"""Where a long rest is cut out."""
CUT = 10_000_000.0
"""Rests longer than this (us) are cut out."""
LABEL, SCALE = 20, 22
"""Columns for the lane's name and for its scale."""
_STEPS = (1, 2, 5)
_EPSILON = 1e-3


class Lane(NamedTuple):
    """One quantity over time: `greatest(since, until)` within a column, and what its marks mean."""

    name: str
    greatest: Callable[[float, float], float]
    top: float
    scale: str


@dataclass
class Track:
    """The leaf's pieces of motion, as the trace tells them."""

    x: float
    times: list[float] = field(default_factory=lambda: [0.0])
    pieces: list[tuple[float, float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.pieces.append((self.x, 0.0, 0.0))

    def see(self, at: float, event: e.Event) -> bool:
        """Take over a piece of motion; whether it is another than before."""
        if isinstance(event, e.MotionChanged):
            piece = (event.x, event.v, event.a)
        elif isinstance(event, e.LeafStopped):
            piece = (event.x, 0.0, 0.0)
        else:
            return False
        if piece == self.pieces[-1] and piece[1:] == (0.0, 0.0):
            return False
        self.times.append(at)
        self.pieces.append(piece)
        return True

    def _piece(self, at: float, before: bool) -> int:
        """Which piece holds at an instant, or right before it."""
        return max(0, bisect_right(self.times, at - _EPSILON if before else at) - 1)

    def stands(self, before: float) -> bool:
        """Whether the leaf stands right before an instant."""
        _, v, a = self.pieces[self._piece(before, before=True)]
        return v == 0 and a == 0

    def position(self, at: float) -> float:
        """um."""
        k = self._piece(at, before=False)
        x, v, a = self.pieces[k]
        t = at - self.times[k]
        return x + v * t + a * t * t / 2

    def speeds(self, since: float, until: float) -> Iterator[float]:
        """Velocities (um/us, opening positive) at both ends of every piece in a span."""
        first, last = self._piece(since, before=False), self._piece(until, before=True)
        for k in range(first, max(first, last) + 1):
            _, v, a = self.pieces[k]
            start = max(since, self.times[k])
            end = min(until, self.times[k + 1]) if k + 1 < len(self.times) else until
            yield v + a * (start - self.times[k])
            yield v + a * (max(start, end) - self.times[k])


@dataclass
class Force:
    """The force on one obstruction: instants at which it is known (us, mN, position of the leaf in um)."""

    track: Track
    """The leaf that touches it."""
    times: list[float] = field(default_factory=list)
    known: list[tuple[float, float]] = field(default_factory=list)

    def add(self, at: float, force: float, x: float) -> None:
        """It has this force now."""
        self.times.append(at)
        self.known.append((force, x))

    def at(self, t: float, x: float) -> float:
        """mN, at an instant at which the leaf is at x."""
        k = bisect_right(self.times, t) - 1
        if k < 0:
            return 0.0
        force, since = self.known[k]
        if k + 1 == len(self.known):
            return force
        after, until = self.known[k + 1]
        if until == since:
            return force
        return force + (after - force) * min(1.0, max(0.0, (x - since) / (until - since)))


class Story(NamedTuple):
    """What the lanes are drawn from."""

    tracks: dict[e.LeafName, Track]
    forces: dict[str, Force]
    loops: dict[str, tuple[list[float], list[float]]]
    """Per edge: instants, and ohms from then on."""
    changes: list[float]
    """Instants at which something changes; between them what moves goes on as it does."""


def story_of(events: Iterable[Stamped], site: Site) -> Story:
    """Collect what the lanes show from a whole run's events."""
    tracks = {one.leaf: Track(one.leaf_at) for one in leaves(site)}
    forces, changes = dict[str, Force](), list[float]()
    loops = {edge.name: ([0.0], [edge.wire_resistance + edge.termination]) for edge in site.edges}
    for at, event in events:
        track = tracks[getattr(event, "leaf", e.LeafName.FIRST)]
        changed = track.see(at, event)
        if _of_contact(at, event, track, forces):
            changed = True
        if isinstance(event, e.LoopChanged) and event.edge in loops:
            loops[event.edge][0].append(at)
            loops[event.edge][1].append(event.ohm)
            changed = True
        if changed:
            changes.append(at)
    return Story(tracks, forces, loops, changes or [0.0])


class Stretch(NamedTuple):
    """A part of the run that is drawn (us); between two of them nothing changes and the leaf stands."""

    since: float
    until: float


def stretches_of(story: Story, most: int) -> tuple[Stretch, ...]:
    """The run without its long rests, in at most so many parts."""
    longest = CUT
    while True:
        made = [Stretch(story.changes[0], story.changes[0])]
        for at in story.changes[1:]:
            if at - made[-1].until > longest and all(track.stands(at) for track in story.tracks.values()):
                made.append(Stretch(at, at))
            else:
                made[-1] = Stretch(made[-1].since, at)
        if len(made) <= most:
            return tuple(made)
        longest *= 2


def _of_contact(at: float, event: Any, track: Track, forces: dict[str, Force]) -> bool:
    known: dict[type, Callable[[Any], float]] = {
        e.ContactBegan: lambda _: forces[event.obstruction].at(at, track.position(at)),
        e.ForceRose: lambda told: told.level, e.ForceFell: lambda told: told.level,
        e.ForcePeaked: lambda told: told.force, e.ContactEnded: lambda _: 0.0,
    }
    if type(event) not in known:
        return False
    force = forces.setdefault(event.obstruction, Force(track))
    force.add(at, known[type(event)](event), track.position(at))
    return True


def lanes_of(story: Story, site: Site) -> tuple[Lane, ...]:
    """The lanes of a run; loops that stay as they are have none."""
    made: list[Lane] = []
    for one in leaves(site):
        whose = "" if one.leaf is e.LeafName.FIRST else f"{one.leaf.value} "
        made += _motion(story, story.tracks[one.leaf], one.gate.travel, whose)
    hardest = max((force for one in story.forces.values() for force, _ in one.known), default=0.0)
    if hardest > 0:
        made.append(Lane("force", lambda since, until: _force(story, since, until), hardest,
                         f"0 to {shown.force(hardest)}"))
    for edge in site.edges:
        times, ohms = story.loops[edge.name]
        if len(set(ohms)) > 1:
            top = 2 * ohms[0]
            made.append(Lane(f"loop {edge.name}", lambda since, until, t=times, r=ohms: _farthest(  # type: ignore[misc]
                t, r, since, until), top, f"0 to {shown.kohm(top)}"))
    return tuple(made)


def _motion(story: Story, track: Track, travel: float, whose: str) -> Iterator[Lane]:
    whole = list(track.speeds(story.changes[0], story.changes[-1]))
    yield Lane(f"{whose}position", lambda _, until: track.position(until), travel, f"0 to {shown.metres(travel)}")
    for name, sign in (("opening >", 1), ("closing <", -1)):
        top = max((sign * v for v in whole), default=0.0)
        if top > 0:
            yield Lane(f"{whose or 'speed '}{name}", lambda since, until, sign=sign: max(  # type: ignore[misc]
                sign * v for v in track.speeds(since, until)), top, f"0 to {shown.speed(top)}")


def _force(story: Story, since: float, until: float) -> float:
    found = 0.0
    for force in story.forces.values():
        low, high = bisect_right(force.times, since), bisect_right(force.times, until)
        inside = [known for known, _ in force.known[low:high]]
        ends = [force.at(t, force.track.position(t)) for t in (since, until)]
        found = max(found, *inside, *ends)
    return found


def _farthest(times: Sequence[float], ohms: Sequence[float], since: float, until: float) -> float:
    """The resistance in a span that is farthest from that at rest."""
    low, high = max(0, bisect_right(times, since) - 1), bisect_right(times, until - _EPSILON)
    rest = ohms[0]
    return max(ohms[low:max(high, low + 1)], key=lambda ohm: abs(ohm - rest))


def columns_of(stretch: Stretch, step: float) -> int:
    """Columns of a stretch; it begins on a whole multiple of the step."""
    return int(stretch.until // step - stretch.since // step) + 1


def step_of(stretches: Sequence[Stretch], columns: int) -> float:
    """Length of a column (us): 1, 2 or 5 times a power of ten, so that all fit with a mark between two of them."""
    power = 1_000.0
    while True:
        for step in _STEPS:
            if sum(columns_of(one, step * power) + 1 for one in stretches) - 1 <= columns:
                return step * power
        power *= 10


def mark(value: float, top: float, marks: str) -> str:
    """One mark: the first for nothing, the last for the top of the scale, `^` above it."""
    if value <= 0 or top <= 0:
        return marks[0]
    if value > top * (1 + 1e-9):
        return BEYOND
    return marks[min(len(marks) - 1, 1 + int(value / top * (len(marks) - 1)))]


def axis(stretches: Sequence[Stretch], step: float) -> str:
    """Instants in seconds, each over the column that begins there: at each stretch, and every ten columns in it."""
    said, column = "", 0
    places = 3 if step < 10_000 else 2 if step < 100_000 else 1 if step < 1_000_000 else 0
    for one in stretches:
        for k in range(0, columns_of(one, step), 10):
            text = f"{(one.since // step + k) * step / 1e6:.{places}f}"
            if not said or len(said) < column + k:
                said = said.ljust(column + k) + text
        column += columns_of(one, step) + 1
    return said


def draw_lanes(console: Console, events: Iterable[Stamped], site: Site, blocks: bool) -> None:
    """Print the lanes of a whole run.  `blocks`: the terminal shows block characters."""
    story = story_of(events, site)
    columns = max(10, console.width - LABEL - SCALE)
    stretches = stretches_of(story, columns // 8)
    step = step_of(stretches, columns)
    marks = BLOCKS if blocks else PLAIN
    cut = f"; {BREAK} a rest of more than {CUT / 1e6:g} s is left out" if len(stretches) > 1 else ""
    console.print(f"Lanes: a column is {step / 1e6:g} s; marks {marks[0]} (nothing) to {marks[-1]} (top of the scale), "
                  f"{BEYOND} above{cut}", markup=False, soft_wrap=True)
    _line(console, "seconds", axis(stretches, step))
    lanes = lanes_of(story, site)
    for lane in lanes:
        drawn = BREAK.join(_drawn(lane, one, step, marks) for one in stretches)
        _line(console, lane.name, f"{drawn}  {lane.scale}", "cyan")
    if not any(lane.name == "force" for lane in lanes):
        _line(console, "force", "none in this run")
    for edge in site.edges:
        if len(set(story.loops[edge.name][1])) == 1:
            _line(console, f"loop {edge.name}", f"stays at {shown.kohm(story.loops[edge.name][1][0])}")


def _drawn(lane: Lane, stretch: Stretch, step: float, marks: str) -> str:
    first = stretch.since // step
    return "".join(mark(lane.greatest((first + k) * step, (first + k + 1) * step), lane.top, marks)
                   for k in range(columns_of(stretch, step)))


def _line(console: Console, name: str, text: str, style: str = "") -> None:
    from rich.text import Text

    said = Text(f"{name[:LABEL - 2]:<{LABEL}}")
    said.append(text, style)
    console.print(said, soft_wrap=True)
