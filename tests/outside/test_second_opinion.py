"""The second simulator against the product: the instants that decide verdicts, over random stories.

Both tell the same story at a shipped site; the second simulator was written from docs/timing.md and the controller's
rules alone.  Its two scripts differ only in how they find the scans: on change (B, most stories) or one by one (A).
The scans stand on one grid on both sides, so every instant must agree within 2 us, on or off the path of a scan.

Jitter and spread of the sites are taken out (their draws are the product's own); loss is 0 there.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from gatesim import events as e
from gatesim.events import Command, Direction, Origin
from gatesim.plant.site import Site
from gatesim.run import default_roles, run_scenario
from gatesim.scenario import model as steps
from gatesim.scenario.read import read_site

sys.path.insert(0, str(Path(__file__).parent))

import second_simulator
import second_simulator_on_change

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
SECOND = 1_000_000
TOLERANCE = 2.0
"""us, between unrounded instants."""

WORDS = {"loop-open": "loop open", "loop-short": "loop short", "lost-link": "link lost", "cell-dead": "cell dead",
         "sampler-dead": "sampler dead", "contactor-welded": "contactor welded"}
"""The product's fault kinds in the second simulator's words."""
BEAM_WORDS = {"beam-output-stuck-clear": "beam stuck clear", "beam-output-stuck-interrupted": "beam stuck interrupted",
              "beam-emitter-dead": "beam emitter dead", "beam-test-pulse-ignored": "beam pulse ignored",
              "beam-dazzled": "beam dazzled"}

Happening = tuple[float, str, str]
"""Instant (us, unrounded), what, and whose."""


@cache
def site_of(name: str) -> Site:
    """A shipped site without draws."""
    site = read_site(SITES / f"{name}.site.yaml")
    plain = [replace(node, checkin_jitter=0, latency_spread=0, loss=0.0) for node in site.transmitters]
    return replace(site, transmitters=tuple(plain))


# --- the product's side ------------------------------------------------------------------------------------------


class Told:
    """The product's events in the second simulator's words."""

    def __init__(self, site: Site) -> None:
        self.radio = {edge.name: edge.input for edge in site.edges
                      if edge.input in {node.name for node in site.transmitters}}
        self.order: Direction | None = None
        self.lockout = e.Lockout.NONE
        self.fresh: dict[str, bool] = {}
        self.rays: dict[str, e.Level | None] = {beam.name: None for beam in site.beams}

    def words(self, event: Any) -> Iterable[tuple[str, str]]:
        """What the event says, as (what, whose)."""
        match event:
            case e.ContactBegan():
                yield "touch", event.obstruction
            case e.EdgeActuated():
                yield "actuated", event.edge
            case e.EdgeReleased():
                yield "released", event.edge
            case e.LevelChanged():
                yield f"level {event.level.value}", event.edge
            case e.LeafStarted():
                yield f"started {event.direction.value}", ""
            case e.LeafStopped():
                yield "stopped", ""
            case e.LimitReached():
                yield f"limit {event.side.value}", ""
            case e.ForceTripped():
                yield "force trip", event.direction.value
            case e.PowerLost():
                self.fresh.clear()
                self.rays = dict.fromkeys(self.rays)
                if self.order is not None:
                    yield "order none", ""
                self.order = None
            case e.OrdersChanged():
                yield from self._orders(event)
            case e.ReportChanged():
                yield from self._report(event)

    def _orders(self, event: e.OrdersChanged) -> Iterable[tuple[str, str]]:
        if event.order is not self.order:
            self.order = event.order
            yield f"order {event.order.value if event.order else 'none'}", ""
        if event.lockout is not self.lockout:
            self.lockout = event.lockout
            yield f"lockout {event.lockout.value}", ""

    def _report(self, event: e.ReportChanged) -> Iterable[tuple[str, str]]:
        if event.edge in self.rays:
            if event.heard and event.level is not self.rays[event.edge]:
                self.rays[event.edge] = event.level
                yield f"beam {event.level.value}", event.edge
            return
        node = self.radio.get(event.edge)
        if node is None or not event.heard or event.fresh is self.fresh.get(node, False):
            return
        self.fresh[node] = event.fresh
        yield "fresh" if event.fresh else "not fresh", node


def product(scenario: steps.Scenario) -> list[Happening]:
    """What the product says happened in the whole run."""
    told = Told(scenario.site)
    events = run_scenario(scenario, default_roles()).sections[0].events
    return [(at, *words) for at, event in events for words in told.words(event)]


# --- the comparison ----------------------------------------------------------------------------------------------

COMPARED = ("touch", "actuated", "released", "level", "started", "stopped", "limit", "force trip", "order", "lockout",
            "fresh", "not fresh", "beam")


def second(scenario: steps.Scenario, simulate: Callable[..., list[Happening]]) -> list[Happening]:
    """What the second simulator says happened, of what is compared."""
    told = simulate(scenario.site, scenario, WORDS | BEAM_WORDS | {"converter-frozen": "converter frozen"})
    return [one for one in told if one[1].startswith(COMPARED)]


def differences(one: list[Happening], other: list[Happening], ends: int) -> list[str]:
    """Where two tellings differ, each happening by its own row of instants; the earliest first."""
    found: list[tuple[float, str]] = []
    rows: dict[tuple[str, str], tuple[list[float], list[float]]] = {}
    for side, told in enumerate((one, other)):
        for at, what, whose in told:
            rows.setdefault((what, whose), ([], []))[side].append(at)
    for (what, whose), (mine, theirs) in rows.items():
        name = f"{what} {whose}".strip()
        for a, b in zip(mine, theirs, strict=False):
            if abs(a - b) > TOLERANCE:
                found.append((min(a, b), f"{name}: {a:.3f} us by the product, {b:.3f} us by the second"))
                break
        else:
            shared = min(len(mine), len(theirs))
            extra = mine[shared:] or theirs[shared:]
            # An instant in the last 2 us may lie beyond the end for the other side.
            if extra and extra[0] < ends - TOLERANCE:
                whom = "the product" if len(mine) > shared else "the second"
                found.append((extra[0], f"{name}: {extra[0]:.3f} us by {whom} alone"))
    return [text for _, text in sorted(found)]


# --- stories -----------------------------------------------------------------------------------------------------


class Teller:
    """Draws a story from a seed."""

    def __init__(self, seed: int, site: Site) -> None:
        self.draw = random.Random(seed)
        self.site = site
        self.busy: dict[str, int] = {}
        self.count = self.last = 0

    def instant(self) -> int:
        """Anywhere, or soon after another thing; now and then on a whole millisecond, where scans and timers meet."""
        at = self.draw.randrange(2 * SECOND, 66 * SECOND)
        if self.last and self.draw.random() < 0.4:
            at = min(self.last + self.draw.randrange(1, self.draw.choice([SECOND, 6 * SECOND])), 66 * SECOND)
        self.last = at if self.draw.random() < 0.7 else at // 1000 * 1000
        return self.last

    def edge(self) -> str:
        return self.draw.choice([edge.name for edge in self.site.edges])

    def command(self) -> list[Any]:
        word = self.draw.choice([Command.OPEN, Command.CLOSE, Command.STOP, Command.STOP])
        return [give(self.instant(), word, held=self.draw.choice([120_000, 300_000]),
                     origin=self.draw.choice([Origin.WIRED, Origin.RADIO]))]

    def obstruct(self) -> list[Any]:
        self.count += 1
        zone = self.draw.choice(self.site.zones)
        return [steps.Obstruct(
            do="obstruct", at=self.instant(), obstruction=f"block {self.count}", zone=zone.name,
            position=self.draw.uniform(50_000, self.site.gate.travel - 50_000),
            stiffness=self.draw.choice([None, None, 20.0, 200.0]), stays=self.draw.choice([None, 5 * SECOND]),
            touches=self.draw.choice([steps.Touches.EDGE, steps.Touches.EDGE, steps.Touches.LEAF]),
        )]  # fmt: skip

    def press(self) -> list[Any]:
        edge, at, held = self.edge(), self.instant(), self.draw.choice([60_000, 500_000, 3 * SECOND, 12 * SECOND])
        return [steps.PressEdge(do="press", at=at, edge=edge, held=held)] if self._free(edge, at, held) else []

    def loop(self) -> list[Any]:
        return self._fault(self.draw.choice(["loop-open", "loop-short"]), self.edge(), [35_000, 400_000, 4 * SECOND])

    def radio(self) -> list[Any]:
        nodes = [node.name for node in self.site.transmitters]
        kind = self.draw.choice(["lost-link", "cell-dead", "sampler-dead"])
        return self._fault(kind, self.draw.choice(nodes), [300_000, 2 * SECOND, 6 * SECOND]) if nodes else []

    def welded(self) -> list[Any]:
        return self._fault("contactor-welded", self.draw.choice(["opening", "closing"]), [8 * SECOND])

    def reset(self) -> list[Any]:
        late = max(self.instant(), self.draw.randrange(36 * SECOND, 60 * SECOND))
        return [give(at, Command.RESET, held=self.draw.choice([200_000, 400_000, 400_000, 6 * SECOND]))
                for at in (late, late + 8 * SECOND)]

    def hold(self) -> list[Any]:
        word = self.draw.choice([Command.HOLD_OPEN, Command.HOLD_CLOSE])
        return [give(self.instant(), word, held=self.draw.randrange(300_000, 6 * SECOND))]

    def power(self) -> list[Any]:
        at, lasts = self.instant(), self.draw.randrange(50_000, 4 * SECOND)
        return [steps.LosePower(do="lose power", at=at, lasts=lasts)] if self._free("supply", at, lasts) else []

    def ray(self) -> list[Any]:
        beam, at = self.draw.choice(self.site.beams).name, self.instant()
        self.count += 1
        lasts = self.draw.choice([20_000, 40_000, 130_000, SECOND, 4 * SECOND, 15 * SECOND, None])
        return [steps.Interrupt(do="interrupt", at=at, beam=beam, by=f"somebody {self.count}", lasts=lasts)]

    def beam_fault(self) -> list[Any]:
        kind = self.draw.choice(list(BEAM_WORDS))
        return self._fault(kind, self.draw.choice(self.site.beams).name, [40_000, 700_000, 5 * SECOND])

    def _fault(self, kind: str, device: str, lasting: list[int]) -> list[Any]:
        at, lasts = self.instant(), self.draw.choice([None, *lasting])
        if not self._free(device, at, lasts):
            return []
        return [steps.Fault(do="fault", at=at, fault=kind, device=device, lasts=lasts)]

    def _free(self, device: str, at: int, lasts: int | None) -> bool:
        """One thing at a time for each device: what two faults in one wire make is not the clocks' business."""
        if at <= self.busy.get(device, -1):
            return False
        self.busy[device] = at + lasts if lasts is not None else 10**9
        return True


KINDS: dict[str, Callable[[Teller], list[Any]]] = {
    "command": Teller.command, "obstruct": Teller.obstruct, "press": Teller.press, "loop": Teller.loop,
    "radio": Teller.radio, "welded": Teller.welded, "reset": Teller.reset, "hold": Teller.hold, "power": Teller.power,
}  # fmt: skip


BEAM_KINDS: dict[str, Callable[[Teller], list[Any]]] = {"ray": Teller.ray, "beam fault": Teller.beam_fault}


def give(at: int, word: Command, **more: Any) -> steps.GiveCommand:
    return steps.GiveCommand(do="command", at=at, command=word, **more)


def story(seed: int, name: str = "mill-lane", kinds: Iterable[str] = KINDS) -> steps.Scenario:
    """A random story of 70 s: open, close, and one to five other things."""
    site = site_of(name)
    teller = Teller(seed, site)
    draw, told = teller.draw, [give(SECOND, Command.OPEN)]
    if draw.random() < 0.8:
        told.append(give(draw.randrange(26 * SECOND, 34 * SECOND), Command.CLOSE))
    names = list(kinds)
    for _ in range(draw.randint(1, 5)):
        told += (KINDS | BEAM_KINDS)[draw.choice(names)](teller)
    return steps.Scenario(f"story {seed}", "", site, 70 * SECOND, tuple(told), ())


def compare(scenario: steps.Scenario, simulate: Callable[..., list[Happening]]) -> list[str]:
    return differences(product(scenario), second(scenario, simulate), scenario.ends)


def both_told(seed: int, name: str, simulate: Callable[..., list[Happening]]) -> None:
    scenario = story(seed, name)
    assert compare(scenario, simulate) == [], scenario.steps


@pytest.mark.parametrize("seed", range(140))
def test_radio_site_with_scans_on_change(seed: int) -> None:
    both_told(seed, "mill-lane", second_simulator_on_change.simulate)


@pytest.mark.parametrize("seed", range(200, 240))
def test_wired_site_with_scans_on_change(seed: int) -> None:
    both_told(seed, "orchard-row", second_simulator_on_change.simulate)


@pytest.mark.parametrize(("name", "seed"), [*(("mill-lane", k) for k in range(300, 314)),
                                            *(("orchard-row", k) for k in range(314, 320))])
def test_every_scan_an_event(name: str, seed: int) -> None:
    both_told(seed, name, second_simulator.simulate)


WITH_RAYS = (*KINDS, "ray", "ray", "ray", "ray", "beam fault", "beam fault")


@pytest.mark.parametrize("seed", range(400, 560))
def test_beams_with_scans_on_change(seed: int) -> None:
    scenario = story(seed, "ferry-steps", WITH_RAYS)
    assert compare(scenario, second_simulator_on_change.simulate) == [], scenario.steps


def test_the_stories_of_beams_reach_what_is_compared() -> None:
    heard: dict[str, int] = {}
    for seed in range(400, 560):
        for _, what, _ in second(story(seed, "ferry-steps", WITH_RAYS), second_simulator_on_change.simulate):
            heard[what] = heard.get(what, 0) + 1
    wanted = ["beam at rest", "beam interrupted", "beam reading invalid", "lockout opening", "lockout closing",
              "lockout entrapment", "order opening", "order closing"]  # fmt: skip
    assert [what for what in wanted if heard.get(what, 0) < 1] == []
    assert heard["beam interrupted"] > 50


# --- stories that once differed ------------------------------------------------------------------------------------

OPEN, FRONT, REAR = give(SECOND, Command.OPEN), "front edge", "rear edge"


def fails(at: int, kind: str, device: str, lasts: int | None = None) -> steps.Fault:
    return steps.Fault(do="fault", at=at, fault=kind, device=device, lasts=lasts)


def presses(at: int, edge: str, held: int) -> steps.PressEdge:
    return steps.PressEdge(do="press", at=at, edge=edge, held=held)


DIRECTED: dict[str, tuple[str, tuple[Any, ...]]] = {
    "a hold pressed while the leaf slows starts nothing": ("mill-lane", (
        OPEN, give(6 * SECOND, Command.STOP), give(6_100_000, Command.HOLD_CLOSE, held=2 * SECOND))),
    "a hold pressed during the test changes nothing": ("mill-lane", (
        OPEN, give(1_010_000, Command.HOLD_CLOSE, held=2 * SECOND))),
    "a press that outlasts, counted from an unrounded standstill": ("mill-lane", (
        OPEN, fails(11_515_710, "loop-short", REAR))),
    "a contactor welded over a power loss": ("mill-lane", (
        OPEN, fails(2 * SECOND, "contactor-welded", "opening"),
        steps.LosePower(do="lose power", at=5 * SECOND, lasts=3 * SECOND))),
    "a reset while a device is not heard yet": ("mill-lane", (
        OPEN, fails(3 * SECOND, "lost-link", "rear transmitter", 6 * SECOND),
        steps.LosePower(do="lose power", at=10 * SECOND, lasts=SECOND), give(12 * SECOND, Command.RESET))),
    "hold-to-run past a lasting short": ("mill-lane", (
        OPEN, fails(30 * SECOND, "loop-short", FRONT), give(50 * SECOND, Command.HOLD_CLOSE, held=3 * SECOND))),
    "a stop while the leaf slows for a demand": ("mill-lane", (
        OPEN, give(28 * SECOND, Command.CLOSE), presses(33 * SECOND, FRONT, 2 * SECOND),
        give(33_100_000, Command.STOP))),
    "a second demand felt by force": ("mill-lane", (
        OPEN, presses(10 * SECOND, REAR, 100_000), give(18 * SECOND, Command.CLOSE),
        steps.Obstruct(do="obstruct", at=18 * SECOND, obstruction="post", zone="closing gap", position=900_000.0,
                       touches=steps.Touches.LEAF),
        give(20 * SECOND, Command.OPEN), give(30 * SECOND, Command.CLOSE))),
    "the pause is whole after the last press": ("orchard-row", (OPEN, presses(24 * SECOND, FRONT, 8 * SECOND))),
    "a command back to the end at which the leaf still stands": ("orchard-row", (
        OPEN, give(28_382_682, Command.CLOSE), give(28_444_495, Command.OPEN))),
}  # fmt: skip


def ray(at: int, beam: str = "drive beam", lasts: int | None = SECOND) -> steps.Interrupt:
    return steps.Interrupt(do="interrupt", at=at, beam=beam, lasts=lasts)


CLOSING = (OPEN, give(28 * SECOND, Command.CLOSE))
HOLDS = give(32 * SECOND, Command.HOLD_CLOSE, held=6 * SECOND)
RAYS: dict[str, tuple[Any, ...]] = {
    "a press while the leaf slows for a beam": (
        *CLOSING, ray(33 * SECOND), presses(33_050_000, "nose edge", 400_000), give(50 * SECOND, Command.CLOSE),
        presses(52 * SECOND, "nose edge", 400_000)),
    "a demand, then a beam": (
        *CLOSING, presses(33 * SECOND, "nose edge", 400_000), give(45 * SECOND, Command.CLOSE), ray(47 * SECOND)),
    "both ways interrupted": (*CLOSING, ray(33 * SECOND), ray(33_200_000, "lane beam")),
    "the way back pressed after a beam": (*CLOSING, ray(33 * SECOND), presses(33 * SECOND, "tail edge", 2 * SECOND)),
    "a demand with the way back interrupted": (
        *CLOSING, presses(33 * SECOND, "nose edge", 400_000), ray(32_500_000, "lane beam", 5 * SECOND)),
    "a beam in the reversal from a beam": (*CLOSING, ray(33 * SECOND), ray(34 * SECOND, "lane beam")),
    "a fault in the reversal from a beam": (*CLOSING, ray(33 * SECOND), fails(34 * SECOND, "loop-open", "tail edge")),
    "a stop while the leaf slows for a beam, then a press": (
        *CLOSING, ray(33 * SECOND), give(33_060_000, Command.STOP), presses(33_090_000, "nose edge", 900_000)),
    "interrupted while opening, the relief": (OPEN, ray(9 * SECOND, "lane beam", 5 * SECOND)),
    "interrupted in the pause, longer than the pause": (OPEN, ray(28 * SECOND, "drive beam", 14 * SECOND)),
    "interrupted in the warning": (OPEN, ray(38 * SECOND, "drive beam", 500_000)),
    "interrupted in the test": (*CLOSING, ray(28_020_000, "drive beam", 500_000)),
    "gone within the pulse": (*CLOSING, ray(28_005_000, "drive beam", 40_000)),
    "hold-to-run into a beam": (OPEN, HOLDS, ray(34 * SECOND)),
    "hold-to-run past a beam that failed its test": (
        OPEN, fails(20 * SECOND, "beam-dazzled", "drive beam"), give(30 * SECOND, Command.CLOSE), HOLDS),
    "the supply goes in a test": (
        *CLOSING, steps.LosePower(do="lose power", at=28_050_000, lasts=400_000), give(30 * SECOND, Command.CLOSE)),
    "a reset after the beam answers again": (
        OPEN, fails(20 * SECOND, "beam-output-stuck-clear", "drive beam", 15 * SECOND),
        give(30 * SECOND, Command.CLOSE), give(32 * SECOND, Command.RESET), give(40 * SECOND, Command.RESET),
        give(42 * SECOND, Command.CLOSE)),
    "walks through the ray into the leaf": (
        *CLOSING, steps.Obstruct(do="obstruct", at=33 * SECOND, obstruction="dummy", zone="closing gap",
                                 position=3_700_000.0, interrupts=("drive beam",), stays=4 * SECOND)),
}  # fmt: skip


@pytest.mark.parametrize("simulate", [second_simulator.simulate, second_simulator_on_change.simulate])
@pytest.mark.parametrize("title", RAYS)
def test_stories_of_rays(title: str, simulate: Callable[..., list[Happening]]) -> None:
    scenario = steps.Scenario(title, "", site_of("ferry-steps"), 70 * SECOND, RAYS[title], ())
    assert compare(scenario, simulate) == []
    assert any(what == "beam interrupted" or what == "beam reading invalid" for _, what, _ in product(scenario)) or (
        title in ("gone within the pulse", "the supply goes in a test"))


@pytest.mark.parametrize("title", DIRECTED)
def test_stories_that_once_differed(title: str) -> None:
    name, told = DIRECTED[title]
    scenario = steps.Scenario(title, "", site_of(name), 70 * SECOND, told, ())
    assert compare(scenario, second_simulator_on_change.simulate) == []


def test_a_stop_does_not_make_one_press_two_demands() -> None:
    name, told = DIRECTED["a stop while the leaf slows for a demand"]
    said = [what for _, what, _ in product(steps.Scenario("", "", site_of(name), 70 * SECOND, told, ()))]
    assert "level pressed" in said
    assert "lockout entrapment" not in said


def test_a_hold_pressed_while_the_leaf_slows_starts_nothing() -> None:
    """What both must say: the stop is the last order."""
    name, told = DIRECTED["a hold pressed while the leaf slows starts nothing"]
    scenario = steps.Scenario("", "", site_of(name), 70 * SECOND, told, ())
    assert [what for _, what, _ in product(scenario) if what.startswith("order")] == ["order opening", "order none"]


# --- the comparison itself -----------------------------------------------------------------------------------------


def test_the_stories_reach_what_is_compared() -> None:
    """A comparison of stories in which nothing happens would prove nothing."""
    heard: dict[str, int] = {}
    kinds: set[str] = set()
    for seed in range(140):
        scenario = story(seed)
        kinds |= {step.fault for step in scenario.steps if isinstance(step, steps.Fault)}
        for _, what, _ in second(scenario, second_simulator_on_change.simulate):
            heard[what] = heard.get(what, 0) + 1
    assert kinds == set(WORDS)
    wanted = ["touch", "actuated", "level pressed", "level open", "order none", "stopped", "order opening",
              "order closing", "started opening", "started closing", "limit open", "limit closed", "not fresh",
              "lockout opening", "lockout closing", "lockout both directions", "lockout entrapment", "lockout drive",
              "lockout none", "force trip"]  # fmt: skip
    assert [what for what in wanted if heard.get(what, 0) < 1] == []


PLANTED: dict[str, Callable[[Site], Site]] = {
    "one scan more to take over a level": lambda site: replace(
        site, transmitters=tuple([replace(node, debounce=3) for node in site.transmitters])),
    "a frame 3 us later": lambda site: replace(
        site, transmitters=tuple([replace(node, latency=node.latency + 3) for node in site.transmitters])),
    "a dwell 3 us longer": lambda site: replace(
        site, controller=replace(site.controller, reversal_dwell=site.controller.reversal_dwell + 3)),
    "an edge 1 um deeper": lambda site: replace(
        site, edges=tuple([replace(edge, actuating_travel=edge.actuating_travel + 1.0) for edge in site.edges])),
}  # fmt: skip


@pytest.mark.parametrize("title", PLANTED)
def test_a_planted_difference_is_noticed(title: str) -> None:
    block = steps.Obstruct(do="obstruct", at=30 * SECOND, obstruction="block", zone="closing gap", position=2_000_000.0)
    told = (OPEN, give(28 * SECOND, Command.CLOSE), block)
    scenario = steps.Scenario("", "", site_of("mill-lane"), 70 * SECOND, told, ())
    changed = replace(scenario, site=PLANTED[title](scenario.site))
    ours, theirs = product(changed), second(scenario, second_simulator_on_change.simulate)
    assert compare(scenario, second_simulator_on_change.simulate) == []
    assert differences(ours, theirs, scenario.ends) != []


PLANTED_IN_BEAMS: dict[str, dict[str, int]] = {
    "a response 3 us later": {"response_time": 3},
    "a test pulse 3 us longer": {"test_pulse": 3},
    "a period 3 us longer": {"test_period": 3},
}


@pytest.mark.parametrize("title", PLANTED_IN_BEAMS)
def test_a_planted_difference_in_a_beam_is_noticed(title: str) -> None:
    """A light in the receiver, found by the test in its period; somebody in the ray before a move and in one."""
    site = site_of("ferry-steps")
    told = (
        OPEN, fails(9_500_000, "beam-dazzled", "lane beam", 5 * SECOND),
        give(33 * SECOND, Command.CLOSE), steps.Interrupt(do="interrupt", at=36 * SECOND, beam="drive beam"))
    scenario = steps.Scenario("", "", site, 70 * SECOND, told, ())
    assert compare(scenario, second_simulator_on_change.simulate) == []
    more = PLANTED_IN_BEAMS[title]
    beams = tuple([
        replace(beam, **{name: getattr(beam, name) + more[name] for name in more})  # type: ignore[arg-type]
        for beam in site.beams
    ])
    ours = product(replace(scenario, site=replace(site, beams=beams)))
    assert differences(ours, second(scenario, second_simulator_on_change.simulate), scenario.ends) != []
