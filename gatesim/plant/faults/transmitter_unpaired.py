"""A transmitter that is not paired has been fitted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class TransmitterUnpaired(Value):
    """A transmitter that is not paired has been fitted."""

    identity: int = 999_999

    id: ClassVar[str] = "transmitter-unpaired"
    title: ClassVar[str] = "A transmitter that is not paired has been fitted"
    row: ClassVar[tuple[str, ...]] = ("C8", "L11")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Frames come on time, under an identity that the receiver does not know."
    must: ClassVar[str] = "Discard what is not of a paired identity; the paired one is silent, and that is found."
    missed_by: ClassVar[str] = "Any identity is accepted."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site,
            lambda node: (w.Uplink(node.name),),
            lambda node: replace(self, identity=max(one.identity for one in site.transmitters) + 1),
        )

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return (message._replace(sender=self.identity),)


FAULT = TransmitterUnpaired()
