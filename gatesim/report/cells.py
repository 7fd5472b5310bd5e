"""The cells of the coverage matrix: device state x direction x phase of travel, and which of them a trace shows.

A tag in a scenario file is a claim; `witnessed` looks for it in what physically happened.  The direction is that in
which the leaf moves at that instant; at rest, that which the device guards.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import NamedTuple

from gatesim import events as e
from gatesim.events import Direction, Guard, LeafName, Stamped
from gatesim.plant.cable import series
from gatesim.plant.leaves import leaf_of_edge, leaf_of_input, leaves
from gatesim.plant.loop_tables import StripKind
from gatesim.plant.nets import host_of
from gatesim.plant.site import Edge, Site


class State(Enum):
    """What is the matter with the device."""

    OUT_OF_BAND = "resistance out of band"
    OPEN = "open"
    SHORT = "short"
    BATTERY_LOW = "battery low"
    LOST_LINK = "lost link"
    HEALTHY = "healthy"


class Phase(Enum):
    """Where in its travel the leaf is at that instant."""

    AT_REST = "at rest"
    START = "at the start"
    MID_TRAVEL = "mid-travel"
    LAST = "last 5 %"
    REVERSAL = "during reversal"


class Cell(NamedTuple):
    """One cell of the sixty."""

    state: State
    direction: Direction
    phase: Phase

    def __str__(self) -> str:
        return f"{self.state.value} {self.direction.value} {self.phase.value}"


CELLS: tuple[Cell, ...] = tuple(Cell(s, d, p) for s in State for d in Direction for p in Phase)
BY_NAME: dict[str, Cell] = {str(cell): cell for cell in CELLS}

IMPOSSIBLE: dict[Cell, str] = {}
"""Cells that no scenario can show, each with why."""

_LAST = 0.05
_RADIO = ("radio path", "receiver input")


class _Leaf:
    """The leaf's motion so far, as the trace tells it."""

    def __init__(self, travel: float) -> None:
        self.travel = travel
        self.direction: Direction | None = None
        self.came: Direction | None = None
        self.reversing = False
        self.commanded = False
        self.since, self.x, self.v, self.a = 0.0, 0.0, 0.0, 0.0

    def see(self, at: float, event: e.Event) -> None:
        if isinstance(event, e.MotionChanged):
            self.since, self.x, self.v, self.a = at, event.x, event.v, event.a
        elif isinstance(event, e.LeafStarted):
            self.reversing = self.came is event.direction.other and not self.commanded
            self.direction = event.direction
            self.commanded = False
        elif isinstance(event, e.LeafStopped):
            self.came, self.direction = self.direction, None
            if not 0.01 * self.travel < event.x < 0.99 * self.travel:
                self.came = None
        elif isinstance(event, e.CommandPressed):
            self.commanded = True

    def phase(self, at: float) -> Phase:
        if self.direction is None:
            return Phase.AT_REST
        if self.reversing:
            return Phase.REVERSAL
        t = at - self.since
        x = self.x + self.v * t + self.a * t * t / 2
        left = (self.travel - x if self.direction is Direction.OPENING else x) / self.travel
        if left <= _LAST:
            return Phase.LAST
        speeding_up = self.a * self.direction.sign > 0
        return Phase.START if speeding_up or left >= 1 - _LAST else Phase.MID_TRAVEL


class _Gate:
    """One leaf, or two: what happens to a device happens where its own leaf is, or the one that moves."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.leaves = {one.leaf: _Leaf(one.gate.travel) for one in leaves(site)}

    def see(self, at: float, event: e.Event) -> None:
        whose = getattr(event, "leaf", None)
        for name, leaf in self.leaves.items():
            if whose in (None, name):
                leaf.see(at, event)

    def leaf(self, event: e.Event) -> _Leaf:
        """The leaf that an event is about."""
        mine = self.leaves[self._whose(event)] if len(self.leaves) > 1 else self.leaves[LeafName.FIRST]
        moving = [leaf for leaf in self.leaves.values() if leaf.direction is not None]
        return mine if mine.direction is not None or not moving else moving[0]

    def _whose(self, event: e.Event) -> LeafName:
        whose = getattr(event, "leaf", None)
        if isinstance(whose, LeafName):
            return whose
        device = getattr(event, "edge", "") or getattr(event, "device", "")
        return leaf_of_input(self.site, getattr(event, "transmitter", "")) if not device else (
            leaf_of_edge(self.site, device))


def witnessed(events: Sequence[Stamped], site: Site) -> frozenset[Cell]:
    """The cells that a whole run's events show."""
    gate = _Gate(site)
    edges = {edge.name: edge for edge in site.edges}
    guards = {zone.name: zone.direction for zone in site.zones}
    pressed: set[str] = set()
    disturbed = False
    cells: set[Cell] = set()
    for at, event in events:
        gate.see(at, event)
        leaf = gate.leaf(event)
        if isinstance(event, e.EdgeActuated | e.EdgeReleased):
            (pressed.add if isinstance(event, e.EdgeActuated) else pressed.discard)(event.edge)
        if isinstance(event, e.WireDisturbed):
            disturbed = True
        state, at_rest = _state(event, edges, guards, pressed)
        if state is not None:
            phase = leaf.phase(at)
            cells.update(Cell(state, d, phase) for d in ((leaf.direction,) if leaf.direction else at_rest))
        elif not disturbed and isinstance(event, e.LevelChanged | e.FrameSent | e.MotionChanged | e.StartTested):
            there = (leaf.direction,) if leaf.direction else tuple(Direction)
            cells.update(Cell(State.HEALTHY, d, leaf.phase(at)) for d in there)
    return frozenset(cells)


def _state(
    event: e.Event, edges: dict[str, Edge], guards: dict[str, Direction], pressed: set[str]
) -> tuple[State | None, tuple[Direction, ...]]:
    """The state that an event begins, and the directions that its device guards."""
    if isinstance(event, e.LoopChanged) and event.edge in edges:
        own = [edge for edge in edges.values() if host_of(edge) == event.edge]
        shows = _loop_state(event.ohm, own, any(edge.name in pressed for edge in own))
        return shows, tuple(dict.fromkeys(guards[edge.zone] for edge in own))
    if isinstance(event, e.BatteryFlagged | e.CellFell):
        hung = [guards[edge.zone] for edge in edges.values() if edge.input == event.transmitter]
        return State.BATTERY_LOW, tuple(dict.fromkeys(hung))
    if isinstance(event, e.WireDisturbed) and event.wire.startswith(_RADIO):
        both = event.guard in (Guard.BOTH, Guard.DRIVE)
        return State.LOST_LINK, tuple(Direction) if both else (Direction(event.guard.value),)
    return None, ()


def _loop_state(ohm: float, own: list[Edge], pressed: bool) -> State | None:
    """What a loop with these edges on it shows when it reads this."""
    edge = own[0]
    if pressed and edge.strip is StripKind.OPENS and ohm > edge.band_high:
        return None
    if ohm >= edge.open_above:
        return State.OPEN
    if ohm > edge.band_high:
        return State.OUT_OF_BAND
    if ohm >= edge.band_low or pressed:
        return None
    # A short is what reads as a press although nobody presses; the rest of the low side is drift.
    short = sum([series(one) for one in own]) + 2 * edge.contact_resistance + 1
    return State.SHORT if ohm < short else State.OUT_OF_BAND
