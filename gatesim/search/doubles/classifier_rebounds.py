"""A classifier whose battery flags clear themselves."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class Rebounds(DoubledClassifier):
    """The flags are what the last voltage says."""

    def step(self, state: Doubled, seen: ClassifierSeen, now: float) -> tuple[Doubled, ClassifierDo]:
        state, do = super().step(state, seen, now)
        limit = state.memory.settings.low_mv
        if seen.cell_mv is not None and limit is not None and seen.cell_mv >= limit:
            state.memory.low = state.memory.critical = False
            do = do._replace(low=False, critical=False)
        return state, do


DOUBLE = Double(
    "classifier-rebounds",
    Role.CLASSIFIER,
    "P10",
    bug="A cell that has rested looks good again, and the flag goes with it.",
    differs="Clears its battery flags as soon as the voltage is good again.",
    make=Rebounds,
    shown_by="battery-low-closing",
)
