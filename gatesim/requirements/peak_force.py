"""The peak of the contact force."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements.force_level import CRUSH, CRUSH_GAP, FREE
from gatesim.requirements.monitor import Monitor, Tally, at_most
from gatesim.requirements.profiles import FORCES, proved_force
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure
from gatesim.units import us


@state
class PeakState:
    """What came so far."""

    limit: int | None
    tally: Tally = owned()


class PeakForce(Monitor):
    """400 N where the gap is below 500 mm, 1400 N otherwise.  A limit given by the site or a scenario stands for the
    gap below 500 mm;
    in wider gaps the greater of it and 1400 N holds.  A computed force is no proof: it is proved by measurement at the
    gate.
    """

    id: ClassVar[str] = "peak-force"
    sentence: ClassVar[str] = "The peak of the contact force stays within the limit for the gap."
    quantity: ClassVar[str] = "peak force"
    measure: ClassVar[Measure] = Measure.MN
    failures: ClassVar[tuple[str, ...]] = ("peak too high",)
    source: ClassVar[Source] = FORCES
    sees: ClassVar[tuple[type, ...]] = (e.ForcePeaked,)
    needs: ClassVar[tuple[type, ...]] = (e.ForcePeaked,)
    idle: ClassVar[str] = "nothing was pressed"

    def limits(self) -> dict[Profile, Limit | None]:
        """400 N, in gaps below 500 mm."""
        return proved_force(CRUSH, FORCES)

    def begin(self, limit: int | None, site: Site) -> PeakState:
        """Nothing touched."""
        return PeakState(limit, Tally())

    def see(self, state: PeakState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.ForcePeaked):
            limit = state.limit
            if limit is not None and us(event.gap) >= CRUSH_GAP:
                limit = max(limit, FREE)
            state.tally.take(at_most(us(event.force), limit, "peak too high", at, (number,)))


REQUIREMENT = PeakForce()
