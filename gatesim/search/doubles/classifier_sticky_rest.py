"""A classifier whose hysteresis points the wrong way."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class StickyRest(DoubledClassifier):
    """From rest, the band is a tenth wider on both sides."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        loops = zip(seen.codes, state.memory.settings.bands, state.memory.loops, strict=True)
        codes = [
            band.low if loop.taken is Level.REST and band.low * 9 // 10 <= code < band.low
            else band.high if loop.taken is Level.REST and band.high < code <= band.high * 11 // 10
            else code
            for code, band, loop in loops
        ]
        return seen._replace(codes=tuple(codes))


DOUBLE = Double(
    "classifier-sticky-rest",
    Role.CLASSIFIER,
    "A5",
    bug="Hysteresis that points the wrong way holds on to rest where it should hold on to the fault.",
    differs="Once at rest, takes readings up to a tenth beyond the band for rest too.",
    make=StickyRest,
    shown_by="contact-at-the-band",
)
