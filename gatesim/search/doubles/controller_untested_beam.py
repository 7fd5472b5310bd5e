"""A controller that sends the test pulse and never looks at what comes of it."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen, Kind
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class UntestedBeam(DoubledController):
    """Takes every beam for tested, and one that fails its test for clear."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        reports = []
        for device, report in zip(state.memory.settings.edges, seen.reports, strict=True):
            if device.kind is Kind.BEAM:
                level = Level.REST if report.heard and report.level is Level.INVALID else report.level
                report = report._replace(level=level, answered=1 << 30)
            reports.append(report)
        return seen._replace(reports=tuple(reports))


DOUBLE = Double(
    "controller-untested-beam",
    Role.CONTROLLER,
    "A8",
    bug="The test pulse is sent, and nobody looks at its echo.",
    differs="Takes every beam for tested, and one that fails its test for clear.",
    make=UntestedBeam,
    shown_by="beam-stuck-clear",
)
