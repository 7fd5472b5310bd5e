"""A receiver for which a healthy link is the right link."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Swapped(DoubledReceiver):
    """The first and the last device are exchanged."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, do = super().step(state, seen, now)
        levels = [one.level for one in do.reports]
        reports = [one._replace(level=level) for one, level in zip(do.reports, reversed(levels), strict=True)]
        return state, do._replace(reports=tuple(reports))


DOUBLE = Double(
    "receiver-swapped",
    Role.RECEIVER,
    "C18",
    bug="After service two nodes hang on each other's edges, and the link is healthy all the same.",
    differs="Tells the levels of its first device for those of its last one, and the other way round.",
    make=Swapped,
    shown_by="first-look",
)
