"""The reset button is stuck pressed."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import Command, FoundBy, Origin
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class ResetStuck(Value):
    """The reset button is stuck pressed."""

    id: ClassVar[str] = "reset-stuck"
    title: ClassVar[str] = "The reset button is stuck pressed"
    row: ClassVar[tuple[str, ...]] = ("L4",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "Reset reads as pressed for ever."
    must: ClassVar[str] = "Count a reset only as press and release within a time."
    missed_by: ClassVar[str] = "The level resets, so every lockout clears itself."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("reset", w.Controls())

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value | {(Command.RESET, Origin.WIRED)}


FAULT = ResetStuck()
