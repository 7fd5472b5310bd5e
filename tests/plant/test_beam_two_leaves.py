"""A presence beam on a site of two leaves: whom it guards, and that it stops both."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gatesim import events as e
from gatesim.events import Command, Direction, LeafName
from gatesim.plant.leaves import leaves_of_beam
from gatesim.plant.operator import controller_settings
from gatesim.plant.site import Beam, Site
from gatesim.requirements.verdict import Outcome
from gatesim.run import default_roles, run_scenario
from gatesim.scenario.model import GiveCommand, Interrupt, Scenario
from gatesim.scenario.read import read_site

BOTH = ("first closing gap", "second closing gap")


def court(*zones: str) -> Site:
    """The shipped site of two leaves, with a beam."""
    site = read_site(Path(__file__).parents[2] / "scenarios" / "sites" / "foundry-court.site.yaml")
    return replace(site, beams=(Beam("ray", zones, 0.0, 1_800_000.0, 140_000.0, 30_000, 80_000),))


@pytest.mark.parametrize(("zones", "leaves", "told"), [
    (BOTH[:1], (LeafName.FIRST,), LeafName.FIRST), (BOTH[1:], (LeafName.SECOND,), LeafName.SECOND),
    (BOTH, tuple(LeafName), None)])
def test_a_beam_guards_the_leaves_of_its_zones(
    zones: tuple[str, ...], leaves: tuple[LeafName, ...], told: LeafName | None
) -> None:
    site = court(*zones)
    assert leaves_of_beam(site, site.beams[0]) == leaves
    device = controller_settings(site).edges[-1]
    assert (device.edge, device.direction, device.leaf) == ("ray", Direction.CLOSING, told)


@pytest.mark.parametrize("zones", [BOTH[:1], BOTH[1:], BOTH])
def test_a_beam_of_either_leaf_stops_and_reverses_both(zones: tuple[str, ...]) -> None:
    site = court(*zones)
    second = replace(site.second_leaf, leaf_at=1_800_000.0)  # type: ignore[type-var]
    site = replace(site, leaf_at=2_400_000.0, second_leaf=second)
    steps = (GiveCommand(at=1_000_000, do="command", command=Command.CLOSE),
             Interrupt(at=7_000_000, do="interrupt", beam="ray", lasts=5_000_000))
    result = run_scenario(Scenario("ray", "", site, 40_000_000, steps, ()), default_roles())
    rows = {row.requirement: row.verdict for row in result.rows}
    for name in ("beam-reversal-begun", "both-leaves-stop"):
        assert rows[name].outcome is Outcome.PASS, rows[name]
    assert not [name for name, verdict in rows.items() if verdict.outcome is Outcome.FAIL]
    back = {event.leaf for at, event in result.sections[0].events
            if isinstance(event, e.LeafStarted) and at > 7e6 and event.direction is Direction.OPENING}
    assert back == set(LeafName)
