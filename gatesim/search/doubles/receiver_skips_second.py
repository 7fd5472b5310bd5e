"""A receiver that never looks at its second device."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen, Report
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class SkipsSecond(DoubledReceiver):
    """What is not polled is in order."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, do = super().step(state, seen, now)
        first = state.settings.paired[0].edges
        reports = [
            one if one.edge in first
            else Report(one.edge, Level.REST, True, True, False, False, seen.ask, one.asked)
            for one in do.reports
        ]
        return state, do._replace(reports=tuple(reports))


DOUBLE = Double(
    "receiver-skips-second",
    Role.RECEIVER,
    "L11",
    bug="A device that was not configured counts as healthy.",
    differs="Reports every device but the first as heard, fresh, tested and at rest.",
    make=SkipsSecond,
    shown_by="lost-link-opening",
)
