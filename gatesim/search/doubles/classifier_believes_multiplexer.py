"""A classifier that takes a wrong channel for its own."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class BelievesMultiplexer(DoubledClassifier):
    """A reference that reads as the first loop does is no reason to worry."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        return seen._replace(reference=state.memory.settings.reference) if seen.reference in seen.codes else seen


DOUBLE = Double(
    "classifier-believes-multiplexer",
    Role.CLASSIFIER,
    "A2",
    bug="Nothing tells one channel of the converter from another.",
    differs="Where the reference channel reads a loop's code, takes the reference for right.",
    make=BelievesMultiplexer,
    shown_by="reference-drift",
)
