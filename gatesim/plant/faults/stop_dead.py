"""A stop button does nothing."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import Command, FoundBy, Origin
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class StopDead(Value):
    """A stop button does nothing."""

    id: ClassVar[str] = "stop-dead"
    title: ClassVar[str] = "A stop button does nothing"
    row: ClassVar[tuple[str, ...]] = ("L9", "H4")
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "A press of stop never reaches the controller, from wherever it comes."
    must: ClassVar[str] = "Nothing in service shows an open contact that should close: stop is pressed in every test."
    missed_by: ClassVar[str] = "A control counts as good because it was good once."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("stop", w.Controls())

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value - {(Command.STOP, origin) for origin in Origin}


FAULT = StopDead()
