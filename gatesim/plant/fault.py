"""The contract of a fault: it sits on a wire and changes what passes, nothing else.

No device, logic or requirement knows of faults.  A kind is one file in `plant/faults/`; it says at which devices of a
site it can sit, on which wires, and how it can be found at all.
"""

from __future__ import annotations

from typing import Any, ClassVar, NamedTuple, Protocol

from gatesim.events import FoundBy, Guard, Stimulus
from gatesim.plant.part import Wire
from gatesim.units import FOREVER


class Place(NamedTuple):
    """One spot of a site where a fault kind can sit."""

    device: str
    wires: tuple[Wire, ...]
    guard: Guard
    fault: Fault | None = None
    """The fault with the figures that fit this device (a voltage between its own limits, say); None: as it is."""
    as_press: bool = False
    """It reads as a press here, although the kind does not elsewhere."""


class Fault(Protocol):
    """One fault with its parameters (a frozen value)."""

    id: ClassVar[str]
    title: ClassVar[str]
    found: ClassVar[FoundBy]
    acts_on_begin: ClassVar[bool]
    as_press: ClassVar[bool]
    """It reads as a press, so that correct logic answers it as a demand first."""
    shows_late: ClassVar[str]
    """Why it may lie hidden for a while although it is found; "" where it does not."""

    def places(self, site: Any) -> tuple[Place, ...]:
        """Every place of this site where the fault can sit."""

    def initial(self) -> Any:
        """The fault's own changing state (with `copy()`), or None."""

    def passes(self, state: Any, value: Any, now: float) -> Any:
        """What a level wire carries instead of `value`."""

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        """What a message wire carries instead of one message."""

    def tick(self, state: Any, now: float) -> tuple[Any, ...]:
        """Live through the deadline given by `deadline`; messages to inject (message wires only)."""

    def deadline(self, state: Any, now: float) -> float:
        """The next instant at which what passes changes although nothing is sent."""


class Steady:
    """Base for kinds without state of their own: override `passes` or `relays`."""

    acts_on_begin: ClassVar[bool] = True
    as_press: ClassVar[bool] = False
    shows_late: ClassVar[str] = ""

    def initial(self) -> Any:
        return None

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return (message,)

    def tick(self, state: Any, now: float) -> tuple[Any, ...]:
        return ()

    def deadline(self, state: Any, now: float) -> float:
        return FOREVER


class FaultBegins(NamedTuple):
    """A fault begins on one wire.  With `guard` None nothing is said of it in the trace (a means held silent in a
    twin run)."""

    key: str
    fault: Fault
    wire: Wire
    device: str
    guard: Guard | None


class FaultEnds(NamedTuple):
    """The fault of this key ends, on all its wires."""

    key: str


__all__ = ["Fault", "FaultBegins", "FaultEnds", "Place", "Steady", "Stimulus"]
