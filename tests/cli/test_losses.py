"""`gatesim losses` as a user gives it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
MILL = SITES / "mill-lane.site.yaml"


@pytest.mark.slow
def test_losses_for_programs(gatesim) -> None:
    said = gatesim("losses", MILL, "--loss", "2 %", "--fault", "loop-open", "--at", "45 s", "--format", "json")
    assert said.code == 0
    answer = json.loads(said.out)
    assert answer["format"] == "gatesim-losses/1"
    assert answer["channels"]["front transmitter"]["mean_loss"] == 0.02
    stories = [(row["story"], row["device"]) for row in answer["rows"]]
    assert stories == [("healthy start", ""), ("healthy move", ""), ("contact", "edge alone"),
                       ("contact", "gate as a whole"), ("loop-open", "front edge"), ("loop-open", "rear edge")]
    for row in answer["rows"]:
        assert row["direction"] == "closing"
        assert sum(row["outcomes"].values()) + row["unaccounted"] == pytest.approx(1, abs=1e-12)
        assert ("nuisance" in row) == row["story"].startswith("healthy")


@pytest.mark.slow
def test_losses_for_people_in_bursts_and_their_limits(gatesim) -> None:
    bursts = ("--worse", "1 %", "--better", "20 %", "--at", "45 s")
    said = gatesim("losses", MILL, "--loss", "0.1 %", *bursts, "--nuisance-at-most", "0.1 %", "--late-at-most", "5 %")
    assert said.code == 1
    assert "lost in the long run" in said.out
    assert "healthy start" in said.err
    assert "contact" not in said.err
    assert "eft out" in said.out


@pytest.mark.slow
def test_the_losses_that_a_site_states(gatesim) -> None:
    """Link budget and bursts in time, of a site that has both; the time is shared out, and what it leaves is said."""
    said = gatesim("losses", SITES / "long-acre.site.yaml", "--at", "20 s", "--budget", "4", "--format", "json")
    assert said.code == 0
    answer = json.loads(said.out)
    channel = answer["channels"]["front transmitter"]
    assert (channel["link_budget"], channel["worse"]) == (True, None)
    assert 0 < channel["share_bad"] < 0.01
    for row in answer["rows"]:
        assert sum(row["outcomes"].values()) + row["unaccounted"] == pytest.approx(1, abs=1e-12)
    assert answer["rows"][0]["unaccounted"] < 1e-12


@pytest.mark.parametrize(("options", "why"), [
    ((), "no frame is ever lost"),
    (("--loss", "0.02"), "needs a unit"),
    (("--loss", "2 %", "--worse", "1 %"), "go together"),
    (("--loss", "2 %", "--loss-in-bad", "1 %"), "for bursts"),
    (("--loss", "2 %", "--worse", "1 %", "--better", "0 %"), "stay so for ever"),
    (("--loss", "2 %", "--at", "27 s"), "lies in no move"),
    (("--loss", "2 %", "--at", "soon"), "does not start with a number"),
    (("--loss", "2 %", "--fault", "gremlins"), "no fault kind"),
])
def test_losses_refuses_what_makes_no_sense(gatesim, options, why) -> None:
    said = gatesim("losses", MILL, *options)
    assert said.code == 2
    assert why in said.err
