"""A stranger's frames mix with a healthy link."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy, Level
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters, edges_of
from gatesim.plant.faults.shapes import Value
from gatesim.plant.logic.contract import Frame
from gatesim.plant.part import state
from gatesim.plant.site import Site, Transmitter
from gatesim.units import Duration


@state
class Stranger:
    """How many frames were sent, and when the next one is (negative: not begun)."""

    sent: int
    due: float


@dataclass(frozen=True)
class ForeignFramesInserted(Value):
    """A stranger's frames mix with a healthy link."""

    identity: int = 888_888
    loops: int = 1
    every: Duration = 500_000

    id: ClassVar[str] = "foreign-frames-inserted"
    title: ClassVar[str] = "A stranger's frames mix with a healthy link"
    row: ClassVar[tuple[str, ...]] = ("C6",)
    found: ClassVar[FoundBy] = FoundBy.NEVER
    shows: ClassVar[str] = (
        "Well-made frames that say all is well come from an identity that the receiver does not know."
    )
    must: ClassVar[str] = "Discard and count them; they prove nothing and re-arm nothing."
    missed_by: ClassVar[str] = "The filter looks at kind and length only, and the stranger keeps the watchdog alive."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),), lambda node: self._fitted(site, node))

    def _fitted(self, site: Site, node: Transmitter) -> ForeignFramesInserted:
        """An identity of nobody here, with as many loops as the node."""
        stranger = max(one.identity for one in site.transmitters) + 2
        return replace(self, identity=stranger, loops=len(edges_of(site, node.name)))

    def initial(self) -> Stranger:
        return Stranger(0, -1.0)

    def tick(self, state: Stranger, now: float) -> tuple[Any, ...]:
        if state.due > now:
            return ()
        state.due, state.sent = now + self.every, state.sent + 1
        levels = (Level.REST,) * self.loops
        return (Frame(self.identity, 1, state.sent % 256, state.sent * 10, levels, False, False, 0),)

    def deadline(self, state: Stranger, now: float) -> float:
        return state.due if state.due >= 0 else now


FAULT = ForeignFramesInserted()
