"""A watchdog that goes by the time of day."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role

SET, BACK = 66_000_000, 3_600_000_000
"""When the clock is set (us), and how far back."""


class WallClock(DoubledReceiver):
    """What was to run out after the setting of the clock runs out an hour later."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            if device.fresh and device.last_good < SET <= device.expiry < BACK:
                device.expiry += BACK
        return state, self.out(state)


DOUBLE = Double(
    "watchdog-wall-clock",
    Role.RECEIVER,
    "T5",
    bug="A timeout goes by the time of day, and somebody sets the clock.",
    differs="Goes by a clock that is set back an hour 66 s after power-up.",
    make=WallClock,
    shown_by="link-lost-at-the-roll-over",
)
