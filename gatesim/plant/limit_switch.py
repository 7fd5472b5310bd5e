"""The two limit switches."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import LeafName, LimitLeft, LimitReached, Side, Stimulus
from gatesim.plant.leaves import leaves, named, telling
from gatesim.plant.motion import Marks, marks, rest, settle
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import LimitSwitch, Motion


@state
class SwitchState:
    """The place where it closes, and whether the leaf has passed it."""

    marks: Marks


@dataclass(frozen=True, slots=True)
class EndSwitch:
    """A limit switch: closed while the leaf is within `lead` of its end stop."""

    side: Side
    travel: float
    lead: float
    leaf_at: float
    leaf: LeafName = LeafName.FIRST
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 70
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return named(self.leaf.of, self.side.value)

    def reads(self) -> tuple[Wire, ...]:
        return (Motion(self.leaf.of),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((LimitSwitch(self.name), self.initial().marks.passed > 0),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> SwitchState:
        sign, place = (1, self.travel - self.lead) if self.side is Side.OPEN else (-1, self.lead)
        return SwitchState(marks(sign, (place,), rest(0.0, self.leaf_at), 0.0))

    def react(self, state: SwitchState, now: float, seen: list[Any], out: Out) -> float:
        was = state.marks.passed
        state.marks = settle(state.marks, seen[0], now)
        if state.marks.passed != was:
            closed = state.marks.passed > 0
            telling(out, self.leaf).event(LimitReached(self.side) if closed else LimitLeft(self.side))
            out.put(0, closed)
        return state.marks.due


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """Both switches of each leaf."""
    for one in leaves(site):
        for side in Side:
            yield EndSwitch(side, one.gate.travel, one.drive.limit_lead, one.leaf_at, one.leaf)
