"""A presence beam: the ray and what stands in it, its receiver, and the operator's input that tests it.

Its clocks are docs/timing.md, section 8a.  The output is fail-safe: open while the ray is interrupted, the emitter off
or the supply gone.  The input tests it: emitter off for `test_pulse`, and the output must open within `response_time`
and stay open, and close again within `response_time` of the emitter being on.  Meanwhile the report holds what it was.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any, ClassVar

from gatesim.events import (
    BeamCleared,
    BeamInterrupted,
    BeamTested,
    ClearBeam,
    Direction,
    InterruptBeam,
    Level,
    Stimulus,
)
from gatesim.plant import wires
from gatesim.plant.given import Nothing
from gatesim.plant.logic.contract import Report
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.report_line import tell, unheard
from gatesim.plant.site import Beam, Monitoring, Site, guarded
from gatesim.units import FOREVER


@state
class PathState:
    """The names of what stands in the ray."""

    there: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Path:
    """What comes into the ray and leaves it."""

    name: str
    direction: Direction

    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 12
    takes: ClassVar[tuple[type[Stimulus], ...]] = (InterruptBeam, ClearBeam)

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((wires.BeamPath(self.name), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> PathState:
        return PathState()

    def react(self, state: PathState, now: float, seen: list[Any], out: Out) -> float:
        before, last = bool(state.there), ""
        for stimulus in out.stimuli:
            last = stimulus[0]
            others = tuple([by for by in state.there if by != last])
            state.there = (*others, last) if type(stimulus) is InterruptBeam else others
        if bool(state.there) is not before:
            out.event(BeamCleared(self.name, self.direction) if before
                      else BeamInterrupted(self.name, self.direction, last))
        out.put(0, bool(state.there))
        return FOREVER


@dataclass(frozen=True, slots=True)
class Ray:
    """Light arrives while the emitter is fed and nothing stands in the ray."""

    name: str

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 10
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (wires.BeamPath(self.name), wires.BeamEmitter(self.name))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((wires.BeamLight(self.name), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, seen[1] and not seen[0])
        return FOREVER


@state
class EyeState:
    """The output, and when it will follow the light (FOREVER: it does)."""

    closed: bool = False
    due: float = FOREVER


@dataclass(frozen=True, slots=True)
class Eye:
    """The beam's receiver: its output follows light that has lasted for the response time."""

    beam: Beam

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 20
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.beam.name

    def reads(self) -> tuple[Wire, ...]:
        return (wires.BeamLight(self.name), wires.Supply())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((wires.BeamOutput(self.name), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> EyeState:
        return EyeState()

    def react(self, state: EyeState, now: float, seen: list[Any], out: Out) -> float:
        light, supply = seen
        if not supply:
            state.closed, state.due = False, FOREVER
        elif light is state.closed:
            state.due = FOREVER
        elif state.due >= FOREVER:
            state.due = now + self.beam.response_time
        elif now >= state.due:
            state.closed, state.due = light, FOREVER
        out.put(0, state.closed)
        return state.due


class Stage(Enum):
    """What the operator's input is doing with a beam."""

    SETTLING = "emitter on since the supply came"
    READY = "following the output"
    DARK = "emitter off, the output must open"
    HELD = "emitter off, the output has opened and must stay so"
    LIGHT = "emitter on again, the output must close"


@state
class InputState:
    """Where the input is in its test, and what it reports."""

    report: Report
    powered: bool = False
    stage: Stage = Stage.SETTLING
    until: float = FOREVER
    """When the stage ends by itself."""
    on_at: float = FOREVER
    """When the emitter goes on again."""
    asked: int = 0
    wanted: bool = False
    """A test was asked for and has not been begun and brought to an end since."""
    serves: int = 0
    """The latest request when the last test began."""
    failed: bool = False
    begun: float = 0.0
    """When the last test began."""
    next_test: float = FOREVER


@dataclass(frozen=True, slots=True)
class BeamInput:
    """The operator's input of one beam."""

    beam: Beam

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 45
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.beam.name

    @property
    def can_be_asked(self) -> bool:
        return self.beam.monitoring is Monitoring.BEFORE_EACH_MOVE

    def reads(self) -> tuple[Wire, ...]:
        return (wires.BeamOutput(self.name), wires.Supply(), wires.Ask())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((wires.ReportLine(self.name), self._unheard()), (wires.BeamEmitter(self.name), False))

    def _unheard(self) -> Report:
        return unheard(self.name, self.can_be_asked)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> InputState:
        return InputState(self._unheard())

    def react(self, state: InputState, now: float, seen: list[Any], out: Out) -> float:
        closed, supply, ask = seen
        before = state.report
        if not supply:
            state.powered, state.report = False, self._unheard()
            out.put(1, False)
        else:
            if not state.powered:
                self._power_up(state, now, ask)
            if ask != state.asked:
                state.asked, state.wanted = ask, ask > 0 and self.can_be_asked
                state.report = state.report._replace(answered=0)
            self._test(state, now, closed, out)
            self._begin(state, now, closed)
            out.put(1, state.stage not in (Stage.DARK, Stage.HELD))
        tell(out, (before,), (state.report,))
        return self._due(state, now, closed) if supply else FOREVER

    def _power_up(self, state: InputState, now: float, ask: int) -> None:
        state.powered, state.stage, state.until = True, Stage.SETTLING, now + self.beam.response_time
        # A number that still stands on its wire is no request made of this start.
        state.asked, state.wanted, state.failed, state.on_at = ask, False, False, FOREVER
        state.next_test = FOREVER if self.can_be_asked else state.until

    def _test(self, state: InputState, now: float, closed: bool, out: Out) -> None:
        """Bring what is under way up to now."""
        if state.stage is Stage.DARK and not closed:
            state.stage = Stage.HELD
        elif state.stage is Stage.HELD and closed:
            self._over(state, now, False, out)  # light, and none of its own
        if state.stage is Stage.DARK and now >= state.until:
            self._over(state, now, False, out)
        if state.stage is Stage.HELD and now >= state.on_at:
            state.stage, state.until = Stage.LIGHT, now + self.beam.response_time
        elif state.stage is Stage.LIGHT and closed:
            self._over(state, now, True, out)
        elif state.stage is Stage.LIGHT and now >= state.until:
            # It may have been an interruption that opened it: no test at all, and made anew once the ray is clear.
            state.stage, state.until, state.next_test = Stage.READY, FOREVER, min(state.next_test, now)
        elif state.stage is Stage.SETTLING and now >= state.until:
            state.stage, state.until = Stage.READY, FOREVER
            state.report = state.report._replace(heard=True, fresh=True)
        if state.stage is Stage.READY and not state.failed:
            state.report = state.report._replace(level=Level.REST if closed else Level.INTERRUPTED)

    def _over(self, state: InputState, now: float, passed: bool, out: Out) -> None:
        state.stage, state.until, state.on_at = Stage.READY, FOREVER, FOREVER
        told = state.wanted or passed is state.failed
        state.failed, state.wanted = not passed, state.wanted and state.serves != state.asked
        state.report = state.report._replace(answered=state.serves if passed else 0)
        if not passed:
            state.report = state.report._replace(level=Level.INVALID)
        again = not passed or not self.can_be_asked
        state.next_test = state.begun + self.beam.test_period if again else FOREVER
        # Of the tests that nobody asked for, those are told whose outcome is another than the last one's.
        if told:
            out.event(BeamTested(self.name, passed))

    def _begin(self, state: InputState, now: float, closed: bool) -> None:
        """Begin a test that is wanted or due; only a clear ray can be tested."""
        if state.stage is Stage.READY and closed and (state.wanted or now >= state.next_test):
            state.stage, state.until = Stage.DARK, now + self.beam.response_time
            state.begun, state.on_at, state.serves = now, now + self.beam.test_pulse, state.asked

    def _due(self, state: InputState, now: float, closed: bool) -> float:
        if state.stage is Stage.READY:
            return state.next_test if closed else FOREVER
        return state.on_at if state.stage is Stage.HELD else state.until


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """Four parts a beam."""
    for beam in site.beams:
        yield Path(beam.name, guarded(site, beam))
        yield Ray(beam.name)
        yield Eye(beam)
        yield BeamInput(beam)
