"""A classifier in which a code out of range fits no branch."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen, EdgeBand


class KeepsLast(ReferenceClassifier):
    """A code that no converter can give leaves the last one standing."""

    def __init__(self) -> None:
        self.last: dict[tuple[EdgeBand, ...], tuple[int, ...]] = {}

    def step(self, state: ClassifierMemory, seen: ClassifierSeen, now: float) -> tuple[ClassifierMemory, ClassifierDo]:
        bands = state.settings.bands
        last = self.last.get(bands, tuple([band.low for band in bands]))
        self.last[bands] = tuple([code if code >= 0 else old for code, old in zip(seen.codes, last, strict=True)])
        return super().step(state, seen._replace(codes=self.last[bands]), now)
