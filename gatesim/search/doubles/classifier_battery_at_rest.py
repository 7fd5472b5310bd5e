"""A classifier that never hears of the voltage in a burst."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Role


class BatteryAtRest(ReferenceClassifier):
    """Takes the voltage between the bursts, which here is that of a good cell."""

    def step(self, state: ClassifierMemory, seen: ClassifierSeen, now: float) -> tuple[ClassifierMemory, ClassifierDo]:
        return super().step(state, seen._replace(cell_mv=None if seen.cell_mv is None else 3_600.0), now)


DOUBLE = Double(
    "classifier-battery-at-rest",
    Role.CLASSIFIER,
    "P2",
    bug="The cell is measured at rest, where even a weak one looks good.",
    differs="Takes 3.6 V for the cell's voltage, whatever the burst pulls it down to.",
    make=BatteryAtRest,
    shown_by="battery-low-closing",
)
