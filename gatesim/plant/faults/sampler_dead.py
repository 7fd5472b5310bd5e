"""A transmitter's scans have stopped while its check-ins go on."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class SamplerDead(Held):
    """A transmitter's scans have stopped while its check-ins go on."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "sampler-dead"
    title: ClassVar[str] = "A transmitter's scans have stopped while its check-ins go on"
    row: ClassVar[tuple[str, ...]] = ("C16",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Frames come punctually, say all is well, and their count of scans stands still."
    must: ClassVar[str] = "Take a check-in for alive only when it carries a newer scan."
    missed_by: ClassVar[str] = "The check-in is sent from a timer and counts as a heartbeat."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.ScanClock(node.name),))


FAULT = SamplerDead()
