"""Two transmitters send under one identity."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy, Level
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class IdentityDoubled(Value):
    """Two transmitters send under one identity."""

    id: ClassVar[str] = "identity-doubled"
    title: ClassVar[str] = "Two transmitters send under one identity"
    row: ClassVar[tuple[str, ...]] = ("C17",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "To each frame comes a second of another session, which says that all is well."
    must: ClassVar[str] = "Take alternating sessions for a fault: nothing is fresh until one of them goes on alone."
    missed_by: ClassVar[str] = "The last writer wins, and the healthy one hides the pressed one."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Heard(node.name),))

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        rest = (Level.REST,) * len(message.levels)
        return (message, message._replace(session=message.session + 1, levels=rest, low=False, critical=False))


FAULT = IdentityDoubled()
