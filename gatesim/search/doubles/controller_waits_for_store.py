"""A controller that waits for its storage."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role

WRITING = 1_200_000
"""How long a write takes (us)."""


class WaitsForStore(DoubledController):
    """First the store, then the motor."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        before = state.done
        state, do = super().step(state, seen, now)
        held, until = state.note or (before, 0.0)
        if not state.note and do.keep != before.keep:
            held, until = before, now + WRITING
        state.note = (held, until) if now < until else ()
        if state.note:
            wake = until if do.wake is None else min(do.wake, until)
            return state, do._replace(order=held.order, main=held.main, slow=held.slow, wake=wake)
        return state, do


DOUBLE = Double(
    "controller-waits-for-store",
    Role.CONTROLLER,
    "X9",
    bug="What is written has to be written before anything else is done.",
    differs="Holds its outputs for 1.2 s whenever its store changes.",
    make=WaitsForStore,
    shown_by="first-look",
)
