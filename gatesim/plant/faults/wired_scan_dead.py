"""The scans of a wired input have stopped."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import can_be_asked, edges_of, guard_of
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class WiredScanDead(Held):
    """The scans of a wired input have stopped."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "wired-scan-dead"
    title: ClassVar[str] = "The scans of a wired input have stopped"
    row: ClassVar[tuple[str, ...]] = ("C16", "T9")
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "The input goes on reporting the last level and answers no test."
    must: ClassVar[str] = "Ask for a fresh scan before each move, and refuse the start without one."
    missed_by: ClassVar[str] = "The last report is taken for a present one."

    def places(self, site: Site) -> tuple[Place, ...]:
        return tuple(
            [
                Place(node.name, (w.ScanClock(node.name),), guard_of(site, edges_of(site, node.name)))
                for node in site.wired_inputs
                if can_be_asked(node) and edges_of(site, node.name)
            ]
        )


FAULT = WiredScanDead()
