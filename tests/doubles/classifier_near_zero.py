"""A classifier for which only a reading near zero is a press."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen


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
