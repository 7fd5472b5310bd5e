"""A watchdog whose timer stops in sleep."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Sleeps(DoubledReceiver):
    """At rest no time passes for it."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, do = super().step(state, seen, now)
        if not seen.moving:
            for device in state.devices:
                device.expiry = max(device.expiry, now + state.settings.watchdog_at_rest)
            do = self.out(state)._replace(wake=None)
        return state, do


DOUBLE = Double(
    "watchdog-sleeps",
    Role.RECEIVER,
    "T6",
    bug="The timer stands still in sleep, and the time slept is not added.",
    differs="Counts no silence while the gate is at rest.",
    make=Sleeps,
    shown_by="",
)
