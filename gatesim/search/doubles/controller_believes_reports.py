"""A controller for which the last report stands until a new one comes."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class BelievesReports(DoubledController):
    """Does not look at freshness."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(fresh=report.heard) for report in seen.reports]))


DOUBLE = Double(
    "controller-believes-reports",
    Role.CONTROLLER,
    "C11",
    bug="A report stands until another one comes, however old it is.",
    differs="Takes every report that was heard once for fresh.",
    make=BelievesReports,
    shown_by="lost-link-closing",
)
