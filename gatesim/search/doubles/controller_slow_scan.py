"""A controller whose task overruns."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role
from gatesim.units import FOREVER

LATE = 1_500_000
"""How old a report is when it is seen (us)."""


class SlowScan(DoubledController):
    """The picture of the devices is renewed now and then."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        if not state.note or now >= state.note[0] + LATE:
            state.note = (now, seen.reports, seen.force)
        return seen._replace(reports=state.note[1], force=state.note[2])

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        due = state.note[0] + LATE
        behind = (seen.reports, seen.force) != state.note[1:]
        return state, (do._replace(wake=min(do.wake or FOREVER, due)) if behind and due > now else do)


DOUBLE = Double(
    "controller-slow-scan",
    Role.CONTROLLER,
    "T10",
    bug="The control task is late under load, and was tested without any.",
    differs="Sees what its edges and its force sensing report 1.5 s late.",
    make=SlowScan,
    shown_by="first-look",
)
