"""What the requirements on forces share: how long the contact force stays above a level, and the limit of its peak."""

from __future__ import annotations

from typing import NamedTuple

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.site import Profile, Site
from gatesim.units import parse_any

CRUSH_GAP = 500_000
"""A gap (um) below this can crush (dhf on EN 12453)."""
CRUSH, FREE = 400_000, 1_400_000
"""Peak forces (mN) in such a gap and in wider ones (dhf on EN 12453)."""


def peak_limit(site: Site) -> int | None:
    """The limit of the peak force in a gap that can crush (mN): the profile's or the site's own; None: the profile has
    none.  In wider gaps the greater of it and FREE holds."""
    if site.limits is not Profile.PROVED_FORCE:
        return None
    own = [parse_any(override.limit).whole for override in site.limit_overrides if override.requirement == "peak-force"]
    return own[-1] if own else CRUSH


class Above(NamedTuple):
    """An obstruction pressed with more than a level, since when."""

    obstruction: str
    at: int
    number: int


def above(now_above: tuple[Above, ...], level: int, number: int, at: int, event: Event) -> tuple[Above, ...]:
    """Who is pressed with more than a level (mN) after an event."""
    if isinstance(event, e.ForceRose) and round(event.level) == level:
        if all(one.obstruction != event.obstruction for one in now_above):
            return (*now_above, Above(event.obstruction, at, number))
    elif isinstance(event, e.ContactEnded) or (isinstance(event, e.ForceFell) and round(event.level) == level):
        return tuple(one for one in now_above if one.obstruction != event.obstruction)
    return now_above


SEES: tuple[type, ...] = (e.ForceRose, e.ForceFell, e.ContactEnded)
"""What `above` needs."""
