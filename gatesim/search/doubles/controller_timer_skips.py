"""A controller whose timer takes a way of its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import Guard, Mode, Trigger
from gatesim.search.doubles.base import Double, Role


class TimerSkips(ReferenceController):
    """With an automatic command in hand, what would refuse it is not asked."""

    def __init__(self) -> None:
        super().__init__(by_library=False)
        self._guarded, self._fire = self._fire, self._skipping

    def _skipping(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> Any:
        automatic = holds(Guard.AUTOMATIC)
        if automatic and trigger in (Trigger.PRESSED_WAITING, Trigger.TEST_FAILED) and mode is not Mode.REST:
            return None
        return self._guarded(mode, trigger, lambda guard: (automatic and guard is Guard.MAY_START) or holds(guard))


DOUBLE = Double(
    "controller-timer-skips",
    Role.CONTROLLER,
    "L5",
    bug="The timer of automatic closing takes a way around the guards of a command.",
    differs="Starts an automatic closing although an edge is pressed or a device is out of order.",
    make=TimerSkips,
    shown_by="pressed-in-the-warning",
)
