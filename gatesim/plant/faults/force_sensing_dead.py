"""The force sensing is dead, and its self-test says so."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_force
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class ForceSensingDead(Held):
    """The force sensing is dead, and its self-test says so."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "force-sensing-dead"
    title: ClassVar[str] = "The force sensing is dead, and its self-test says so"
    row: ClassVar[tuple[str, ...]] = ("X7",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "It never trips and does not answer its test."
    must: ClassVar[str] = "Test it before and during each move, as any other device."
    missed_by: ClassVar[str] = "The force sensing counts as part of the drive and is not tested."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_force(site, w.ForceTrip, w.ForceReady)


FAULT = ForceSensingDead()
