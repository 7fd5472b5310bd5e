"""A classifier that averages."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class Averages(DoubledClassifier):
    """The mean of four."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        gone = max(0, seen.sample - state.memory.sample - 1)
        last = state.note[-1] if state.note else seen.codes
        state.note = (*state.note, *[last] * min(gone, 3), seen.codes)[-4:]
        means = [sum(codes) // len(codes) for codes in zip(*state.note, strict=True)]
        return seen._replace(codes=tuple(means))

    def step(self, state: Doubled, seen: ClassifierSeen, now: float) -> tuple[Doubled, ClassifierDo]:
        state, do = super().step(state, seen, now)
        return state, do._replace(again=do.again or len(set(state.note)) > 1 or len(state.note) < 4)


DOUBLE = Double(
    "classifier-averages",
    Role.CLASSIFIER,
    "R12",
    bug="The average of readings is in the band while the peaks of a picked-up hum are on both sides of it.",
    differs="Judges the mean of the last four scans.",
    make=Averages,
    shown_by="mains-hum",
)
