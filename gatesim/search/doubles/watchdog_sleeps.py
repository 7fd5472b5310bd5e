"""A watchdog whose timer stops in sleep."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Sleeps(DoubledReceiver):
    """At rest no time passes for it."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        if not state.moving:
            for device in state.devices:
                device.expiry = max(device.expiry, now + state.settings.watchdog_in_motion)
        return super().step(state, seen, now)


DOUBLE = Double(
    "watchdog-sleeps",
    Role.RECEIVER,
    "T6",
    bug="The timer stands still in sleep, and the time slept is not added.",
    differs="Counts no silence while the gate is at rest.",
    make=Sleeps,
    shown_by="stale-at-rest",
)
