"""A control is stuck pressed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import Command, FoundBy, Guard, Origin
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site

_BUTTONS = {
    Origin.WIRED: (Command.OPEN, Command.CLOSE, Command.STOP, Command.HOLD_OPEN, Command.HOLD_CLOSE),
    Origin.RADIO: (Command.OPEN, Command.CLOSE, Command.STOP),
    Origin.AUTOMATIC: (Command.OPEN, Command.CLOSE),
}
"""Controls by where they are."""


@dataclass(frozen=True)
class ButtonStuck(Value):
    """A control is stuck pressed."""

    command: Command = Command.HOLD_CLOSE
    origin: Origin = Origin.WIRED

    id: ClassVar[str] = "button-stuck"
    title: ClassVar[str] = "A control is stuck pressed"
    row: ClassVar[tuple[str, ...]] = ("L14",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "The control reads as pressed without a hand on it."
    must: ClassVar[str] = (
        "Count a command only after a release, after power, mode changes and stops; a hand sees the rest."
    )
    missed_by: ClassVar[str] = "The level is believed, and the leaf moves again by itself."

    def places(self, site: Site) -> tuple[Place, ...]:
        return tuple(
            [
                Place(
                    f"{command.value} {origin.value}",
                    (w.Controls(),),
                    Guard.DRIVE,
                    replace(self, command=command, origin=origin),
                )
                for origin in Origin
                for command in _BUTTONS[origin]
            ]
        )

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value | {(self.command, self.origin)}


FAULT = ButtonStuck()
