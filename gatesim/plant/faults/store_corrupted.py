"""What the non-volatile store holds is damaged."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class StoreCorrupted(Value):
    """What the non-volatile store holds is damaged."""

    id: ClassVar[str] = "store-corrupted"
    title: ClassVar[str] = "What the non-volatile store holds is damaged"
    row: ClassVar[tuple[str, ...]] = ("P8",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "What is read at the next power-up is not what was written."
    must: ClassVar[str] = "Check a sum over what is kept; what can't be read is a lockout, never a clean slate."
    missed_by: ClassVar[str] = "Defaults are taken, with everything cleared."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("store", w.Stored())

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value[:-1] + bytes([value[-1] ^ 0x15]) if value else value


FAULT = StoreCorrupted()
