"""Look-alike frames take the place of the real ones."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy, Level
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class Masquerade(Value):
    """Look-alike frames take the place of the real ones."""

    id: ClassVar[str] = "masquerade"
    title: ClassVar[str] = "Look-alike frames take the place of the real ones"
    row: ClassVar[tuple[str, ...]] = ("C7",)
    found: ClassVar[FoundBy] = FoundBy.NEVER
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "Every frame passes all checks and always says that all is well."
    must: ClassVar[str] = "Nothing in a plain frame shows it: only authentication would, and this link has none."
    missed_by: ClassVar[str] = "A check sum is taken for a proof of origin."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Heard(node.name),))

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return (message._replace(levels=(Level.REST,) * len(message.levels), low=False, critical=False),)


FAULT = Masquerade()
