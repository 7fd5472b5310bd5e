"""The stories into which faults are put: nominal moves of a site, and the moments at which something may begin.

A *ground* is a story without a fault (commands, perhaps an obstruction) and a window of it.  Its nominal course is
played once; a fault at moment T is a fork of it at the last instant before T.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.errors import BadUsage
from gatesim.events import Direction, Run
from gatesim.plant.site import Site
from gatesim.plant.world import Plant, World
from gatesim.requirements.judging import Judge, limits_for
from gatesim.run import Course
from gatesim.scenario.agenda import Due, agenda
from gatesim.scenario.model import Scenario
from gatesim.search.classes import ABOUT_THE_SITE
from gatesim.units import us

SECOND = 1_000_000
PRESSED = 300_000
"""How long a command is given (us)."""
SETTLE = 3 * SECOND
"""From standstill to the next command, and what a story goes on after its last standstill (us)."""
AT_END = 50_000.0
"""Not farther from its end (um) a leaf counts as having come to it."""
LONGEST = 600 * SECOND
"""A move that takes longer than this is none (us)."""

LATE = 120 * SECOND
"""How much longer (us) than the nominal story a run may go on while a reaction is awaited."""


class Phase(Enum):
    """Where in a move a fault begins."""

    BEFORE = "before motion"
    START = "at the start"
    TRAVEL = "through the travel"
    END = "last 5 %"
    REVERSAL = "during reversal"
    LOCKOUT = "in lockout"
    RESET = "at reset"


class Ground(NamedTuple):
    """A nominal story, and the whole moments from `first` to `last` of it that are tried."""

    direction: Direction
    phase: Phase
    agenda: tuple[Due, ...]
    ends: int
    first: int
    last: int

    def is_own_end(self, x: float, travel: float) -> bool:
        """Whether a leaf that stands at x has come to the end that the move makes for."""
        ahead = travel - x if self.direction is Direction.OPENING else x
        return ahead <= AT_END


class Move(NamedTuple):
    """One move of a nominal story: instants of its order, start, end of the run-up, last 5 %, and standstill."""

    direction: Direction
    ordered: int
    started: int
    up_to_speed: int
    near_end: int
    stopped: int


def nothing(_: int, at: float, event: Any) -> None:
    """Takes no events."""


def course_of(plant: Plant, site: Site, seed: int, given: tuple[Due, ...], ends: int) -> Course:
    """The course of a story on a fresh world, judged by every requirement on what happens."""
    limits = {name: limit for name, limit in limits_for(site).items() if name not in ABOUT_THE_SITE}
    return Course(plant, World(plant, seed), given, ends, Judge(site, limits, Run.WHOLE), nothing)


def grounds(plant: Plant, site: Site, seed: int, phases: Iterable[Phase]) -> tuple[Ground, ...]:
    """The grounds of a site, both directions.  BadUsage where a move of the healthy site does not reach its end."""
    _one_leaf(site)
    wanted = tuple(phases)
    found: list[Ground] = []
    for direction in Direction:
        story, move = _nominal(plant, site, seed, direction)
        found += [_window(site, story, move, phase) for phase in wanted if phase in _PLAIN]
        if any(phase not in _PLAIN for phase in wanted):
            found += _after_contact(plant, site, seed, story, move, wanted)
    return tuple(found)


def grounds_of(plant: Plant, scenario: Scenario, seed: int) -> tuple[Ground, ...]:
    """The grounds of a scenario: each of its moves, through the travel, in its own story."""
    _one_leaf(scenario.site)
    story = agenda(scenario)
    return tuple(
        Ground(move.direction, Phase.TRAVEL, story, scenario.ends, move.started, move.stopped)
        for move in moves_of(plant, scenario.site, seed, story, scenario.ends)
    )


def _one_leaf(site: Site) -> None:
    """Moves, phases and reactions are those of one leaf here."""
    if site.second_leaf is not None:
        raise BadUsage(f"site {site.name!r} has two leaves; only a site of one leaf can be swept yet")


_PLAIN = (Phase.BEFORE, Phase.START, Phase.TRAVEL, Phase.END)


def press(at: int, command: e.Command, origin: e.Origin = e.Origin.WIRED) -> tuple[Due, Due]:
    """A command, given and let go."""
    return (Due(at, e.PressControl(command, origin)), Due(at + PRESSED, e.ReleaseControl(command, origin)))


def moves_of(plant: Plant, site: Site, seed: int, given: tuple[Due, ...], ends: int) -> list[Move]:
    """Every move that a story orders, from start to standstill."""
    course = course_of(plant, site, seed, given, ends)
    found: list[Move] = []
    ordered, begun = 0, None
    for now, happened in course.play():
        at = us(now)
        for event in happened:
            if isinstance(event, e.OrdersChanged) and event.order is not None:
                ordered = at
            elif isinstance(event, e.LeafStarted) and begun is None:
                begun = Move(event.direction, ordered, at, 0, 0, 0)
            elif isinstance(event, e.MotionChanged) and begun is not None and not begun.up_to_speed and event.a == 0:
                begun = begun._replace(up_to_speed=at)
            elif isinstance(event, e.LeafStopped) and begun is not None:
                found.append(begun._replace(stopped=at, up_to_speed=begun.up_to_speed or at))
                begun = None
    return [move._replace(near_end=_near_end(plant, site, seed, given, move)) for move in found]


def _near_end(plant: Plant, site: Site, seed: int, given: tuple[Due, ...], move: Move) -> int:
    """When the last 5 % of the travel begin, from the pieces that the story records."""
    course = course_of(plant, site, seed, given, move.stopped)
    mark = site.gate.travel * (0.95 if move.direction is Direction.OPENING else 0.05)
    piece: tuple[float, float, float, float] | None = None
    last = move.stopped
    for now, happened in course.play():
        for event in happened:
            if isinstance(event, e.MotionChanged) and now >= move.started:
                if piece is not None and (event.x - mark) * move.direction.sign >= 0:
                    return max(move.started, int(_crossing(piece, mark, now)))
                piece = (now, event.x, event.v, event.a)
    return last


def _crossing(piece: tuple[float, float, float, float], mark: float, ends: float) -> float:
    """When a piece passes a place, to the microsecond, by halving."""
    t, x, v, a = piece
    early, late = t, ends
    while late - early > 1:
        middle = (early + late) / 2
        since = middle - t
        passed = (x + (v + a * since / 2) * since - mark) * (1 if v > 0 or a > 0 else -1) >= 0
        early, late = (early, middle) if passed else (middle, late)
    return early


def _nominal(plant: Plant, site: Site, seed: int, direction: Direction) -> tuple[tuple[Due, ...], Move]:
    """A story that ends with one whole move in a direction, and that move."""
    story: tuple[Due, ...] = press(SECOND, e.Command.OPEN)
    moves = moves_of(plant, site, seed, story, LONGEST)
    if not moves:
        raise BadUsage(f"site {site.name!r}: the leaf does not start when it is told to open; nothing can be swept")
    opening = moves[0]
    if direction is Direction.OPENING:
        return story, opening
    story = (*story, *press(opening.stopped + SETTLE, e.Command.CLOSE))
    moves = moves_of(plant, site, seed, story, opening.stopped + SETTLE + LONGEST)
    if len(moves) < 2:
        raise BadUsage(f"site {site.name!r}: the leaf does not start when it is told to close; nothing can be swept")
    return story, moves[1]


def _window(site: Site, story: tuple[Due, ...], move: Move, phase: Phase) -> Ground:
    command = story[-2].at
    first, last = {
        Phase.BEFORE: (max(1, command - SECOND), command - 1),
        Phase.START: (command, move.up_to_speed),
        Phase.TRAVEL: (move.started, move.stopped),
        Phase.END: (move.near_end, move.stopped),
    }[phase]
    return Ground(move.direction, phase, story, move.stopped + SETTLE, first, last)


def _after_contact(
    plant: Plant, site: Site, seed: int, story: tuple[Due, ...], move: Move, phases: tuple[Phase, ...]
) -> list[Ground]:
    """Grounds with an obstruction in mid-travel: the reversal, and the lockout and reset after a second demand."""
    zones = [zone for zone in site.zones if zone.direction is move.direction]
    if not zones:
        return []
    middle = site.gate.travel / 2
    zone = next((zone for zone in zones if zone.start <= middle <= zone.end), zones[0])
    place = min(max(middle, zone.start), zone.end)
    block = Due(move.ordered, e.EnterObstruction("sweep block", zone.name, place, None, True))
    given = tuple(sorted((*story, block), key=lambda due: due.at))
    moves = [one for one in moves_of(plant, site, seed, given, move.stopped + SETTLE) if one.started >= move.started]
    found = []
    if Phase.REVERSAL in phases and len(moves) > 1:
        found.append(
            Ground(move.direction, Phase.REVERSAL, given, moves[1].stopped + SETTLE, moves[1].started, moves[1].stopped)
        )
    if len(moves) > 1 and (Phase.LOCKOUT in phases or Phase.RESET in phases):
        found += _locked(plant, site, seed, given, move, moves[1].stopped, phases)
    return found


def _locked(
    plant: Plant, site: Site, seed: int, given: tuple[Due, ...], move: Move, stopped: int, phases: tuple[Phase, ...]
) -> list[Ground]:
    """The same block met again: a lockout; then the block goes and the reset is pressed."""
    command = e.Command.CLOSE if move.direction is Direction.CLOSING else e.Command.OPEN
    again = stopped + SETTLE
    story = (*given, *press(again, command))
    moves = [one for one in moves_of(plant, site, seed, story, again + LONGEST) if one.started >= again]
    if not moves:
        return []
    locked = moves[-1].stopped
    late = locked + 2 * SETTLE
    whole = (
        *story,
        *press(locked + SETTLE, command),
        Due(late, e.LeaveObstruction("sweep block")),
        *press(late + SECOND, e.Command.RESET),
        *press(late + SETTLE, command),
    )
    ends = late + SETTLE + (move.stopped - move.ordered) + SETTLE
    windows = {
        Phase.LOCKOUT: (locked, late),
        Phase.RESET: (late + SECOND - SECOND // 2, late + SECOND + PRESSED + SECOND // 2),
    }
    return [Ground(move.direction, phase, whole, ends, *windows[phase]) for phase in windows if phase in phases]
