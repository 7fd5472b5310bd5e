"""A classifier whose baseline adjusts itself."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class Follows(DoubledClassifier):
    """A small change moves the baseline, and the band with it."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        middle = tuple([(band.low + band.high) // 2 for band in state.memory.settings.bands])
        base = state.note or middle
        near = [abs(code - old) < 50 for code, old in zip(seen.codes, base, strict=True)]
        moved = zip(seen.codes, base, near, strict=True)
        state.note = tuple([code if is_near else old for code, old, is_near in moved])
        codes = tuple([rest if is_near else code for code, rest, is_near in zip(seen.codes, middle, near, strict=True)])
        return seen._replace(codes=codes)


DOUBLE = Double(
    "classifier-follows",
    Role.CLASSIFIER,
    "R4",
    bug="A baseline that adjusts itself follows a slow leak to the edge of the band and beyond.",
    differs="Lets a small change of a code move the middle of the band along.",
    make=Follows,
    shown_by="leakage-slow",
)
