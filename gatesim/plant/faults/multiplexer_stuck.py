"""The multiplexer is stuck on the reference channel."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class MultiplexerStuck(Value):
    """The multiplexer is stuck on the reference channel."""

    code: int = 512
    """The reference's code: half of full scale, rounded up."""

    id: ClassVar[str] = "multiplexer-stuck"
    title: ClassVar[str] = "The multiplexer is stuck on the reference channel"
    row: ClassVar[tuple[str, ...]] = ("A2",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = (
        "Every loop reads the reference's code, which where the termination equals it is a perfect reading at rest."
    )
    must: ClassVar[str] = "Read a reference that no healthy loop can read; where there is none, only a press shows it."
    missed_by: ClassVar[str] = "A channel does not prove which channel it is."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(
            site,
            lambda node, edges: tuple([w.Code(edge.name) for edge in edges]),
            lambda node: replace(self, code=1 << (node.converter_bits - 1)),
        )

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.code


FAULT = MultiplexerStuck()
