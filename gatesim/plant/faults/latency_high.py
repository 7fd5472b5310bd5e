"""Retries eat up the reaction time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Late
from gatesim.plant.site import Site
from gatesim.units import Duration


@dataclass(frozen=True)
class LatencyHigh(Late):
    """Retries eat up the reaction time."""

    late: Duration = 120_000

    id: ClassVar[str] = "latency-high"
    title: ClassVar[str] = "Retries eat up the reaction time"
    row: ClassVar[tuple[str, ...]] = ("C19", "T11")
    found: ClassVar[FoundBy] = FoundBy.NEVER
    shows: ClassVar[str] = "Every frame is delivered, each a little late."
    must: ClassVar[str] = (
        "Count the age of a frame, its retries included, in the budget; nothing in service measures it."
    )
    missed_by: ClassVar[str] = "Nothing is lost, so the loss counter never moves."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),))

    def delay(self, count: int) -> float:
        return self.late


FAULT = LatencyHigh()
