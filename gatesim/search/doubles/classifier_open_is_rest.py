"""A classifier for which only a reading below a threshold is anything."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class OpenIsRest(DoubledClassifier):
    """An open loop is not pressed."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        codes = zip(seen.codes, state.memory.settings.bands, strict=True)
        return seen._replace(codes=tuple([band.high if code >= band.open_above else code for code, band in codes]))


DOUBLE = Double(
    "classifier-open-is-rest",
    Role.CLASSIFIER,
    "R1",
    bug="Only a reading below the threshold is a contact, so a broken wire reads as not pressed.",
    differs="Takes a code of an open loop for rest.",
    make=OpenIsRest,
    shown_by="open-closing",
)
