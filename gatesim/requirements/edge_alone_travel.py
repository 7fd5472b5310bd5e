"""Travel after actuation within the edge's overtravel, by the edge's path alone."""

from __future__ import annotations

from typing import ClassVar

from gatesim.plant.site import Profile
from gatesim.requirements.contacts import TravelAfterActuation
from gatesim.requirements.profiles import OURS, two_means
from gatesim.requirements.requirement import Limit, Run, Source


class EdgeAloneTravel(TravelAfterActuation):
    """With the force sensing held silent.  The figure is the edge's own overtravel."""

    id: ClassVar[str] = "edge-alone-travel-after-actuation"
    sentence: ClassVar[str] = "By the edge's path alone, the leaf stops within the overtravel that the edge has left."
    run: ClassVar[Run] = Run.EDGE_ALONE
    source: ClassVar[Source] = OURS

    def limits(self) -> dict[Profile, Limit | None]:
        """The edge's own figure, where each means is judged for itself."""
        return two_means(None, OURS)


REQUIREMENT = EdgeAloneTravel()
