"""A classifier that does not look at the reference channel."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Role


class WithoutReference(ReferenceClassifier):
    """Takes the reference channel for right."""

    def step(self, state: ClassifierMemory, seen: ClassifierSeen, now: float) -> tuple[ClassifierMemory, ClassifierDo]:
        return super().step(state, seen._replace(reference=state.settings.reference), now)


DOUBLE = Double(
    "classifier-without-reference",
    Role.CLASSIFIER,
    "A3",
    bug="Readings are compared without looking at a known reference.",
    differs="Takes the reference channel's code for right, whatever it is.",
    make=WithoutReference,
    shown_by="reference-drift",
)
