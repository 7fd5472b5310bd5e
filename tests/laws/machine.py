"""A gate that is told anything in any order: the rule machine.  Its laws stand in `truth.py`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from gatesim import events as e
from gatesim.events import Command, Direction, Origin
from gatesim.plant import wires as w
from gatesim.plant.build import part_files
from gatesim.plant.fault import FaultBegins, FaultEnds
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.logic.contract import Roles
from gatesim.plant.motion import at
from gatesim.plant.part import Part
from gatesim.plant.world import Plant, World, instant

sys.path.insert(0, str(Path(__file__).parent))

from stories import MS, S, references, shipped
from truth import Truth

_SHIPPED = shipped("mill-lane")
MILL = replace(_SHIPPED, transmitters=tuple([replace(node, checkin_at_rest=5 * S) for node in _SHIPPED.transmitters]),
               receiver=replace(_SHIPPED.receiver, watchdog_at_rest=20 * S))
"""The shipped site, with check-ins at rest so often that a short story hears them."""

GIVEN = ("loop-open", "lost-link", "contactor-welded", "loop-short", "sampler-dead", "receiver-dead", "chatter",
         "force-sensing-dead", "contactor-stays-open", "transmitter-restarts")
SPOTS = tuple((kind, where.device) for kind in GIVEN for where in faults()[kind].places(MILL))
START = {Direction.OPENING: Command.OPEN, Direction.CLOSING: Command.CLOSE}
ROUNDING = 1e-6  # um

ways = st.sampled_from(Direction)
waits = st.sampled_from((1, 7, 35, 150, 600, 2_000, 10_000)).map(lambda ms: ms * MS)
positions = st.sampled_from((0.0, 0.25, 0.5, 0.75, 1.0))
offsets = st.integers(0, 9_999)


class Gate(RuleBasedStateMachine):
    """The whole plant of a shipped site under any roles; `fit` may exchange parts for defective ones."""

    roles: Callable[[], Roles] = staticmethod(references)
    fit: Callable[[Part], Part] = staticmethod(lambda part: part)

    @initialize(share=positions, offset=offsets)
    def begin(self, share: float, offset: int) -> None:
        """The leaf somewhere, and time enough to hear the transmitters."""
        site = replace(MILL, leaf_at=MILL.gate.travel * share)
        bench = type(self).roles()
        self.plant = Plant(type(self).fit(part) for of in part_files() for part in of(site, bench))
        self.world, self.truth, self.now = World(self.plant, 1), Truth(site), 0
        self.moves = self.plant.wires[w.Motion()]
        self.pressed: list[tuple[Command, Origin]] = []
        self.posts: list[str] = []
        self.hands: list[str] = []
        self.faults: list[str] = []
        self.powered, self.count = True, 0
        self.live(3 * S // 2 + offset)

    # --- living ---------------------------------------------------------------------------------------------

    def give(self, *stimuli: Any) -> None:
        """Give stimuli now."""
        self.instant(self.now, stimuli)

    def live(self, lasts: int) -> None:
        """Let time pass, living every instant up to its end."""
        until = self.now + lasts
        while (due := self.world.deadline()) <= until:
            self.instant(due, ())
        self.now = until
        self.instant(until, ())

    def instant(self, now: float, stimuli: tuple[Any, ...]) -> None:
        self.truth.see(now, instant(self.plant, self.world, now, stimuli))
        x, v = at(self.world.values[self.moves], now)
        assert -ROUNDING <= x <= MILL.gate.travel + ROUNDING, f"the leaf is at {x}, outside its travel"
        self.truth.x = x
        truth = self.truth
        if truth.energised is None and not self.posts and now - truth.ended > truth.stop_time:
            assert v == 0, "the leaf moves although nothing has driven it for longer than it takes to stop"
        due = self.world.deadline()
        assert due >= now, f"the next instant, {due}, lies before {now}"

    # --- what people do -------------------------------------------------------------------------------------

    def start(self, way: Direction, lasts: int) -> None:
        """All controls are let go, and one click starts a move."""
        self.let_go_all()
        self.click(START[way], Origin.WIRED, 200 * MS)
        self.live(lasts)

    def let_go_all(self) -> None:
        for control in self.pressed:
            self.give(e.ReleaseControl(*control))
        self.pressed = []

    def click(self, command: Command, origin: Origin, held: int) -> None:
        if (command, origin) not in self.pressed:
            self.give(e.PressControl(command, origin))
            self.live(held)
            self.give(e.ReleaseControl(command, origin))

    def press(self, command: Command, origin: Origin) -> None:
        """A control is pressed and stays so."""
        if (command, origin) not in self.pressed:
            self.pressed.append((command, origin))
            self.give(e.PressControl(command, origin))

    def reset(self, held: int) -> None:
        """The wired reset."""
        self.click(Command.RESET, Origin.WIRED, held * MS)

    def release(self) -> None:
        """The control pressed longest is let go."""
        self.give(e.ReleaseControl(*self.pressed.pop(0)))

    def wait(self, lasts: int, offset: int) -> None:
        """Nothing for a while."""
        self.live(lasts + offset)

    # --- what is in the way ---------------------------------------------------------------------------------

    def enter(self, zone: Any, ahead: float, lasts: int) -> None:
        """An obstruction enters a zone, so far ahead of the leaf."""
        self.count += 1
        self.posts.append(f"post {self.count}")
        place = min(max(self.truth.x + zone.direction.sign * ahead, 0.0), MILL.gate.travel)
        self.give(e.EnterObstruction(self.posts[-1], zone.name, place, None, True))
        self.live(lasts)

    def leave(self) -> None:
        """The oldest obstruction leaves."""
        self.give(e.LeaveObstruction(self.posts.pop(0)))

    def touch(self, edge: Any) -> None:
        """A hand presses an edge, or lets it go."""
        if edge.name in self.hands:
            self.hands.remove(edge.name)
            self.give(e.ReleaseStrip(edge.name))
        else:
            self.hands.append(edge.name)
            self.give(e.PressStrip(edge.name))

    # --- what fails -----------------------------------------------------------------------------------------

    def fail(self, spot: tuple[str, str], lasts: int) -> None:
        """A fault begins somewhere."""
        self.count += 1
        key = f"fault {self.count}"
        where = place(faults()[spot[0]], MILL, spot[1])
        self.faults.append(key)
        self.truth.fault(key, *spot, self.now)
        self.give(*(FaultBegins(key, where.fault, wire, where.device, where.guard) for wire in where.wires))
        self.live(lasts)

    def heal(self) -> None:
        """The oldest fault ends."""
        key = self.faults.pop(0)
        self.truth.heal(key)
        self.give(FaultEnds(key))

    def power(self, lasts: int) -> None:
        """The supply goes, or comes back."""
        self.give(e.LosePower() if self.powered else e.ReturnPower())
        self.powered = not self.powered
        self.live(lasts)

    # --- whole turns of a story, so that the rare ones come -------------------------------------------------

    def mended(self) -> None:
        """Everything that was done is undone, and reset: a gate ready to move, if its logic lets it."""
        if not self.powered:
            self.powered = True
            self.give(e.ReturnPower())
            self.live(6 * S)
        self.let_go_all()
        while self.faults:
            self.heal()
        while self.posts:
            self.leave()
        for edge in MILL.edges:
            if edge.name in self.hands:
                self.touch(edge)
        self.live(3_500 * MS)

    def mend(self) -> None:
        """Ready for the next move."""
        self.mended()
        self.click(Command.RESET, Origin.WIRED, 300 * MS)
        self.live(100 * MS)

    def drive_into(self, way: Direction, ahead: float, offset: int) -> None:
        """A move meets an obstruction, which leaves after the leaf has gone back."""
        self.mended()
        self.start(way, 700 * MS + offset)
        zone = next(zone for zone in MILL.zones if zone.direction is way)
        self.enter(zone, ahead, 4 * S)
        self.leave()

    def fail_on_the_way(self, way: Direction, spot: tuple[str, str], offset: int) -> None:
        """A fault in motion; nobody does anything for a while, then somebody stops the gate."""
        self.mended()
        self.start(way, 700 * MS + offset)
        self.fail(spot, 2 * S)
        self.click(Command.STOP, Origin.WIRED, 200 * MS)
        self.live(S)

    def blackout(self, way: Direction, lasts: int) -> None:
        """The supply goes after a start and comes back, and the devices are heard again."""
        self.mended()
        self.start(way, 700 * MS)
        self.power(lasts)
        self.power(6 * S)

    # --- the world as a value -------------------------------------------------------------------------------

    @invariant()
    def a_copy_equals(self) -> None:
        """A fork is an equal world of its own."""
        if hasattr(self, "world"):
            assert self.world.copy() == self.world, "a copy of the world is not equal to it"


spots = st.sampled_from(SPOTS)
_few = precondition(lambda self: len(self.faults) < 2)


class AnythingMachine(Gate):
    """Small acts in any order."""

    start = rule(way=ways, lasts=waits)(Gate.start)
    press = rule(command=st.sampled_from(Command), origin=st.sampled_from(Origin))(Gate.press)
    release = precondition(lambda self: self.pressed)(rule()(Gate.release))
    reset = rule(held=st.sampled_from((300, 1_999, 2_001)))(Gate.reset)
    wait = rule(lasts=waits, offset=offsets)(Gate.wait)
    enter = rule(zone=st.sampled_from(MILL.zones), ahead=st.sampled_from((0.0, 8_000.0, 60_000.0, 250_000.0)),
                 lasts=waits)(Gate.enter)
    leave = precondition(lambda self: self.posts)(rule()(Gate.leave))
    touch = rule(edge=st.sampled_from(MILL.edges))(Gate.touch)
    fail = _few(rule(spot=spots, lasts=waits)(Gate.fail))
    heal = precondition(lambda self: self.faults)(rule()(Gate.heal))
    power = rule(lasts=waits)(Gate.power)


class TurnsMachine(Gate):
    """Whole turns of a story in any order."""

    mend = rule()(Gate.mend)
    start = rule(way=ways, lasts=waits)(Gate.start)
    drive_into = rule(way=ways, ahead=st.sampled_from((20_000.0, 60_000.0)), offset=offsets)(Gate.drive_into)
    fail_on_the_way = rule(way=ways, spot=spots, offset=offsets)(Gate.fail_on_the_way)
    hold_reset = rule(held=st.sampled_from((300, 2_001)))(Gate.reset)
    blackout = rule(way=ways, lasts=waits)(Gate.blackout)
    wait = rule(lasts=waits, offset=offsets)(Gate.wait)
