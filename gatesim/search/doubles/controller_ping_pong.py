"""A controller that goes back and forth."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import Guard, Mode, Trigger
from gatesim.search.doubles.base import Double, Role


class PingPong(ReferenceController):
    """The guard of the second demand never holds."""

    def __init__(self) -> None:
        super().__init__(by_library=False)
        self._counting, self._fire = self._fire, self._not_counting

    def _not_counting(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> Any:
        return self._counting(mode, trigger, lambda guard: guard is not Guard.SECOND and holds(guard))


DOUBLE = Double(
    "controller-ping-pong",
    Role.CONTROLLER,
    "L2",
    bug="Every contact is the first one, so the gate goes back and forth without end.",
    differs="Never counts a demand as the second.",
    make=PingPong,
    shown_by="second-demand",
)
