"""Reversal begun in time after contact, by the gate as a whole."""

from __future__ import annotations

from typing import ClassVar

from gatesim.plant.site import Profile
from gatesim.requirements.contacts import ReversalBegun
from gatesim.requirements.profiles import OURS, REVERSAL_TIME, proved_force, two_means
from gatesim.requirements.requirement import Limit, Source


class WholeReversalBegun(ReversalBegun):
    """By whichever means comes first.  Two seconds is not protection: at 0.3 m/s it is 0.6 m of further push; see the
    travel after
    actuation and the forces.
    """

    id: ClassVar[str] = "reversal-begun"
    sentence: ClassVar[str] = "After a contact, the gate begins the reversal in time."
    source: ClassVar[Source] = REVERSAL_TIME

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s; a figure for garage doors, and taken over (ours) where the forces are what counts."""
        return two_means(2_000_000, REVERSAL_TIME) | proved_force(2_000_000, OURS)


REQUIREMENT = WholeReversalBegun()
