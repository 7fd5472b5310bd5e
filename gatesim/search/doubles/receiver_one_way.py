"""A receiver that judges a link by what it sends."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class OneWay(DoubledReceiver):
    """What can be told is there."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, do = super().step(state, seen, now)
        return state, do._replace(reports=tuple([one._replace(fresh=one.heard) for one in do.reports]))


DOUBLE = Double(
    "receiver-one-way",
    Role.RECEIVER,
    "C13",
    bug="The way down is whole, and is taken for proof of the way up.",
    differs="Takes a device for fresh as long as it can send to it.",
    make=OneWay,
    shown_by="lost-link-closing",
)
