"""A classifier that does not look at the reference channel."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen


class WithoutReference(ReferenceClassifier):
    """Takes the reference channel for right."""

    def step(self, state: ClassifierMemory, seen: ClassifierSeen, now: float) -> tuple[ClassifierMemory, ClassifierDo]:
        return super().step(state, seen._replace(reference=state.settings.reference), now)
