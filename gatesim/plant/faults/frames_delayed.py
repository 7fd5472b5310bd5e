"""Frames arrive punctually but old."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters, can_be_asked
from gatesim.plant.faults.shapes import Late
from gatesim.plant.site import Site
from gatesim.units import Duration


@dataclass(frozen=True)
class FramesDelayed(Late):
    """Frames arrive punctually but old."""

    late: Duration = 1_500_000

    id: ClassVar[str] = "frames-delayed"
    title: ClassVar[str] = "Frames arrive punctually but old"
    row: ClassVar[tuple[str, ...]] = ("C5",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "Every frame comes late by the same time, so that arrivals keep their rhythm."
    must: ClassVar[str] = "Ask with a number before a move and wait for its echo; arrival times prove no age."
    missed_by: ClassVar[str] = "The watchdog looks at arrivals only."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site,
            lambda node: (w.Uplink(node.name),),
            lambda node: replace(self, late=site.controller.test_time * 3 // 2),
            can_be_asked,
        )

    def delay(self, count: int) -> float:
        return self.late


FAULT = FramesDelayed()
