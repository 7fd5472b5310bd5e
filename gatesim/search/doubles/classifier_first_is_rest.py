"""A classifier that learns rest from the first reading."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class FirstIsRest(DoubledClassifier):
    """What it reads first is at rest."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        state.note = state.note or seen.codes
        loops = zip(seen.codes, state.note, state.memory.settings.bands, strict=True)
        codes = [(band.low + band.high) // 2 if code == first else code for code, first, band in loops]
        return seen._replace(codes=tuple(codes))


DOUBLE = Double(
    "classifier-first-is-rest",
    Role.CLASSIFIER,
    "H4",
    bug="The first level seen is taken for rest, whatever it is.",
    differs="Takes whatever a loop reads at power-up for rest from then on.",
    make=FirstIsRest,
    shown_by="open-at-power-up",
)
