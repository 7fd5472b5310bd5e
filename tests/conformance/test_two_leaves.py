"""Every fault wherever it can sit on a site of two leaves: order is kept, and the drive of either leaf is watched."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gatesim.events import Command, LimitReached, Lockout, StoreWritten
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.world import World
from gatesim.requirements.judging import Judge
from gatesim.requirements.verdict import Outcome
from gatesim.run import Course
from gatesim.scenario import model as m
from gatesim.scenario.agenda import agenda

sys.path.insert(0, str(Path(__file__).parents[1] / "laws"))

from stories import S
from two_leaves import COURT, as_it_is, plant_with

SPOTS = [(fault.id, place.device) for fault in faults().values() for place in fault.places(COURT)]
KEPT = ("leaves-keep-order", "following-leaf-waits", "both-leaves-stop", "never-both-directions",
        "reversal-after-standstill")
NOT_KEPT = {("travel-sensor-slipping", "travel sensor"): ["leaves-keep-order"]}
"""The leaf on top waits where its sensor says; a slip too small to be found moves that place."""
DRIVE = [
    (fault, device)
    for fault, device in SPOTS
    if fault in ("contactor-welded", "contactor-stays-open", "contactor-read-back-stuck", "drive-direction-swapped",
                 "limit-switch-stuck-closed", "limit-switch-stuck-open", "travel-sensor-frozen")
]


def told(fault: str, device: str, at: int, lasts: int, command: Command) -> tuple[dict[str, Outcome], list[object]]:
    """A command in mid-travel, the fault, and what came of it."""
    site, plant = plant_with(as_it_is, 900_000.0, 700_000.0)
    steps: tuple[m.AnyStep, ...] = (
        m.GiveCommand(do="command", at=S, command=command), m.Fault(do="fault", at=at, fault=fault, device=device))
    story = m.Scenario("", "", site, lasts, steps, (), seed=1)
    judge, seen = Judge.begin(site), []
    course = Course(plant, World(plant, 1), agenda(story), lasts, judge, lambda _, t, event: seen.append(event))
    for _ in course.play():
        pass
    return {name: verdict.outcome for name, verdict in judge.verdicts(lasts).items()}, seen


@pytest.mark.slow
@pytest.mark.parametrize("fault", sorted({fault for fault, _ in SPOTS}))
def test_a_fault_in_motion_keeps_the_leaves_in_order(fault: str) -> None:
    for kind, device in SPOTS:
        if kind == fault:
            outcomes, seen = told(fault, device, 2 * S, 9 * S, Command.CLOSE)
            assert seen
            failed = [name for name in KEPT if outcomes[name] is Outcome.FAIL]
            assert failed == NOT_KEPT.get((kind, device), []), device


@pytest.mark.slow
@pytest.mark.parametrize("leaf", ["first", "second"])
def test_an_edge_of_one_leaf_does_not_guard_the_way_back_of_the_other(leaf: str) -> None:
    """Both edges of one leaf fail while it closes: neither leaf goes back unguarded, though the other's are well."""
    site, plant = plant_with(as_it_is, 900_000.0, 700_000.0)
    steps: tuple[m.AnyStep, ...] = (
        m.GiveCommand(do="command", at=S, command=Command.CLOSE),
        m.Fault(do="fault", at=2 * S, fault="loop-open", device=f"{leaf} pocket edge"),
        m.Fault(do="fault", at=2 * S, fault="loop-open", device=f"{leaf} front edge"))
    story = m.Scenario("", "", site, 9 * S, steps, (), seed=1)
    judge = Judge.begin(site)
    for _ in Course(plant, World(plant, 1), agenda(story), 9 * S, judge, lambda _, t, event: None).play():
        pass
    verdict = judge.verdicts(9 * S)["way-back-unguarded"]
    assert (verdict.outcome, verdict.figures.measured) == (Outcome.PASS, 0)


def test_the_drive_faults_sit_on_either_leaf() -> None:
    assert {device for _, device in DRIVE if not device.startswith("second ")} == {
        device.removeprefix("second ") for _, device in DRIVE if device.startswith("second ")}


@pytest.mark.parametrize(("fault", "device"), DRIVE)
def test_a_drive_fault_of_either_leaf_locks_the_gate_out(fault: str, device: str) -> None:
    opens = device.endswith(("open", "opening"))
    _, seen = told(fault, device, 2 * S, 24 * S, Command.OPEN if opens else Command.CLOSE)
    stored = [event.lockout for event in seen if type(event) is StoreWritten]
    assert stored[-1] is Lockout.DRIVE
    both = [event for event in seen if type(event) is LimitReached]
    assert len(both) < 2 or "welded" in fault or "limit" in fault
