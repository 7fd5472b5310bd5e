"""What the requirements on forces share: how long the contact force stays above a level."""

from __future__ import annotations

from typing import NamedTuple

from gatesim import events as e
from gatesim.events import Event


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
