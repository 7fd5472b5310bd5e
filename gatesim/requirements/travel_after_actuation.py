"""Travel after actuation within the edge's overtravel, by the gate as a whole."""

from __future__ import annotations

from typing import ClassVar

from gatesim.requirements.contacts import TravelAfterActuation
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source


class WholeTravel(TravelAfterActuation):
    """By whichever means comes first.  The figure is the edge's own overtravel."""

    id: ClassVar[str] = "travel-after-actuation"
    sentence: ClassVar[str] = "After an edge has actuated, the leaf stops within the overtravel that the edge has left."
    source: ClassVar[Source] = OURS


REQUIREMENT = WholeTravel()
