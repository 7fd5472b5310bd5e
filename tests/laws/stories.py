"""Random stories on the shipped sites, and how to live them: what the laws are held over."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

from gatesim.events import Command, Origin, Stamped
from gatesim.plant.build import build
from gatesim.plant.faults.catalogue import spots
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.receiver_reference import ReferenceReceiver
from gatesim.plant.site import Site
from gatesim.plant.world import Plant, World
from gatesim.run import Course
from gatesim.scenario import model as m
from gatesim.scenario.agenda import Due, agenda
from gatesim.scenario.read import read_site

MS, S = 1_000, 1_000_000
SITES = ("mill-lane", "orchard-row", "pump-house", "long-acre", "kiln-court", "quarry-bank")
RAYS = 10_000
"""From this number on stories are of the site with beams."""
SHIPPED = Path(__file__).parents[2] / "scenarios" / "sites"


def references(**other: object) -> Roles:
    """The reference logic (the table looked up), a role of it replaced."""
    return Roles(**{"classifier": ReferenceClassifier(), "receiver": ReferenceReceiver(),
                    "controller": ReferenceController(by_library=False)} | other)


@cache
def shipped(name: str) -> Site:
    """A shipped site, read once."""
    return read_site(SHIPPED / f"{name}.site.yaml")


@cache
def plant_of(site: Site) -> Plant:
    """The plant of a site under the reference logic.  It holds nothing that changes."""
    return build(site, references())


def story(seed: int, lasts: int = 8 * S) -> m.Scenario:
    """One random story: a first move, then commands, contacts, hands, faults, power and pushes at whole microseconds.

    The leaf begins at an end or in mid-travel; the radio loses a frame now and then.
    """
    chance = Random(seed)
    site = shipped("ferry-steps" if seed >= RAYS else SITES[seed % len(SITES)])
    return _told(seed, chance, site, lasts)


def short_story(seed: int, lasts: int = 600 * MS) -> m.Scenario:
    """The same in little: a site with wired inputs only, from mid-travel, with a command in the first moments."""
    chance = Random(seed)
    site = shipped("orchard-row")
    site = replace(site, leaf_at=site.gate.travel * chance.choice((0.3, 0.6)))
    first = chance.choice((Command.OPEN, Command.CLOSE, Command.HOLD_CLOSE))
    held = chance.choice((20 * MS, 300 * MS))
    steps: list[m.AnyStep] = [m.GiveCommand(do="command", at=chance.randrange(8 * MS, 30 * MS), command=first,
                                            held=held)]
    steps += [_step(chance, site, k, lasts) for k in range(chance.randrange(1, 5))]
    return m.Scenario(f"short story {seed}", "", site, lasts, tuple(steps), (), seed=seed)


def _told(seed: int, chance: Random, site: Site, lasts: int) -> m.Scenario:
    lossy = tuple(replace(node, loss=chance.choice((0.0, 0.03))) for node in site.transmitters)
    site = replace(site, transmitters=lossy, leaf_at=site.gate.travel * chance.choice((0.0, 0.3, 0.6, 1.0)))
    first = chance.choice((Command.OPEN, Command.CLOSE, Command.HOLD_CLOSE))
    held = chance.choice((200 * MS, 3 * S))
    steps: list[m.AnyStep] = [m.GiveCommand(do="command", at=chance.randrange(900 * MS, S), command=first, held=held)]
    steps += [_step(chance, site, k, lasts) for k in range(chance.randrange(1, 7))]
    return m.Scenario(f"story {seed}", "", site, lasts, tuple(steps), (), seed=seed)


def _step(chance: Random, site: Site, number: int, lasts: int) -> m.AnyStep:
    at, some = chance.randrange(lasts), chance.randrange(1, 2 * S)
    match chance.randrange(10 if site.beams else 8):
        case 0 | 1:
            return m.GiveCommand(do="command", at=at, command=chance.choice(list(Command)), held=some,
                                 origin=chance.choice(list(Origin)))
        case 2 | 3:
            return m.Obstruct(do="obstruct", at=at, obstruction=f"post {number}", stays=chance.choice((None, some)),
                              zone=chance.choice(site.zones).name, position=site.gate.travel * chance.random(),
                              stiffness=chance.choice((None, 8.0)), touches=chance.choice(list(m.Touches)))
        case 4:
            return m.PressEdge(do="press", at=at, edge=chance.choice(site.edges).name, held=some)
        case 5:
            return m.LosePower(do="lose power", at=at, lasts=some)
        case 6:
            ways = list(site.zones)
            return m.PushLeaf(do="push leaf", at=at, direction=chance.choice(ways).direction, distance=200_000.0)
        case 8 | 9:
            return m.Interrupt(do="interrupt", at=at, beam=chance.choice(site.beams).name, by=f"somebody {number}",
                               lasts=chance.choice((None, some)))
        case _:
            kind, device = chance.choice(spots(site))
            return m.Fault(do="fault", at=at, fault=kind, device=device, lasts=chance.choice((None, some)))


def course(told: m.Scenario, plant: Plant | None = None, given: tuple[Due, ...] | None = None,
           seed: int | None = None) -> tuple[Course, list[Stamped]]:
    """A course at its beginning, and the list into which its events go."""
    seen: list[Stamped] = []
    plant = plant_of(told.site) if plant is None else plant
    begun = Course(plant, World(plant, told.seed if seed is None else seed), agenda(told) if given is None else given,
                   told.ends, None, taker(seen))
    return begun, seen


def taker(seen: list[Stamped]):  # type: ignore[no-untyped-def]
    """Writes what happens into a list."""
    return lambda _, at, event: seen.append(Stamped(at, event))


def lived(told: m.Scenario, plant: Plant | None = None, seed: int | None = None) -> list[Stamped]:
    """All that happens in a story, without any kernel."""
    begun, seen = course(told, plant, seed=seed)
    for _ in begun.play():
        pass
    return seen
