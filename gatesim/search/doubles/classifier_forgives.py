"""A classifier whose count of bad samples is cleared by each good one."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSettings
from gatesim.search.doubles.base import Double, Role


class Forgives(ReferenceClassifier):
    """There is no score of samples off rest."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        return super().start(settings._replace(chatter_limit=1 << 30), kept)


DOUBLE = Double(
    "classifier-forgives",
    Role.CLASSIFIER,
    "R8",
    bug="Each good scan clears the count of bad ones, so a chattering contact never adds up.",
    differs="Has no score of scans off rest.",
    make=Forgives,
    shown_by="chatter",
)
