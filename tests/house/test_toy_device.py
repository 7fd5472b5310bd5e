"""A device of a new kind is one file from anywhere: nothing in the package knows of it, and everything carries it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, NamedTuple

from gatesim.events import Direction, FoundBy, Guard, PushLeaf
from gatesim.plant.build import build
from gatesim.plant.fault import FaultBegins, Steady
from gatesim.plant.part import Phase, Wire, state
from gatesim.plant.wires import Motion
from gatesim.plant.world import World, instant
from gatesim.run import default_roles
from gatesim.scenario.read import read_site
from gatesim.trace import line, register
from gatesim.units import FOREVER

SITE = Path(__file__).parents[2] / "scenarios" / "sites" / "mill-lane.site.yaml"


@dataclass(frozen=True, slots=True)
class BellLine(Wire):
    """bool, the bell's wire."""

    title: ClassVar[str] = "bell line"


@register
class BellRang(NamedTuple):
    """The bell rang."""

    times: int


@state
class Rung:
    times: int = 0
    moving: bool = False


@dataclass(frozen=True, slots=True)
class Contact:
    """Closes while the leaf moves."""

    name: str = "bell contact"
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 99
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (Motion(),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((BellLine(), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Rung:
        return Rung()

    def react(self, rung: Rung, now: float, seen: list[Any], out: Any) -> float:
        out.put(0, any(piece.v or piece.a for piece in seen[0]))
        return FOREVER


@dataclass(frozen=True, slots=True)
class Bell:
    """Rings once for each movement."""

    name: str = "bell"
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 99
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (BellLine(),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ()

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Rung:
        return Rung()

    def react(self, rung: Rung, now: float, seen: list[Any], out: Any) -> float:
        if seen[0] and not rung.moving:
            rung.times += 1
            out.event(BellRang(rung.times))
        rung.moving = seen[0]
        return FOREVER


class WireOff(Steady):
    """The bell's wire is off."""

    id = "bell-wire-off"
    title = "The bell's wire is off"
    found = FoundBy.NEVER

    def places(self, site: Any) -> tuple[Any, ...]:
        return ()

    def passes(self, state: Any, value: Any, now: float) -> bool:
        return False


def toy_parts(site: Any, bench: Any) -> Iterable[Any]:
    """What the toy's file adds to a plant."""
    return (Contact(), Bell())


def rings(*faults: FaultBegins) -> list[Any]:
    """Push the leaf once; what the bell said."""
    plant = build(read_site(SITE), default_roles(), more=[toy_parts])
    world, said = World(plant, 1), []
    for at, stimuli in ((0, faults), (1_000_000, (PushLeaf(Direction.OPENING, 1e5, 0.2, "hand"),))):
        said += instant(plant, world, at, stimuli)
    while world.deadline() <= 3_000_000:
        said += instant(plant, world, world.deadline())
    return [event for event in said if type(event) is BellRang]


def test_a_toy_rings_and_is_traced() -> None:
    assert rings() == [BellRang(1)]
    assert line((0, BellRang(1))) == '{"is":"BellRang","t":0,"times":1}'  # type: ignore[arg-type]


def test_a_fault_sits_on_the_toys_wire() -> None:
    assert rings(FaultBegins("off", WireOff(), BellLine(), "bell", Guard.BOTH)) == []
