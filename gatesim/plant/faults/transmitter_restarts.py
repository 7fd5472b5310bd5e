"""A transmitter starts anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.logic.contract import Frame
from gatesim.plant.part import state
from gatesim.plant.site import Site


@state
class Before:
    """The first frame after the restart, as it would have been without one."""

    first: Frame | None


@dataclass(frozen=True)
class TransmitterRestarts(Value):
    """A transmitter starts anew."""

    counter_bits: int = 8

    id: ClassVar[str] = "transmitter-restarts"
    title: ClassVar[str] = "A transmitter starts anew"
    row: ClassVar[tuple[str, ...]] = ("C10", "X8")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "A new session begins, with counters from zero."
    must: ClassVar[str] = "Count the link as lost until a second good frame of the new session has come."
    missed_by: ClassVar[str] = "Any jump backward is accepted, which lets replayed frames in."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site,
            lambda node: (w.Uplink(node.name),),
            lambda node: replace(self, counter_bits=site.receiver.counter_bits if site.receiver else 8),
        )

    def initial(self) -> Before:
        return Before(None)

    def relays(self, state: Before, message: Any, now: float) -> tuple[Any, ...]:
        if state.first is None:
            state.first = message
        first = state.first
        return (
            message._replace(
                session=message.session + 1,
                counter=(message.counter - first.counter) % (1 << self.counter_bits),
                samples=message.samples - first.samples + 1,
            ),
        )


FAULT = TransmitterRestarts()
