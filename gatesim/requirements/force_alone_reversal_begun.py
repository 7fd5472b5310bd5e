"""Reversal begun in time after contact, by the force sensing alone."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.plant.site import Profile, Site
from gatesim.requirements.contacts import ContactState, ReversalBegun
from gatesim.requirements.profiles import REVERSAL_TIME, two_means
from gatesim.requirements.requirement import Limit, Run, Source
from gatesim.units import us


class ForceAloneReversalBegun(ReversalBegun):
    """With the strips of all edges held silent.  Contacts inside the declared blind zones are not judged: the blind
    time after a
    start, the blind distance before the end stop, and zones where the site does not count the force sensing as a means.
    """

    id: ClassVar[str] = "force-alone-reversal-begun"
    sentence: ClassVar[str] = (
        "After a contact outside its blind zones, the force sensing alone begins the reversal in time."
    )
    run: ClassVar[Run] = Run.FORCE_ALONE
    source: ClassVar[Source] = REVERSAL_TIME

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s; a figure for garage doors."""
        return two_means(2_000_000, REVERSAL_TIME)

    def excluded(self, state: ContactState, at: int, event: e.ContactBegan) -> str:
        """Declared blind zones."""
        if event.blind:
            return "the contact lies in the declared blind zone before the end stop"
        if at - state.moving_since < state.site.drive.blind_after_start:
            return "the contact lies in the declared blind time after a start"
        return "" if _counted(state.site, event) else "the site does not count the force sensing as a means there"


def _counted(site: Site, event: e.ContactBegan) -> bool:
    x = us(event.x)
    there = [
        zone
        for zone in site.zones
        if (zone.leaf, zone.direction) == (event.leaf, event.direction) and us(zone.start) - 1 <= x <= us(zone.end) + 1
    ]
    return not there or any(zone.force_sensing for zone in there)


REQUIREMENT = ForceAloneReversalBegun()
