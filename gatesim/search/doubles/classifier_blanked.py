"""A classifier that blanks its input in step with its scans."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class Blanked(DoubledClassifier):
    """Every second scan is the test pulse."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        if seen.sample % 2:
            return seen
        bands = state.memory.settings.bands
        return seen._replace(codes=tuple([(band.low + band.high) // 2 for band in bands]))

    def step(self, state: Doubled, seen: ClassifierSeen, now: float) -> tuple[Doubled, ClassifierDo]:
        state, do = super().step(state, seen, now)
        return state, do._replace(again=True)


DOUBLE = Double(
    "classifier-blanked",
    Role.CLASSIFIER,
    "A7",
    bug="The test pulse blanks the input in step with the scan, so that a contact never lasts two scans.",
    differs="Takes every second scan for rest: its test pulse falls there.",
    make=Blanked,
    shown_by="first-look",
)
