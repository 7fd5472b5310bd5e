"""An input of the operator on which edges hang by wire (docs/timing.md, section 5).

It reports in the instant of its scan, always fresh while powered; heard from its first scan.  A supply that returns
starts it anew.  A test request is answered at the first scan strictly later than the request.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant import wires
from gatesim.plant.edges.scanner import Scanner, ScannerState, scanner_of
from gatesim.plant.given import Given
from gatesim.plant.logic.contract import Report
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, owned, state
from gatesim.plant.report_line import tell, unheard
from gatesim.plant.site import Monitoring, Site, WiredInput
from gatesim.plant.transmitter import say_levels
from gatesim.units import FOREVER


@state
class WiredInputState:
    """What changes in a wired input."""

    scan: ScannerState = owned()
    powered: bool
    asked: int
    answered: int
    reports: tuple[Report, ...]


@dataclass(frozen=True, slots=True)
class WiredInputPart:
    """One wired input."""

    node: WiredInput
    scanner: Scanner

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 40
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.node.name

    @property
    def can_be_asked(self) -> bool:
        return self.node.monitoring is Monitoring.BEFORE_EACH_MOVE

    def reads(self) -> tuple[Wire, ...]:
        loops = tuple([wires.Code(band.edge) for band in self.scanner.settings.bands])
        name = self.node.name
        return (wires.ReferenceCode(name), wires.ScanClock(name), wires.Supply(), wires.Ask(), *loops)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return tuple([(wires.ReportLine(report.edge), report) for report in self._unheard()])

    def _unheard(self) -> tuple[Report, ...]:
        return tuple([unheard(edge, self.can_be_asked) for edge in self.scanner.edges])

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> WiredInputState:
        return WiredInputState(self.scanner.initial(), False, 0, 0, self._unheard())

    def react(self, state: WiredInputState, now: float, seen: list[Any], out: Out) -> float:
        reference, running, supply, ask = seen[:4]
        if not supply:
            state.powered = False
            self._report(state, self._unheard(), out)
            return FOREVER
        if not state.powered:
            state.powered, state.asked, state.answered = True, 0, 0
            self.scanner.power_up(state.scan, now, None)
        if ask != state.asked:
            state.asked, state.answered = ask, 0
            if ask > 0:
                self.scanner.force(state.scan, now)
        self.scanner.run(state.scan, now, running)
        image = (tuple(seen[4:]), reference, None)
        before = state.scan.levels
        if self.scanner.scan(state.scan, now, image):
            say_levels(self.scanner, before, state.scan.levels, out)
        if self.scanner.answered(state.scan):
            state.answered = state.asked
        if state.scan.ready:
            self._report(state, self._reports(state), out)
        return self.scanner.due(state.scan, now, image)

    def _reports(self, state: WiredInputState) -> tuple[Report, ...]:
        return tuple([
            Report(edge, level, True, True, False, False, state.answered, self.can_be_asked)
            for edge, level in zip(self.scanner.edges, state.scan.levels, strict=True)
        ])

    def _report(self, state: WiredInputState, reports: tuple[Report, ...], out: Out) -> None:
        before, state.reports = state.reports, reports
        tell(out, before, reports)


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A wired input each, with its scan clock."""
    for node in site.wired_inputs:
        edges = [edge for edge in site.edges if edge.input == node.name]
        yield Given(wires.ScanClock(node.name), True, node.name)
        yield WiredInputPart(node, scanner_of(node, edges, None, None, bench.classifier))
