"""A classifier whose baseline adjusts itself."""

from __future__ import annotations

from gatesim.plant.logic.classifier_reference import ClassifierMemory, ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen, EdgeBand


class Follows(ReferenceClassifier):
    """A small change moves the baseline, and the band with it."""

    def __init__(self) -> None:
        self.lines: dict[tuple[EdgeBand, ...], tuple[int, ...]] = {}

    def step(self, state: ClassifierMemory, seen: ClassifierSeen, now: float) -> tuple[ClassifierMemory, ClassifierDo]:
        bands = state.settings.bands
        middle = tuple([(band.low + band.high) // 2 for band in bands])
        base = self.lines.get(bands, middle)
        near = [abs(code - old) < 50 for code, old in zip(seen.codes, base, strict=True)]
        self.lines[bands] = tuple(
            [code if is_near else old for code, old, is_near in zip(seen.codes, base, near, strict=True)]
        )
        codes = tuple([rest if is_near else code for code, rest, is_near in zip(seen.codes, middle, near, strict=True)])
        return super().step(state, seen._replace(codes=codes), now)
