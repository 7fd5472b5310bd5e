"""A classifier that looks for readings under the band and for nothing else."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSettings
from gatesim.search.doubles.base import Double, Role


class LowOnly(ReferenceClassifier):
    """Whatever is above the band counts as at rest."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        bands = tuple([band._replace(high=1 << 30, open_above=1 << 30) for band in settings.bands])
        return super().start(settings._replace(bands=bands), kept)


DOUBLE = Double(
    "classifier-low-only",
    Role.CLASSIFIER,
    "R5",
    bug="Only the lower limit is looked at.",
    differs="Takes everything above the band for rest.",
    make=LowOnly,
    shown_by="open-closing",
)
