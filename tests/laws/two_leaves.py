"""Random stories on the shipped site of two leaves, and the laws that hold in every instant of them."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from gatesim import events as e
from gatesim.events import Command, Direction, LeafName, Origin, Stamped
from gatesim.plant import wires as w
from gatesim.plant.build import part_files
from gatesim.plant.leaves import leaves
from gatesim.plant.motion import at
from gatesim.plant.part import Part
from gatesim.plant.site import Site
from gatesim.plant.world import Plant, World
from gatesim.requirements.judging import Judge
from gatesim.requirements.verdict import Outcome, Verdict
from gatesim.run import Course
from gatesim.scenario import model as m
from gatesim.scenario.agenda import agenda

sys.path.insert(0, str(Path(__file__).parent))

from stories import MS, S, references, shipped

COURT = shipped("foundry-court")
FIRST, SECOND = leaves(COURT)
TABLE = COURT.second_leaf
assert TABLE is not None
ROUNDING = 1e-3
"""Of positions (um)."""
PRESSED = 10 * MS * 3 + 16 * MS + 1 * MS
"""From a closed strip to the order's end: the scans of the slowest input, then the longest way of a frame (us)."""
Fit = Callable[[Part], Part]


def as_it_is(part: Part) -> Part:
    """No part exchanged."""
    return part


@cache
def plant_with(fit: Fit, at_first: float, at_second: float) -> tuple[Site, Plant]:
    """The plant, with parts exchanged; it holds nothing that changes."""
    site = replace(COURT, leaf_at=at_first, second_leaf=replace(TABLE, leaf_at=at_second))
    return site, Plant(fit(part) for of in part_files() for part in of(site, references()))


PLACES = ((0.0, 0.0), (FIRST.gate.travel, SECOND.gate.travel), (400_000.0, 0.0), (900_000.0, 700_000.0),
          (900_000.0, 1_500_000.0), (120_000.0, 0.0), (300_000.0, 200_000.0))
"""Where the leaves stand at first; each is a place that they may come to by themselves."""


def story(seed: int, site: Site, lasts: int) -> m.Scenario:
    """Commands, obstructions, hands and losses of the supply at whole microseconds."""
    chance = Random(seed)
    first = chance.choice((Command.OPEN, Command.CLOSE, Command.OPEN, Command.CLOSE, Command.HOLD_OPEN))
    steps: list[m.AnyStep] = [m.GiveCommand(do="command", at=chance.randrange(900 * MS, S), command=first,
                                            held=chance.choice((200 * MS, 3 * S)))]
    hands = chance.random() < 0.4  # or else obstructions: a hand on one edge hides what the leaf does at another
    steps += [_step(chance, site, k, lasts, hands) for k in range(chance.randrange(1, 9))]
    return m.Scenario(f"story {seed}", "", site, lasts, tuple(steps), (), seed=seed)


def _step(chance: Random, site: Site, number: int, lasts: int, hands: bool) -> m.AnyStep:
    at, some = chance.randrange(lasts), chance.randrange(1, 2 * S)
    match chance.randrange(7):
        case 0 | 1 | 2:
            command = chance.choice((Command.OPEN, Command.CLOSE, Command.STOP, Command.HOLD_OPEN, Command.HOLD_CLOSE,
                                     Command.RESET))
            return m.GiveCommand(do="command", at=at, command=command, held=min(some, 800 * MS), origin=Origin.WIRED)
        case 3 | 4 | 5 if not hands:
            zone = chance.choice(site.zones)
            # Not where a leaf has passed its limit switch before anything can be felt.
            place = 100_000.0 + (zone.end - 200_000.0) * chance.random()
            return m.Obstruct(do="obstruct", at=at, obstruction=f"post {number}", stays=chance.choice((None, some)),
                              zone=zone.name, position=place)
        case 3 | 4 | 5:
            return m.PressEdge(do="press", at=at, edge=chance.choice(site.edges).name, held=some)
        case _:
            return m.LosePower(do="lose power", at=at, lasts=some)


class Laws:
    """What must hold in every instant; raises AssertionError at the first that does not."""

    def __init__(self, site: Site, plant: Plant) -> None:
        self.zones = {edge.name: next(z.direction for z in site.zones if z.name == edge.zone) for edge in site.edges}
        self.motions = plant.wires[w.Motion()], plant.wires[w.Motion("second")]
        self.energised: dict[LeafName, Direction | None] = dict.fromkeys(LeafName)
        self.pressed: dict[str, float] = {}
        self.held: set[Command] = set()
        self.hold_until = 0.0

    def see(self, world: World, now: float, happened: list[Any]) -> None:
        """Take one instant's events, then hold the laws."""
        for event in happened:
            self._take(now, event)
        first, second = (at(world.values[wire], now)[0] for wire in self.motions)
        if second > SECOND.drive.limit_lead + ROUNDING:
            assert first >= TABLE.overlap - ROUNDING, (
                f"{now}: the second leaf is {second} um open and the first, which lies over it, {first}")
        for edge, since in self.pressed.items():
            way = self.zones[edge]
            towards = [leaf.value for leaf, driven in self.energised.items() if driven is way]
            assert not towards or now - max(since, self.hold_until) <= PRESSED, (
                f"{now}: {towards} driven {way.value}, {edge} pressed since {since}")

    def _take(self, now: float, event: Any) -> None:
        match event:
            case e.ContactorsChanged():
                assert not (event.opening and event.closing), f"{now}: both directions of the {event.leaf.value} leaf"
                self.energised[event.leaf] = (Direction.OPENING if event.opening else
                                              Direction.CLOSING if event.closing else None)
                if any(driven is not None for driven in self.energised.values()):
                    assert len({driven for driven in self.energised.values() if driven is not None}) == 1, (
                        f"{now}: the leaves are driven apart")
            case e.EdgeActuated():
                self.pressed[event.edge] = now
            case e.EdgeReleased():
                self.pressed.pop(event.edge, None)
            case e.CommandPressed() | e.CommandReleased():
                self._control(now, event)

    def _control(self, now: float, event: Any) -> None:
        """A press that began before is no demand of hold-to-run where its edge is latched: not held against it."""
        if event.command in (Command.HOLD_OPEN, Command.HOLD_CLOSE):
            self.hold_until = now + S


def tell(seed: int, fit: Fit = as_it_is, lasts: int = 30 * S) -> tuple[dict[str, Verdict], list[Stamped]]:
    """Live one story, hold the laws in every instant, and judge it."""
    chance = Random(-seed - 1)
    site, plant = plant_with(fit, *chance.choice(PLACES))
    told = story(seed, site, lasts)
    judge, seen = Judge.begin(site), []
    course = Course(plant, World(plant, seed), agenda(told), lasts, judge, lambda _, t, event: seen.append((t, event)))
    laws = Laws(site, plant)
    while (now := course.next()) <= course.ends:
        laws.see(course.world, now, course.live(now))
    return judge.verdicts(lasts), [Stamped(*one) for one in seen]


def failures(verdicts: dict[str, Verdict]) -> list[str]:
    """The requirements that fail, with how."""
    return [f"{name}: {one.failure} {one.figures} {one.reason}" for name, one in verdicts.items()
            if one.outcome is Outcome.FAIL and one.failure != "supply lost"]
