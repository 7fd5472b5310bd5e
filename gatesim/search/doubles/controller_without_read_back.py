"""A controller that reads nothing back."""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class WithoutReadBack(DoubledController):
    """Takes the contacts to be as ordered."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        done = state.done
        return seen._replace(
            opening_contactor=done.order is Direction.OPENING,
            closing_contactor=done.order is Direction.CLOSING,
            main_closed=done.main,
        )


DOUBLE = Double(
    "controller-without-read-back",
    Role.CONTROLLER,
    "X1",
    bug="Contacts are taken to be as ordered, so the first weld lies hidden until the second.",
    differs="Takes contactors and main shut-off for as ordered.",
    make=WithoutReadBack,
    shown_by="main-shut-off-welded",
)
