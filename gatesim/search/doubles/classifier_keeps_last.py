"""A classifier in which a code out of range fits no branch."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class KeepsLast(DoubledClassifier):
    """A code that no converter can give leaves the last one standing."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        last = state.note or tuple([band.low for band in state.memory.settings.bands])
        state.note = tuple([code if code >= 0 else old for code, old in zip(seen.codes, last, strict=True)])
        return seen._replace(codes=state.note)


DOUBLE = Double(
    "classifier-keeps-last",
    Role.CLASSIFIER,
    "A6",
    bug="A code out of range fits no branch of the comparison, and the last value stands.",
    differs="Puts the last code of the range in the place of a code below zero.",
    make=KeepsLast,
    shown_by="over-range-code",
)
