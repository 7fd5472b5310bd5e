"""A classifier for which only a reading near zero is a press."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Role


class NearZero(ReferenceClassifier):
    """What lies between a good contact and the band is odd, and nothing else."""

    def step(self, state: ClassifierMemory, seen: ClassifierSeen, now: float) -> tuple[ClassifierMemory, ClassifierDo]:
        codes = tuple(
            [
                band.low if seen.reference // 20 < code < band.low else code
                for code, band in zip(seen.codes, state.settings.bands, strict=True)
            ]
        )
        return super().step(state, seen._replace(codes=codes), now)


DOUBLE = Double(
    "classifier-near-zero",
    Role.CLASSIFIER,
    "R3",
    bug="Only a reading near zero is a press; what lies between is called odd.",
    differs="Takes a code between a good contact and the band for rest.",
    make=NearZero,
    shown_by="weak-contact",
)
