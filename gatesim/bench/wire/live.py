"""One run in real time: the plant paced by the wall clock, the controller on the wire.

The model lives every instant at its own exact time; the wall clock only says when.  How late it was, and how often the
controller looked, is measured and stands beside the verdicts.  A run that was too late is undetermined.  A
controller that no longer looks, or whose heartbeat stands, ends its run.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from gatesim.bench.wire.image import Image, WireController
from gatesim.bench.wire.modbus import Function
from gatesim.errors import LogicError
from gatesim.events import ContactBegan, Run, Stamped
from gatesim.plant.build import built
from gatesim.plant.leaves import of_operator
from gatesim.plant.logic.contract import Roles
from gatesim.plant.operator import CallController
from gatesim.plant.travel_sensor import measured_at
from gatesim.plant.wires import Counts, Supply
from gatesim.plant.world import World
from gatesim.requirements.judging import Judge
from gatesim.requirements.verdict import Verdict
from gatesim.run import Course, Pacer, silences
from gatesim.scenario.agenda import agenda
from gatesim.scenario.model import Scenario
from gatesim.trace import Section

TICK = 0.01
"""Seconds between two looks at the heartbeat, and at how late we are."""
_POLLS = (Function.READ_DISCRETES, Function.READ_INPUTS)


class Rules(NamedTuple):
    """What holds for a live run; durations in us of the wall clock.

    `lateness`: later than this at any instant, and the run is undetermined.  `lost_after`: without a heartbeat or a
    poll for so long the controller is lost.  `ready_within`: how long to wait for it at first.  `speed`: seconds of
    the run in a second of the wall clock.
    """

    lateness: int = 10_000
    lost_after: int = 1_000_000
    ready_within: int = 60_000_000
    speed: float = 1.0


class Spread(NamedTuple):
    """Measured durations, in us of the wall clock."""

    number: int
    median: int | None
    p99: int | None
    most: int | None


def spread(found: Iterable[float]) -> Spread:
    """Median, 99th percentile (the nearest rank) and maximum."""
    ordered = sorted(found)
    if not ordered:
        return Spread(0, None, None, None)
    ranks = [ordered[min(len(ordered) - 1, int(share * len(ordered)))] for share in (0.5, 0.99)]
    return Spread(len(ordered), *(round(one) for one in (*ranks, ordered[-1])))


class Twin(NamedTuple):
    """A run that is played again for one means alone: from the touch of that number on the other is held silent."""

    run: Run
    touch: int


class Ending(NamedTuple):
    """Why a run could not go on: when (us), what happened to the controller, and how that was seen."""

    at: int
    what: str
    why: str


LOST, BROKE = "controller lost", "outside the contract"


class Played(NamedTuple):
    """What came of one live run."""

    section: Section
    verdicts: dict[str, Verdict]
    touches: int
    reached: bool
    """Whether the touch of a twin came."""
    lateness: Spread
    polls: Spread
    ending: Ending | None
    """Why it could not go on, where it could not."""


class Watch:
    """How late we are and how often the controller looks."""

    def __init__(self) -> None:
        self.late: list[float] = []
        self.intervals: dict[bytes, list[float]] = {}
        self.last: dict[bytes, float] = {}
        self.looked = self.beaten = self.known = 0.0
        self.beats = 0

    def look(self, request: bytes, at: float) -> None:
        """The inputs were read (at: seconds)."""
        if request in self.last:
            self.intervals.setdefault(request, []).append((at - self.last[request]) * 1e6)
        self.last[request] = self.looked = at

    def polls(self) -> Spread:
        """Of the read that the controller repeats least often (at least every tenth time)."""
        most = max([len(found) for found in self.intervals.values()], default=0)
        often: list[list[float]] = [found for found in self.intervals.values() if len(found) * 10 >= most]
        slowest: list[float] = []
        for found in often:
            if not slowest or _mean(found) > _mean(slowest):
                slowest = found
        return spread(slowest)

    def begin(self, at: float, beats: int) -> None:
        """All is well from now on (at: seconds)."""
        self.looked = self.beaten = self.known = at
        self.beats = beats

    def missing(self, at: float, beats: int, current: bool, within: float) -> str:
        """Why the controller is lost, or ""; `current`: it has told that it saw the latest power-up, or needs not."""
        if current:
            self.known = at
        if beats != self.beats:
            self.beats, self.beaten = beats, at
        if at - self.beaten > within:
            return f"its heartbeat stood still for more than {within:g} s"
        if at - self.looked > within:
            return f"it read no input for more than {within:g} s"
        if at - self.known > within:
            return f"it has not told within {within:g} s that it saw the power-up"
        return ""


def _mean(found: list[float]) -> float:
    return sum(found) / len(found)


class Live:
    """One live run, driven by callbacks of the event loop."""

    def __init__(self, scenario: Scenario, seed: int, roles: Roles, image: Image, rules: Rules,
                 twin: Twin | None) -> None:
        self.image, self.rules, self.twin = image, rules, twin
        self.watch = Watch()
        self.controller = WireController(image)
        self.plant = built(scenario.site, roles._replace(controller=self.controller))
        self.events: list[Stamped] = []
        self.judge = Judge.begin(scenario.site, scenario.expect)
        self.course = Course(self.plant, World(self.plant, seed), agenda(scenario), scenario.ends, self.judge,
                             lambda _, at, event: self.events.append(Stamped(at, event)))
        self.pacer = Pacer(self.course, self._each)
        self.touches = 0
        self.reached = twin is None
        self._counts = self.plant.wires[Counts(of_operator(scenario.site))]
        self._supply = self.plant.wires[Supply()]
        self._called = False
        self._timer: asyncio.TimerHandle | None = None
        self._ticker: asyncio.TimerHandle | None = None
        self._loop = asyncio.get_running_loop()
        self._done: asyncio.Future[Ending | None] = self._loop.create_future()
        self._zero = 0.0

    # --- the clock ----------------------------------------------------------------------------------------------------

    def now(self) -> int:
        """Microseconds since the run began, in its own time."""
        return int((self._loop.time() - self._zero) * 1e6 * self.rules.speed)

    def _wall(self, at: float) -> float:
        return self._zero + at / 1e6 / self.rules.speed

    async def play(self) -> Played:
        """Live it to its end, or until the controller is lost.  Raises LogicError or ModelError."""
        self._zero = self._loop.time()
        self.watch.begin(self._zero, self.image.beats)
        try:
            self._guarded(self._advance)
            self._tick(self._zero)
            ending = await self._done
        finally:
            for timer in (self._timer, self._ticker):
                if timer is not None:
                    timer.cancel()
            self.image.show_now(0, 0.0, going=False, supply=False)
        ends = min(self.now(), self.course.ends) if not self.judge_settled() else self.course.world.now
        run = Run.WHOLE if self.twin is None else self.twin.run
        section = Section(run, 0, None if run is Run.WHOLE else 0.0, self.events, ends)
        return Played(section, self.judge.verdicts(ends), self.touches, self.reached,
                      spread(self.watch.late), self.watch.polls(), ending)

    def judge_settled(self) -> bool:
        """Whether a twin has nothing more to see."""
        return self.twin is not None and self.reached and self.judge.settled()

    def _guarded(self, does: Callable[[], None]) -> None:
        """Do something that a callback of the loop does: whatever goes wrong ends the run."""
        if self._done.done():
            return
        try:
            does()
        except LogicError as error:
            self._finish(Ending(self.now(), BROKE, str(error)))
        except Exception as error:  # noqa: BLE001 - it would be lost in the loop
            self._done.set_exception(error)

    def _finish(self, ending: Ending | None = None) -> None:
        if not self._done.done():
            self._done.set_result(ending)

    # --- living -------------------------------------------------------------------------------------------------------

    def _advance(self) -> None:
        """Live through what is due, and ask to be woken for what comes next."""
        now = self.now()
        self.pacer.until(min(now, self.course.ends))
        if now >= self.course.ends or self.judge_settled():
            self._finish()
        self._arm()

    def _arm(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        # One us later, for our own clock is in whole ones: woken earlier there would be nothing to do yet.
        at = self._wall(min(self.pacer.due(), self.course.ends) + 1)
        self._timer = self._loop.call_at(at, self._guarded, self._advance)

    def _each(self, at: float, happened: list[Any]) -> None:
        if not self._called:
            self.watch.late.append((self.now() - at) / self.rules.speed)
        if any(type(event) is ContactBegan for event in happened):
            self.touches += 1
            if self.twin is not None and self.touches == self.twin.touch:
                self.reached = True
                self.judge = self.course.judge = self.judge.twin(self.twin.run)
                self.course.live(at, silences(self.plant, self.twin.run))

    def _tick(self, asked: float) -> None:
        at = self._loop.time()
        self.watch.late.append((at - asked) * 1e6)
        if not self.course.world.values[self._supply] and self.controller.power_cycles:
            self.watch.begin(at, self.image.beats)  # it is without supply too
        lost = self.watch.missing(at, self.image.beats, self.image.current(), self.rules.lost_after / 1e6)
        if lost:
            self._finish(Ending(self.now(), LOST, lost))
            return
        again = max(asked + TICK, at)
        self._ticker = self._loop.call_at(again, self._tick, again)

    # --- the wire -----------------------------------------------------------------------------------------------------

    def before(self, pdu: bytes) -> None:
        """A request has come: it is answered as of now."""
        self._guarded(self._advance)
        if self._done.done():
            return
        if pdu[0] in _POLLS:
            self.watch.look(pdu, self._loop.time())
        world, now = self.course.world, self.now()
        position = measured_at(world.values[self._counts], max(now, world.now))
        self.image.show_now(now, position, going=True, supply=world.values[self._supply])

    def after(self) -> None:
        """Something was written: the controller is asked what it puts out."""
        self._guarded(self._written)

    def _written(self) -> None:
        self._called = True
        try:
            self.pacer.outside(self.now(), CallController())
        finally:
            self._called = False
        self._arm()
