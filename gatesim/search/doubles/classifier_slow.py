"""A classifier with a debounce of seconds."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSettings
from gatesim.search.doubles.base import Double, Role


class Slow(ReferenceClassifier):
    """Whatever heals within seconds is debounced away."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        return super().start(settings._replace(debounce=600, chatter_limit=1 << 30), kept)


DOUBLE = Double(
    "classifier-slow",
    Role.CLASSIFIER,
    "R15",
    bug="A debounce of seconds removes what comes and goes.",
    differs="Waits for 600 equal scans before it takes a press over, and keeps no score.",
    make=Slow,
    shown_by="first-look",
)
