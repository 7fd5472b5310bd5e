"""A classifier with one wide band for whatever resistor is fitted."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSettings
from gatesim.search.doubles.base import Double, Role


class WideBand(ReferenceClassifier):
    """The lower limit is a third of what it should be."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        bands = tuple([band._replace(low=band.low // 3) for band in settings.bands])
        return super().start(settings._replace(bands=bands), kept)


DOUBLE = Double(
    "classifier-wide-band",
    Role.CLASSIFIER,
    "H3",
    bug="One wide band takes every resistor that somebody may have fitted.",
    differs="Begins its band at a third of the one on record.",
    make=WideBand,
    shown_by="weak-contact",
)
