"""The force sensing feels too little."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_force
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Share


@dataclass(frozen=True)
class ForceTransducerLow(Value):
    """The force sensing feels too little."""

    gain: Share = 0.3
    """Sensed force per real force."""

    id: ClassVar[str] = "force-transducer-low"
    title: ClassVar[str] = "The force sensing feels too little"
    row: ClassVar[tuple[str, ...]] = ("M10",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "The sensed force is a part of the real one; the self-test still passes."
    must: ClassVar[str] = "Nothing in service shows it: the force is measured at the leaf, and recorded."
    missed_by: ClassVar[str] = "The self-test is taken for a calibration."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_force(site, w.ForceGain)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value * self.gain


FAULT = ForceTransducerLow()
