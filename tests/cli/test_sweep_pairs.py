"""`gatesim sweep --pairs` as a user gives it."""

from __future__ import annotations

import json

import pytest


@pytest.mark.slow
def test_pairs_stand_beside_the_rows(gatesim, site) -> None:
    chosen = ("--fault", "report-frozen", "--fault", "lost-link", "--pairs", "--budget", "12", "--jobs", "1")
    said = gatesim("sweep", site, *chosen, "--format", "json")
    answer = json.loads(said.out)
    assert answer["format"] == "gatesim-sweep/1"
    summary = answer["summary"]
    # Four spots, each followed by the three others and by a contact, both ways.
    assert len(answer["pairs"]) + summary["pairs_missing"] == 2 * 4 * 4
    assert summary["pairs"] == len(answer["pairs"]) > 0
    assert summary["pairs_graver"] == sum(one["graver"] for one in answer["pairs"])
    for one in answer["pairs"]:
        assert one["when"] in ("latent first", "during the reaction")
        assert (one["bound_us"] is None) or one["coverage"] == "exact"
        assert (one["then_device"] is None) == (one["then"] == "contact")
    text = gatesim("sweep", site, "--fault", "lost-link", "--pairs", "--budget", "4", "--jobs", "1")
    assert "Second faults" in text.out
    assert "graver than each fault alone" in text.out
    assert text.code == 0


def test_pairs_of_everything_need_a_budget(gatesim, site) -> None:
    said = gatesim("sweep", site, "--pairs")
    assert said.code == 2
    assert "--budget" in said.err


@pytest.mark.slow
def test_without_pairs_there_are_none(gatesim, site) -> None:
    said = gatesim("sweep", site, "--fault", "sounder-dead", "--budget", "1", "--jobs", "1", "--format", "json")
    answer = json.loads(said.out)
    assert "pairs" not in answer
    assert "pairs" not in answer["summary"]


@pytest.mark.slow
def test_combinations_stand_beside_the_rows(gatesim, site, scenario) -> None:
    chosen = ("--fault", "sounder-dead", "--ways", "2", "--jobs", "1", "--budget", "30")
    answer = json.loads(gatesim("sweep", site, *chosen, "--format", "json").out)
    ways = answer["ways"]
    assert ways["strength"] == 2
    assert ways["rows_missing"] == 0
    names = [factor["name"] for factor in ways["factors"]]
    assert all([one["name"] for one in row["values"]] == names for row in ways["rows"])
    text = gatesim("sweep", site, *chosen)
    assert "any 2 of these meet" in text.out
    assert gatesim("sweep", scenario, "--ways", "2", "--fault", "sounder-dead", "--budget", "1").code == 2
