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
from gatesim.events import Direction, LeafName, Run
from gatesim.plant.leaves import as_leaf
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
    leaf: LeafName = LeafName.FIRST
    """Whose move it is."""

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
    leaf: LeafName = LeafName.FIRST


def move_title(direction: Direction, leaf: LeafName | None) -> str:
    """Whose move in which direction: "closing", "closing of the second leaf"; None: there is one leaf."""
    return direction.value + ("" if leaf is None else f" of the {leaf.value} leaf")


def nothing(_: int, at: float, event: Any) -> None:
    """Takes no events."""


def course_of(plant: Plant, site: Site, seed: int, given: tuple[Due, ...], ends: int) -> Course:
    """The course of a story on a fresh world, judged by every requirement on what happens."""
    limits = {name: limit for name, limit in limits_for(site).items() if name not in ABOUT_THE_SITE}
    return Course(plant, World(plant, seed), given, ends, Judge(site, limits, Run.WHOLE), nothing)


def grounds(plant: Plant, site: Site, seed: int, phases: Iterable[Phase]) -> tuple[Ground, ...]:
    """The grounds of a site, both directions, and each leaf: before motion there is one for all leaves.

    BadUsage where a move of the healthy site does not reach its end.
    """
    wanted = tuple(phases)
    found: list[Ground] = []
    for direction in Direction:
        story, moves = _nominal(plant, site, seed, direction)
        rest = max(move.stopped for move in moves)
        for k, move in enumerate(moves):
            found += [_window(story, move, phase, rest) for phase in wanted
                      if phase in _PLAIN and (k == 0 or phase is not Phase.BEFORE)]
            if any(phase not in _PLAIN for phase in wanted):
                found += _after_contact(plant, as_leaf(site, move.leaf), site, seed, story, move, wanted)
    return tuple(found)


def grounds_of(plant: Plant, scenario: Scenario, seed: int) -> tuple[Ground, ...]:
    """The grounds of a scenario: each move of a leaf, through the travel, in its own story."""
    story = agenda(scenario)
    return tuple(
        Ground(move.direction, Phase.TRAVEL, story, scenario.ends, move.started, move.stopped, move.leaf)
        for move in moves_of(plant, scenario.site, seed, story, scenario.ends)
    )


def one_leaf(site: Site, what: str) -> None:
    """BadUsage where a site of two leaves is given to what knows one only."""
    if site.second_leaf is not None:
        raise BadUsage(f"site {site.name!r} has two leaves; {what} take a site of one leaf only")


_PLAIN = (Phase.BEFORE, Phase.START, Phase.TRAVEL, Phase.END)


def press(at: int, command: e.Command, origin: e.Origin = e.Origin.WIRED) -> tuple[Due, Due]:
    """A command, given and let go."""
    return (Due(at, e.PressControl(command, origin)), Due(at + PRESSED, e.ReleaseControl(command, origin)))


def moves_of(plant: Plant, site: Site, seed: int, given: tuple[Due, ...], ends: int) -> list[Move]:
    """Every move of a leaf that a story orders, from start to standstill, in the order of their starts."""
    course = course_of(plant, site, seed, given, ends)
    found: list[Move] = []
    ordered, moving = 0, dict[LeafName, Move]()
    for now, happened in course.play():
        at = us(now)
        for event in happened:
            if isinstance(event, e.OrdersChanged) and event.order is not None:
                ordered = at
            elif isinstance(event, e.LeafStarted) and event.leaf not in moving:
                moving[event.leaf] = Move(event.direction, ordered, at, 0, 0, 0, event.leaf)
            elif isinstance(event, e.MotionChanged) and event.a == 0 and event.leaf in moving:
                begun = moving[event.leaf]
                moving[event.leaf] = begun._replace(up_to_speed=begun.up_to_speed or at)
            elif isinstance(event, e.LeafStopped) and event.leaf in moving:
                begun = moving.pop(event.leaf)
                found.append(begun._replace(stopped=at, up_to_speed=begun.up_to_speed or at))
    found.sort(key=lambda move: move.started)
    return [move._replace(near_end=_near_end(plant, site, seed, given, move)) for move in found]


def _near_end(plant: Plant, site: Site, seed: int, given: tuple[Due, ...], move: Move) -> int:
    """When the last 5 % of the travel begin, from the pieces that the story records."""
    course = course_of(plant, site, seed, given, move.stopped)
    mark = as_leaf(site, move.leaf).gate.travel * (0.95 if move.direction is Direction.OPENING else 0.05)
    piece: tuple[float, float, float, float] | None = None
    last = move.stopped
    for now, happened in course.play():
        for event in happened:
            if isinstance(event, e.MotionChanged) and event.leaf is move.leaf and now >= move.started:
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


def _nominal(plant: Plant, site: Site, seed: int, direction: Direction) -> tuple[tuple[Due, ...], list[Move]]:
    """A story that ends with one whole move of the gate in a direction, and that move, of each leaf.

    A leaf that waits on its way starts again: its move is from its first start to its last standstill.
    """
    story: tuple[Due, ...] = press(SECOND, e.Command.OPEN)
    moves = moves_of(plant, site, seed, story, LONGEST)
    if not moves:
        raise BadUsage(f"site {site.name!r}: the leaf does not start when it is told to open; nothing can be swept")
    opening = _whole(moves)
    if direction is Direction.OPENING:
        return story, opening
    opened = max(move.stopped for move in opening)
    story = (*story, *press(opened + SETTLE, e.Command.CLOSE))
    moves = [move for move in moves_of(plant, site, seed, story, opened + SETTLE + LONGEST) if move.started > opened]
    if not moves:
        raise BadUsage(f"site {site.name!r}: the leaf does not start when it is told to close; nothing can be swept")
    return story, _whole(moves)


def _whole(moves: list[Move]) -> list[Move]:
    """The move of each leaf in the direction of the first, up to the first in the other, in the order of starts."""
    of: dict[LeafName, Move] = {}
    for move in moves:
        if move.direction is not moves[0].direction:
            break
        last = of.setdefault(move.leaf, move)
        of[move.leaf] = last._replace(near_end=move.near_end, stopped=move.stopped)
    return list(of.values())


def _window(story: tuple[Due, ...], move: Move, phase: Phase, rest: int) -> Ground:
    """The window of a phase of a leaf's move; at `rest` the whole gate has come to rest."""
    command = story[-2].at
    first, last = {
        Phase.BEFORE: (max(1, command - SECOND), command - 1),
        Phase.START: (command, move.up_to_speed),
        Phase.TRAVEL: (move.started, move.stopped),
        Phase.END: (move.near_end, move.stopped),
    }[phase]
    return Ground(move.direction, phase, story, rest + SETTLE, first, last, move.leaf)


def _after_contact(
    plant: Plant, mine: Site, site: Site, seed: int, story: tuple[Due, ...], move: Move, phases: tuple[Phase, ...]
) -> list[Ground]:
    """Grounds with an obstruction in mid-travel of a leaf: the reversal, and the lockout and reset after a second
    demand.  `mine`: the site as this leaf's."""
    zones = [zone for zone in site.zones if zone.direction is move.direction and zone.leaf is move.leaf]
    if not zones:
        return []
    middle = mine.gate.travel / 2
    zone = next((zone for zone in zones if zone.start <= middle <= zone.end), zones[0])
    place = min(max(middle, zone.start), zone.end)
    block = Due(move.ordered, e.EnterObstruction("sweep block", zone.name, place, None, True, move.leaf.of))
    given = tuple(sorted((*story, block), key=lambda due: due.at))
    after = [one for one in moves_of(plant, site, seed, given, move.stopped + SETTLE) if one.started >= move.started]
    moves = [one for one in after if one.leaf is move.leaf]
    found = []
    rest = max([one.stopped for one in after], default=0)
    if Phase.REVERSAL in phases and len(moves) > 1:
        found.append(Ground(move.direction, Phase.REVERSAL, given, rest + SETTLE, moves[1].started, moves[1].stopped,
                            move.leaf))
    if len(moves) > 1 and (Phase.LOCKOUT in phases or Phase.RESET in phases):
        found += _locked(plant, site, seed, given, move, rest, phases)
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
    locked = max(one.stopped for one in moves)
    late = locked + 2 * SETTLE
    whole = (
        *story,
        *press(locked + SETTLE, command),
        Due(late, e.LeaveObstruction("sweep block", move.leaf.of)),
        *press(late + SECOND, e.Command.RESET),
        *press(late + SETTLE, command),
    )
    ends = late + SETTLE + (move.stopped - move.ordered) + SETTLE
    windows = {
        Phase.LOCKOUT: (locked, late),
        Phase.RESET: (late + SECOND - SECOND // 2, late + SECOND + PRESSED + SECOND // 2),
    }
    return [Ground(move.direction, phase, whole, ends, *windows[phase], move.leaf)
            for phase in windows if phase in phases]
