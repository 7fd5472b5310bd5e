"""A classifier that saves power."""

from __future__ import annotations

from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledClassifier, Role


class PollsSlowly(DoubledClassifier):
    """Between two polls the last one stands."""

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        if not state.note or seen.sample // 60 > state.note[1]:
            state.note = (seen.codes, seen.sample // 60)
        return seen._replace(codes=state.note[0])

    def step(self, state: Doubled, seen: ClassifierSeen, now: float) -> tuple[Doubled, ClassifierDo]:
        state, do = super().step(state, seen, now)
        return state, do._replace(again=do.again or seen.codes != state.note[0])


DOUBLE = Double(
    "classifier-polls-slowly",
    Role.CLASSIFIER,
    "R9",
    bug="Polling in a power-saving mode is slower than the shortest contact.",
    differs="Looks at every sixtieth scan only.",
    make=PollsSlowly,
    shown_by="chatter",
)
