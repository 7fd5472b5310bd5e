"""Small runs of the product, whose figures stand beside published ones."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

from gatesim import events as e
from gatesim.events import Command, Direction, Origin
from gatesim.plant.motion import Pieces
from gatesim.plant.site import Monitoring, Profile, Site, guarded
from gatesim.plant.wires import Piece
from gatesim.requirements.judging import Row
from gatesim.run import RunResult, default_roles, run_scenario
from gatesim.scenario import model as m
from gatesim.scenario.read import read_site

FOLDER = Path(__file__).parents[2] / "scenarios" / "sites"
SITES = ("ferry-steps", "mill-lane", "orchard-row", "pump-house", "long-acre")
S = 1_000_000


@cache
def site_of(name: str) -> Site:
    """A shipped site."""
    return read_site(FOLDER / f"{name}.site.yaml")


def pieces_at(speed: float) -> Pieces:
    """A leaf that runs at this speed (m/s) from 0."""
    return (Piece(0.0, 0.0, speed, 0.0),)


def told(site: Site, steps: Iterable[m.AnyStep], ends: int, seed: int = 1) -> RunResult:
    """Run a story at a site."""
    return run_scenario(m.Scenario("outside", "", site, ends, tuple(steps), (), seed=seed), default_roles())


def command(at: int, which: Command) -> m.GiveCommand:
    return m.GiveCommand(do="command", at=at, command=which, origin=Origin.RADIO)


def _row(result: RunResult, name: str) -> Row:
    return next(row for row in result.rows if row.requirement == name)


# --- watchdog ----------------------------------------------------------------------------------------------------


@cache
def beats(jitter: int = 0, delay: int = 20_000, loss: float = 0.0) -> Site:
    """One check-in a second, a watchdog of 3.07 s, at rest."""
    site = site_of("mill-lane")
    nodes = [replace(node, checkin_at_rest=S, checkin_jitter=jitter, checkin_phase=400_000, latency=delay,
                     latency_spread=0, loss=loss) for node in site.transmitters]
    assert site.receiver is not None
    return replace(site, transmitters=tuple(nodes), receiver=replace(site.receiver, watchdog_at_rest=3_070_000))


def latency(died: int, site: Site, seed: int = 1) -> float:
    """Seconds from a transmitter's death to its edge told as not fresh."""
    dies = m.Fault(do="fault", at=died, fault="cell-dead", device="front transmitter")
    result = told(site, [dies], died + 4 * S, seed)
    lost = [at for at, event in result.sections[0].events if isinstance(event, e.ReportChanged)
            and event.edge == "front edge" and event.heard and not event.fresh and at >= died]
    return (lost[0] - died) / S


def worst_latency() -> float:
    """Dies right after a check-in has left."""
    return latency(10_400_001, beats())


def least_latency() -> float:
    """Dies right before a check-in is due."""
    return latency(10_399_999, beats())


def mean_latency(loss: float, each: int) -> float:
    """Mean over deaths at 20 phases of a period, `each` times; every death has draws of its own."""
    found = [latency(10_400_000 + (2 * k + 1) * S // 40, beats(delay=0, loss=loss), 20 * turn + k)
             for k in range(20) for turn in range(each)]
    return sum(found) / len(found)


def latest_check_in() -> float:
    """Greatest lateness (ms) on the absolute grid, over 300 check-ins that are up to 50 ms late each."""
    result = told(beats(jitter=50_000), [], 300 * S)
    sent = [at for at, event in result.sections[0].events if isinstance(event, e.FrameSent)
            and event.transmitter == "front transmitter" and at > S]
    assert len(sent) > 290
    return max((at - 400_000) % S for at in sent) / 1000


# --- contact -----------------------------------------------------------------------------------------------------


@cache
def contact(site_name: str, profile: Profile) -> RunResult:
    """Open, close, and a rigid block in mid-travel, judged by a profile."""
    site = site_of(site_name)
    zone = next(zone for zone in site.zones if zone.direction is Direction.CLOSING)
    block = m.Obstruct(do="obstruct", at=46 * S, obstruction="block", zone=zone.name, position=site.gate.travel / 2)
    steps = [command(S, Command.OPEN), command(45 * S, Command.CLOSE), block]
    unasked = replace(site.controller, automatic_closing=None)
    return told(replace(site, limits=profile, controller=unasked), steps, 80 * S)


def of_contacts(requirement: str, profile: Profile, worst: Callable[[list[float]], float],
                names: tuple[str, ...] = SITES) -> float:
    """The worst value measured for a requirement over the named sites."""
    return worst([_value(contact(name, profile), requirement) for name in names])


def _value(result: RunResult, requirement: str) -> float:
    value = _row(result, requirement).verdict.figures.measured
    assert value is not None, f"{requirement} was not exercised"
    return value


def warned() -> float:
    """Seconds from the warning to an automatic closing."""
    site = site_of("orchard-row")
    return _value(told(site, [command(S, Command.OPEN)], 80 * S), "warning-before-automatic-closing") / S


# --- a test before each move -------------------------------------------------------------------------------------


def _deaths(site: Site) -> Iterable[tuple[str, str, int]]:
    """(fault, device, how long before the command) for each device of a site."""
    for node in site.transmitters:
        if node.monitoring is Monitoring.BEFORE_EACH_MOVE:
            yield "sampler-dead", node.name, S
            yield "lost-link", node.name, S
        else:
            assert site.receiver is not None
            yield "lost-link", node.name, site.receiver.watchdog_at_rest + S
    for wired in site.wired_inputs:
        yield "wired-scan-dead", wired.name, S
    for edge in site.edges:
        yield "loop-open", edge.name, 2 * S
    for beam in site.beams:
        yield "beam-output-stuck-clear", beam.name, beam.test_period + S
    yield "force-sensing-dead", "force sensing", S


def _guards(site: Site, device: str, direction: Direction) -> bool:
    zones = {zone.name: zone.direction for zone in site.zones}
    for beam in site.beams:
        if beam.name == device:
            return guarded(site, beam) is direction
    edges = [edge for edge in site.edges if device in (edge.name, edge.input)]
    return not edges or direction in [zones[edge.zone] for edge in edges]


def moves_begun(with_faults: bool) -> tuple[int, int]:
    """(moves begun, moves commanded) in directions that a dead device guards; without faults the same commands."""
    begun = commanded = 0
    for name in SITES:
        site = replace(site_of(name), controller=replace(site_of(name).controller, automatic_closing=None))
        for fault, device, before in _deaths(site):
            for direction, which in ((Direction.OPENING, Command.OPEN), (Direction.CLOSING, Command.CLOSE)):
                if _guards(site, device, direction):
                    commanded += 1
                    begun += _begins(site, fault, device, before, direction, which, with_faults)
    return begun, commanded


def _begins(site: Site, fault: str, device: str, before: int, direction: Direction, which: Command,
            with_faults: bool) -> bool:
    placed = replace(site, leaf_at=0.0 if direction is Direction.OPENING else site.gate.travel)
    asked = 5 * S + before
    steps: list[m.AnyStep] = [m.Fault(do="fault", at=5 * S, fault=fault, device=device)] if with_faults else []
    result = told(placed, [*steps, command(asked, which)], asked + 5 * S)
    return any(isinstance(event, e.LeafStarted) for _, event in result.sections[0].events)
