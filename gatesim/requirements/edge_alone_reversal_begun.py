"""Reversal begun in time after contact, by the edge's path alone."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.plant.site import Profile
from gatesim.requirements.contacts import ContactState, ReversalBegun
from gatesim.requirements.profiles import REVERSAL_TIME, two_means
from gatesim.requirements.requirement import Limit, Run, Source


class EdgeAloneReversalBegun(ReversalBegun):
    """With the force sensing held silent.  "Rescued by the other means" is no pass of this.

    In the profile *proved force* protection by one means is allowed, and this does not stand.
    """

    id: ClassVar[str] = "edge-alone-reversal-begun"
    sentence: ClassVar[str] = "After a contact, the edge's path alone begins the reversal in time."
    run: ClassVar[Run] = Run.EDGE_ALONE
    source: ClassVar[Source] = REVERSAL_TIME

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s; a figure for garage doors."""
        return two_means(2_000_000, REVERSAL_TIME)

    def excluded(self, state: ContactState, at: int, event: e.ContactBegan) -> str:
        """A place that no edge covers."""
        return "" if event.edge else "no edge covers the place of the contact"


REQUIREMENT = EdgeAloneReversalBegun()
