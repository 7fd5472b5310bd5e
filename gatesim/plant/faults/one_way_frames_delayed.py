"""Frames of a transmitter that can't be asked arrive punctually but old."""

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
class OneWayFramesDelayed(Late):
    """Frames of a transmitter that can't be asked arrive punctually but old."""

    late: Duration = 1_500_000

    id: ClassVar[str] = "one-way-frames-delayed"
    title: ClassVar[str] = "Frames of a transmitter that can't be asked arrive punctually but old"
    row: ClassVar[tuple[str, ...]] = ("C5", "C13")
    found: ClassVar[FoundBy] = FoundBy.NEVER
    shows: ClassVar[str] = "Every frame comes late by the same time, and nothing can ask how old it is."
    must: ClassVar[str] = "Nothing shows it: a one-way link proves no age, and the plan says so."
    missed_by: ClassVar[str] = "The watchdog's limit is taken for the age of the data."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site,
            lambda node: (w.Uplink(node.name),),
            lambda node: replace(self, late=site.controller.test_time * 3 // 2),
            lambda node: not can_be_asked(node),
        )

    def delay(self, count: int) -> float:
        return self.late


FAULT = OneWayFramesDelayed()
