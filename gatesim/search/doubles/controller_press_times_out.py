"""A controller for which a press ends by itself."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role
from gatesim.units import FOREVER


class PressTimesOut(DoubledController):
    """Nobody stands there that long."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        begun = state.note or tuple([FOREVER] * len(seen.reports))
        state.note = tuple([
            min(since, now) if one.level is Level.PRESSED else FOREVER
            for since, one in zip(begun, seen.reports, strict=True)
        ])
        reports = [
            one._replace(level=Level.REST) if now - since > 4_000_000 else one
            for since, one in zip(state.note, seen.reports, strict=True)
        ]
        return seen._replace(reports=tuple(reports))


DOUBLE = Double(
    "controller-press-times-out",
    Role.CONTROLLER,
    "R10",
    bug="A press that lasts is dropped after a while.",
    differs="Takes an edge that has been pressed for four seconds for at rest.",
    make=PressTimesOut,
    shown_by="stays-pressed",
)
