"""`sweep`, `history` and `shorten` as a user gives them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

ROW = {"fault", "device", "direction", "phase", "duration", "outcome", "worst_us", "bound_us", "limit_us", "margin_us",
       "worst_at_us", "runs", "coverage"}
SUMMARY = {"runs", "seconds", "outcomes", "states_reached", "states", "transitions_reached", "transitions"}


@pytest.fixture
def site(scenarios, tmp_path) -> Path:
    (tmp_path / "sites").mkdir()
    return Path(shutil.copy(scenarios / "sites" / "mill-lane.site.yaml", tmp_path / "sites"))


@pytest.mark.slow
def test_a_sweep_in_json_with_its_worst_stories(gatesim, site, tmp_path) -> None:
    said = gatesim("sweep", site, "--fault", "lost-link", "--budget", "1", "--jobs", "1", "--format", "json",
                   "--write", tmp_path)
    answer = json.loads(said.out)
    assert said.code == 0
    assert answer["format"] == "gatesim-sweep/1"
    assert len(answer["rows"]) == 4
    assert all(set(row) >= ROW for row in answer["rows"])
    assert set(answer["summary"]) >= SUMMARY
    for row in answer["rows"]:
        assert row["coverage"] == "incomplete"
        assert row["bound_us"] is None
        assert row["gaps_us"]
        if row["worst_us"] is not None:
            assert row["margin_us"] == row["limit_us"] - row["worst_us"]
    written = sorted(tmp_path.glob("*.scenario.yaml"))
    assert len(written) == 4
    assert gatesim("check", *written, "-q").code == 0


@pytest.mark.slow
def test_a_sweep_in_words(gatesim, site) -> None:
    said = gatesim("sweep", site, "--fault", "edge-torn-loose", "--budget", "0.5", "--jobs", "1")
    assert said.code == 0
    assert "Residual risk" in said.out
    assert "of 8 contacts the edge missed 8" in said.out
    assert "It is no statement about a gate that stands somewhere" in said.out


@pytest.mark.slow
def test_a_scenario_can_be_swept(gatesim, scenario) -> None:
    said = gatesim("sweep", scenario, "--fault", "lost-link", "--budget", "0.5", "--jobs", "1", "--format", "json")
    assert {row["direction"] for row in json.loads(said.out)["rows"]} == {"opening", "closing"}


def test_an_unknown_kind_is_told_with_the_nearest(gatesim, site) -> None:
    said = gatesim("sweep", site, "--fault", "lost-lnk")
    assert said.code == 2
    assert "did you mean 'lost-link'?" in said.err


def test_writing_where_there_is_no_folder(gatesim, site, tmp_path) -> None:
    said = gatesim("sweep", site, "--fault", "lost-link", "--budget", "0.1", "--jobs", "1", "--write", tmp_path / "no")
    assert said.code == 2
    assert "there is no such folder" in said.err


@pytest.mark.slow
def test_two_sweeps_are_compared(gatesim, site, tmp_path) -> None:
    store = tmp_path / "kept.sqlite"
    sweep = ("sweep", site, "--fault", "lost-link", "--budget", "6", "--jobs", "1", "--store", store, "-q")
    assert gatesim(*sweep, "--save", "before").code == 0
    site.write_text(site.read_text().replace('watchdog_in_motion: "900 ms"', 'watchdog_in_motion: "1.2 s"'))
    assert gatesim(*sweep, "--save", "after").code == 0
    listed = gatesim("history", "--store", store)
    assert "before: sweep of Mill Lane yard" in listed.out
    compared = gatesim("history", "--store", store, "before", "after", "--format", "json")
    assert compared.code == 1
    answer = json.loads(compared.out)
    assert answer["worse"] >= 1
    assert answer["before"]["site_sha256"] != answer["after"]["site_sha256"]
    assert "The site changed in between." in gatesim("history", "--store", store, "before", "after").out
    assert gatesim("history", "--store", store, "before", "before").code == 0
    assert gatesim("history", "--store", store, "before").code == 2
    assert gatesim("history", "--store", store, "before", "never").code == 2


PADDED = """format: gatesim-scenario/1
title: Too much in it
teaches: Nothing; it is padded.
site: sites/mill-lane.site.yaml
overrides:
  - setting: receiver.watchdog_in_motion
    value: "5 s"
  - setting: controller.closing_warning
    value: "6 s"
ends: "90 s"
steps:
  - at: "0.7 s"
    do: press
    edge: rear edge
  - at: "6.123 s"
    do: command
    command: open
    origin: portable radio
  - at: "40.5 s"
    do: command
    command: close
  - at: "45.123456 s"
    do: fault
    fault: lost-link
    device: front transmitter
  - at: "70 s"
    do: command
    command: stop
expect: []
"""


@pytest.mark.slow
def test_a_padded_story_is_shortened_and_still_fails(gatesim, site, tmp_path) -> None:
    file = tmp_path / "padded.scenario.yaml"
    file.write_text(PADDED)
    out = tmp_path / "short.scenario.yaml"
    said = gatesim("shorten", file, "--requirement", "fault-in-motion", "-o", out, "--no-devices")
    assert said.code == 0
    text = out.read_text()
    assert "5 steps became 3" in said.err
    assert "press" not in text
    assert "stop" not in text
    assert "closing_warning" not in text
    assert "watchdog_in_motion" in text
    assert gatesim("check", out).code == 0
    fewer = gatesim("shorten", file, "--requirement", "fault-in-motion")
    assert "rear transmitter" not in fewer.out
    assert "front transmitter" in fewer.out


def test_nothing_to_shorten(gatesim, scenario) -> None:
    said = gatesim("shorten", scenario)
    assert said.code == 5
    assert "fails no requirement" in said.err


@pytest.mark.slow
def test_a_failure_that_is_not_there(gatesim, scenarios) -> None:
    said = gatesim("shorten", scenarios / "bad-watchdog-too-long.scenario.yaml", "--requirement", "peak-force")
    assert said.code == 2
    assert "it fails: " in said.err


COURT = Path(__file__).parents[2] / "scenarios" / "sites" / "foundry-court.site.yaml"


@pytest.mark.slow
def test_rows_name_the_leaf(gatesim, tmp_path) -> None:
    store = tmp_path / "kept.sqlite"
    said = gatesim("sweep", COURT, "--fault", "edge-torn-loose", "--budget", "2", "--jobs", "1", "--format", "json",
                   "--save", "one", "--store", store)
    rows = json.loads(said.out)["rows"]
    assert {row["leaf"] for row in rows} == {"first", "second"}
    assert len({(row["device"], row["direction"], row["leaf"]) for row in rows}) == len(rows) == 16
    kept = gatesim("history", "--store", store)
    assert "16" in kept.out
    assert said.code == 0


def test_what_knows_one_leaf_only_says_so(gatesim) -> None:
    sweep = ("sweep", COURT, "--fault", "lost-link", "--budget", "0.1")
    for asked in (("losses", COURT, "--loss", "1 %"), (*sweep, "--ways", "2")):
        said = gatesim(*asked)
        assert said.code == 2
        assert "take a site of one leaf only" in said.err
