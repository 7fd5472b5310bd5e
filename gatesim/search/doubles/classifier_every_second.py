"""A classifier that looks at every second scan."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class EverySecond(DoubledClassifier):
    """Between two even scans the last one stands."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        if not state.note or seen.sample % 2 == 0:
            state.note = (seen.codes,)
        return seen._replace(codes=state.note[0])

    def step(self, state: Doubled, seen: ClassifierSeen, now: float) -> tuple[Doubled, ClassifierDo]:
        state, do = super().step(state, seen, now)
        return state, do._replace(again=do.again or seen.codes != state.note[0])


DOUBLE = Double(
    "classifier-every-second",
    Role.CLASSIFIER,
    "A9",
    bug="What toggles is sampled in step with itself and looks constant.",
    differs="Looks at scans with an even number only.",
    make=EverySecond,
    shown_by="comparator-oscillates",
)
