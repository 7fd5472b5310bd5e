"""The force sensing never trips although its self-test passes."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_force
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class ForceSensingMute(Held):
    """The force sensing never trips although its self-test passes."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "force-sensing-mute"
    title: ClassVar[str] = "The force sensing never trips although its self-test passes"
    row: ClassVar[tuple[str, ...]] = ("X7", "M11")
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "The output stays off, and the test knows nothing of it."
    must: ClassVar[str] = (
        "Nothing in service shows it: a trip is provoked in the press test, with a block and never with a person."
    )
    missed_by: ClassVar[str] = "A self-test that does not reach the output is taken for one that does."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_force(site, w.ForceTrip)


FAULT = ForceSensingMute()
