"""Each monitor judges either of two leaves as it judges the only one, and looks at the other where it must."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gatesim import events as e
from gatesim.events import Command, Direction, FoundBy, Guard, LeafName, Side
from gatesim.plant.site import Site
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.judging import Judge
from gatesim.requirements.leaf_view import of_a_leaf

sys.path.insert(0, str(Path(__file__).parent))

from test_requirements import (
    CASES,
    HEARD,
    Story,
    asked,
    disturbed,
    felt,
    into_ray,
    judged,
    leaf_moves,
    leaf_stands,
    order,
    press,
    second,
    starts,
    stops,
    touch,
)

OPENING, CLOSING = Direction.OPENING, Direction.CLOSING
OF_LEAVES = sorted(
    name for name, one in requirements().items() if any(map(of_a_leaf, one.sees)) and not one.whole_gate)


def on(leaf: LeafName, story: Story) -> Story:
    """The story of a single leaf told of one of two, while the other one stands at whichever end this one reaches."""
    other = LeafName.FIRST if leaf is LeafName.SECOND else LeafName.SECOND
    told: Story = []
    for at, event in story:
        if isinstance(event, e.LimitReached | e.LimitLeft):
            told.append((at, event._replace(leaf=other)))
        told.append((at, event._replace(leaf=leaf) if hasattr(event, "leaf") else event))
    return told


def said(verdict: Any) -> tuple[Any, ...]:
    return verdict.outcome, verdict.failure, verdict.figures


def test_many_monitors_are_of_leaves() -> None:
    assert len(OF_LEAVES) > 25
    assert {name for name, one in requirements().items() if one.whole_gate} == {
        "both-leaves-stop", "following-leaf-waits", "leaves-keep-order"}


@pytest.mark.parametrize("leaf", LeafName)
@pytest.mark.parametrize("name", OF_LEAVES)
def test_either_leaf_is_judged_like_the_only_one(site: Site, pair: Site, name: str, leaf: LeafName) -> None:
    alike = replace(pair, edges=site.edges, zones=tuple(replace(zone, leaf=leaf) for zone in site.zones))
    for _, story, ends in CASES[name]:
        assert said(judged(alike, name, on(leaf, story), ends)) == said(judged(site, name, story, ends)), story


TOUCHED = [*asked(CLOSING), *second(leaf_moves(CLOSING, 1500, 4e6)), *second(touch(3000)), *second(felt(3030)),
           *stops(3200), *second(leaf_stands(3200, 2e6))]
CLOSE = [*asked(CLOSING), *second(leaf_moves(CLOSING, 1500, 4e6))]
"""Both close, the second half a second later."""
DISTURBED = [*CLOSE, *disturbed(3000, Guard.CLOSING)]
AT_OPEN = [*asked(OPENING), *second(leaf_moves(OPENING, 1500, 0.0)), (9000, e.LimitReached(Side.OPEN)),
           (9000, e.LeafStopped(4e6))]


@pytest.mark.parametrize(
    ("name", "story", "expected"),
    [
        # The touched leaf is what goes back, not the other.
        ("reversal-begun",
         [*TOUCHED, *starts(OPENING, 3500, 2e6), *second(leaf_moves(OPENING, 5500, 2e6))], "too late"),
        ("reversal-begun", [*TOUCHED, *starts(OPENING, 3500, 2e6), *second(leaf_moves(OPENING, 4900, 2e6))], "pass"),
        # An edge of the other leaf on the way back.
        ("reversal-begun", [*CLOSE, *second(touch(3000)), *second(felt(3030)), *stops(3200),
                            *felt(3100, OPENING)], "not exercised"),
        # A demand on one leaf and one on the other are two.
        ("second-demand-locks-out", [*CLOSE, *felt(3000), *stops(3200), *second(leaf_stands(3200, 2e6)),
                                     *starts(OPENING, 3500, 2e6), *second(leaf_moves(OPENING, 3500, 2e6)),
                                     *second(felt(4000, OPENING))], "motion goes on"),
        # A fault: both must react.
        ("fault-in-motion", [*DISTURBED, *stops(3200), *second(leaf_stands(3200, 2e6)), *starts(OPENING, 3500, 2e6),
                             *second(leaf_moves(OPENING, 3600, 2e6))], "pass"),
        ("fault-in-motion", [*DISTURBED, *stops(3200), *starts(OPENING, 3500, 2e6)], "no reaction"),
        ("stop-obeyed", [*CLOSE, *stops(3000), *second(leaf_stands(3900, 2e6))], "pass"),
        ("stop-obeyed", [*CLOSE, *stops(3000), *second(leaf_stands(4100, 2e6))], "not obeyed"),
        # The leaf that follows is no second, unannounced start.
        ("warning-before-automatic-closing", CLOSE, "not exercised"),
        ("no-nuisance-stop", [*CLOSE, (9000, e.LimitReached(Side.CLOSED)),
                              *second([(9500, e.LimitReached(Side.CLOSED))])], "pass"),
        ("no-nuisance-stop", [*CLOSE, *second(leaf_stands(5000, 1e6)), *second(leaf_moves(CLOSING, 6000, 1e6)),
                              (9000, e.LimitReached(Side.CLOSED))], "pass"),
        ("no-nuisance-stop", [*CLOSE, *stops(5000, 1e6)], "stopped"),
        # Pressed edges of the other leaf count at a start.
        ("no-unsafe-start", [*second(felt(0, CLOSING, 0.0)), *asked(CLOSING, 5000)], "edge pressed"),
        ("never-both-directions", [(0, e.ContactorsChanged(True, False)),
                                   (0, e.ContactorsChanged(False, True, LeafName.SECOND))], "pass"),
        ("never-both-directions", [(0, e.ContactorsChanged(True, False)),
                                   (9, e.ContactorsChanged(True, True, LeafName.SECOND))], "both energised"),
        ("reversal-after-standstill", [*CLOSE, *stops(3000), (3500, e.ContactorsChanged(True, False)),
                                       (3500, e.ContactorsChanged(True, False, LeafName.SECOND))],
         "energised while moving"),
        ("motion-agrees-with-order", [*second(leaf_moves(OPENING, 100, 0.0))], "without an order"),
        ("travel-time-limit", [(0, order(OPENING)), (0, e.ContactorsChanged(True, False, LeafName.SECOND))], "goes on"),
        # It could have closed only once both leaves stood.
        ("automatic-closing-cancelled", [*AT_OPEN, *press(Command.STOP, 9500)], "undetermined"),
        ("automatic-closing-cancelled",
         [*AT_OPEN, *press(Command.STOP, 9500), *second(leaf_stands(9900, 4e6))], "pass"),
    ],
)  # fmt: skip
def test_where_the_other_leaf_counts(pair: Site, name: str, story: Story, expected: str) -> None:
    verdict = judged(pair, name, story, 62_000)
    assert (verdict.failure or verdict.outcome.value) == expected


RAYED = [*CLOSE, *into_ray(3000), *stops(3200), *second(leaf_stands(3200, 2e6))]
"""The beam of the first leaf interrupted while both close; both stand."""


def gone(at: float, wire: str, device: str, way: Guard = Guard.CLOSING) -> Story:
    return disturbed(at, way, device, f"{wire} of {device}", FoundBy.NEXT_START)


@pytest.mark.parametrize(
    ("name", "story", "expected"),
    [
        # The leaf that the beam guards is what must go back in time.
        ("beam-reversal-begun", [*RAYED, *starts(OPENING, 3500, 2e6)], "pass"),
        ("beam-reversal-begun", [*RAYED, *second(leaf_moves(OPENING, 3500, 2e6))], "no reversal"),
        # It goes on after it waited: still an automatic move.
        ("beam-reversal-begun", [*asked(CLOSING), *leaf_stands(2000, 3e6), *leaf_moves(CLOSING, 2500, 3e6),
                                 *into_ray(3000)], "no reversal"),
        # Pressed on the way back, on the other leaf.
        ("beam-reversal-begun", [*second(felt(0, OPENING)), *RAYED], "not exercised"),
        ("both-leaves-stop", RAYED, "pass"),
        ("both-leaves-stop", [*CLOSE, *into_ray(3000), *stops(3200)], "a leaf goes on"),
        # The movement is the gate's: one leaf at its end completes nothing.
        ("beam-not-a-demand", [*second([(0, e.LimitLeft(Side.CLOSED))]), *CLOSE, *into_ray(3000),
                               (3100, e.LimitReached(Side.CLOSED)), *into_ray(3200, beam="b"),
                               *stops(3300, 0.0), *second(leaf_stands(3300, 2e6)), *starts(OPENING, 3600, 0.0),
                               *second(leaf_moves(OPENING, 3600, 2e6))], "pass"),
        ("beam-not-a-demand", [*CLOSE, *into_ray(3000), (3100, e.LimitReached(Side.CLOSED)), *into_ray(3200, beam="b"),
                               *stops(3300, 0.0), *second(leaf_stands(3300, 2e6)), *starts(OPENING, 3600, 0.0),
                               *second(leaf_moves(OPENING, 3600, 2e6))], "not exercised"),
        # Pulses before the move: a beam that fails while the second leaf still waits has not been started untested.
        ("beam-fault-found-by-test", [*asked(CLOSING), *gone(1000, "beam output", "ray"),
                                      *second(leaf_moves(CLOSING, 9000, 4e6))], "not exercised"),
        ("beam-fault-found-by-test", [*gone(0, "beam output", "ray"), *second(asked(CLOSING, 9000))],
         "started untested"),
        ("no-unsafe-start", [*HEARD, *asked(CLOSING), *gone(1000, "loop wiring", "nose"),
                             *second(leaf_moves(CLOSING, 9000, 4e6))], "not exercised"),
        ("no-unsafe-start", [*HEARD, *gone(0, "loop wiring", "nose"), *second(asked(CLOSING, 9000))], "device faulty"),
    ],
)  # fmt: skip
def test_beams_and_two_leaves(pair: Site, name: str, story: Story, expected: str) -> None:
    verdict = judged(pair, name, story, 62_000)
    assert (verdict.failure or verdict.outcome.value) == expected


@pytest.mark.parametrize(("zones", "expected"), [
    (("rear",), "too far"), (("rear 2",), "too far"), (("rear", "rear 2"), "not exercised")])
def test_a_beam_guards_the_way_back_of_the_leaves_of_its_zones(
    pair: Site, zones: tuple[str, ...], expected: str
) -> None:
    """Every edge gone, both leaves go back far: the leaf that no beam guards has gone too far."""
    guarded = replace(pair, beams=(replace(pair.beams[0], name="back ray", zones=zones),))
    off: Story = []
    for name in ("nose", "nose 2", "tail", "tail 2"):
        way = Guard.CLOSING if name.startswith("nose") else Guard.OPENING
        off += disturbed(3000, way, name, f"loop wiring of {name}")
    both = [*stops(3200), *starts(OPENING, 3500, 2e6), *stops(5000, 2.9e6)]
    legs = [*second(leaf_stands(3200, 2e6)), *second(leaf_moves(OPENING, 3500, 2e6)), *second(leaf_stands(5000, 2.9e6))]
    story = [*CLOSE, *off, *sorted([*both, *legs], key=lambda one: one[0])]
    verdict = judged(guarded, "way-back-unguarded", story, 9000)
    assert (verdict.failure or verdict.outcome.value) == expected


def test_a_leaf_that_goes_on_after_waiting_is_no_new_start(pair: Site) -> None:
    """The second leaf waits and goes on under the same order: nobody has to announce a low battery anew."""
    story: Story = [(0, e.BatteryFlagged("nose sender", "low")), (4000, e.Announced("battery low", "nose")),
                    *asked(CLOSING, 5000), *second(leaf_moves(CLOSING, 5100, 4e6)), *second(leaf_stands(6000, 3e6)),
                    *second(leaf_moves(CLOSING, 7000, 3e6))]
    assert judged(pair, "battery-low-announced", story, 9000).outcome.value == "pass"


def test_a_movement_is_completed_when_both_leaves_are_there(pair: Site) -> None:
    """The first leaf at its open end while the second opens on: the relief that follows is no start."""
    begun = Judge.begin(pair)
    for number, (at, event) in enumerate([*asked(OPENING), *second(leaf_moves(OPENING, 1500, 0.0)),
                                          (2000, e.LimitReached(Side.OPEN)), (2000, e.LeafStopped(4e6)),
                                          *second(felt(3000, OPENING)), (3010, order(None)),
                                          *second(leaf_stands(3200, 2e6)), *starts(CLOSING, 3500, 4e6)]):
        begun.see(number, at * 1000, event)
    assert begun.verdicts(4e6)["warning-before-automatic-closing"].failure is None
    assert begun.verdicts(4e6)["lockout-origins"].failure is None
