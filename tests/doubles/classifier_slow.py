"""A classifier with a debounce of seconds."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSettings


class Slow(ReferenceClassifier):
    """Whatever heals within seconds is debounced away."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        return super().start(settings._replace(debounce=600, chatter_limit=1 << 30), kept)
