"""A classifier with thresholds from the nominal value."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSettings
from gatesim.search.doubles.base import Double, Role


class Nominal(ReferenceClassifier):
    """A quarter of the band."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        bands = []
        for band in settings.bands:
            spare = (band.high - band.low) * 3 // 8
            bands.append(band._replace(low=band.low + spare, high=band.high - spare))
        return super().start(settings._replace(bands=tuple(bands)), kept)


DOUBLE = Double(
    "classifier-nominal",
    Role.CLASSIFIER,
    "R11",
    bug="Thresholds come from the nominal resistor, without its tolerance, its lead or the temperature.",
    differs="Has a band of a quarter of the width around the middle of the one on record.",
    make=Nominal,
    shown_by="bad-band-too-wide",
)
