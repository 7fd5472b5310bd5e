"""A controller for which nothing stands in a ray."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen, Kind
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class IgnoresBeams(DoubledController):
    """Takes an interrupted beam for clear, and tested."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        reports = []
        for device, report in zip(state.memory.settings.edges, seen.reports, strict=True):
            if device.kind is Kind.BEAM and report.level is Level.INTERRUPTED:
                report = report._replace(level=Level.REST, answered=1 << 30)
            reports.append(report)
        return seen._replace(reports=tuple(reports))


DOUBLE = Double(
    "controller-ignores-beams",
    Role.CONTROLLER,
    "X2",
    bug="A beam is left out because there are edges.",
    differs="Takes an interrupted beam for clear, and tested.",
    make=IgnoresBeams,
    shown_by="beam-interrupted-closing",
)
