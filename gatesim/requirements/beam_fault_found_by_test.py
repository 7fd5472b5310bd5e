"""A beam that no longer answers is found by its test pulse before the next move."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event, FoundBy
from gatesim.plant.part import owned, state
from gatesim.plant.site import Monitoring, Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, failed, held, waiting
from gatesim.requirements.profiles import MONITORING
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


@state
class PulseState:
    """Beams disturbed and not found yet: (beam, since, number); those of them that were reported interrupted since."""

    site: Site
    driving: d.Driving = owned()
    tally: Tally = owned()
    open: tuple[tuple[str, int, int], ...] = ()
    reported: tuple[str, ...] = ()


class BeamFaultFoundByTest(Monitor):
    """A disturbed wire of a beam, of a kind that must be found at the next start: its next test must fail, and no
    automatic start may come in the direction that it guards before that.  A test that began before the disturbance, and
    a start before the device's detection limit, are not held against it.  A beam that is monitored continuously must
    fail within its period and the length of two tests, unless it was reported interrupted meanwhile: only a clear ray
    can be tested, and the other bars the start by itself.
    """

    id: ClassVar[str] = "beam-fault-found-by-test"
    sentence: ClassVar[str] = "A beam that no longer answers is found by its test pulse before the next move."
    failures: ClassVar[tuple[str, ...]] = ("started untested", "passed its test", "not found")
    source: ClassVar[Source] = MONITORING
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.WireDisturbed, e.WireRestored, e.BeamTested, e.ReportChanged)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.WireDisturbed, e.BeamTested)
    idle: ClassVar[str] = "no beam's fault met a test or a start"

    def begin(self, limit: int | None, site: Site) -> PulseState:
        """Every beam in order."""
        return PulseState(site, d.Driving(), Tally())

    def see(self, state: PulseState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.WireDisturbed):
            if event.found is FoundBy.NEXT_START and f.beam_of(state.site, event.device) is not None:
                state.open += ((event.device, at, number),)
                state.reported = tuple(beam for beam in state.reported if beam != event.device)
        elif isinstance(event, e.ReportChanged):
            if event.level is e.Level.INTERRUPTED:
                state.reported += (event.edge,)
        elif isinstance(event, e.WireRestored):
            left = tuple(one for one in state.open if one[0] != event.device)
            if left != state.open:
                state.open, state.tally.skipped = left, "the fault was gone before a test"
        elif isinstance(event, e.BeamTested):
            self._tested(state, number, at, event)
        elif isinstance(event, e.LeafStarted) and state.driving.why is d.Why.START and state.driving.leads:
            beams = f.beams_guarding(state.site, event.direction)
            for one in state.open:
                if one[0] in beams and at - one[1] >= f.known_at_start(state.site, one[0], FoundBy.NEXT_START):
                    self._settle(state, one, failed("started untested", at, (one[2], number), one[0]))

    def _tested(self, state: PulseState, number: int, at: int, event: e.BeamTested) -> None:
        beam = f.beam_of(state.site, event.beam)
        for one in state.open:
            if one[0] != event.beam or beam is None:
                continue
            if not event.passed:
                self._settle(state, one, held(at, (one[2], number), one[0]))
            elif at - one[1] > f.seen_by(beam):
                self._settle(state, one, failed("passed its test", at, (one[2], number), one[0]))

    def _settle(self, state: PulseState, one: tuple[str, int, int], verdict: Verdict) -> None:
        state.tally.take(verdict)
        state.open = tuple(other for other in state.open if other != one)

    def open_cases(self, state: PulseState, now: int) -> Iterator[Verdict]:
        """A fault that met no test; where one is due only before a move, that is no case yet."""
        for name, at, number in state.open:
            beam = f.beam_of(state.site, name)
            if beam is not None and beam.monitoring is Monitoring.CONTINUOUSLY and name not in state.reported:
                yield waiting(at, now, beam.test_period + 2 * f.seen_by(beam), "not found", (number,))


REQUIREMENT = BeamFaultFoundByTest()
