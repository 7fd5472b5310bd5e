"""A watchdog that is started by the motion."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role
from gatesim.units import FOREVER


class OnlyMoving(DoubledReceiver):
    """The order starts it."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        began = seen.moving and not state.moving
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            if not seen.moving and device.fresh:
                device.expiry = FOREVER
            elif began and device.heard:
                device.fresh, device.expiry = True, now + state.settings.watchdog_in_motion
        return state, self.out(state)


DOUBLE = Double(
    "watchdog-only-moving",
    Role.RECEIVER,
    "T9",
    bug="The watchdog runs only while the gate moves, so that a stale \"all is well\" from before starts it.",
    differs="Lets nothing expire at rest, and takes what was heard for fresh when the motion begins.",
    make=OnlyMoving,
    shown_by="stale-at-rest",
)
