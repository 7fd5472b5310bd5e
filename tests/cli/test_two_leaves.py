"""A site of two leaves through every command that takes it."""

from __future__ import annotations

import io
import json
from pathlib import Path

import jsonschema
import pytest
import yaml

SHIPPED = Path(__file__).parents[2] / "scenarios"
STORIES = sorted(SHIPPED.glob("two-leaves-*.scenario.yaml"))
SITE = SHIPPED / "sites" / "foundry-court.site.yaml"


def test_there_are_enough() -> None:
    assert len(STORIES) >= 7


@pytest.mark.slow
def test_the_scenarios_are_as_expected_and_in_the_matrix(gatesim) -> None:
    said = gatesim("check", *map(str, STORIES), "--matrix")
    assert said.code == 0
    assert "leaves-keep-order" in said.out


@pytest.mark.slow
@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name.split(".")[0])
def test_a_written_trace_is_judged_as_the_run_was(gatesim, story: Path, tmp_path: Path) -> None:
    trace = tmp_path / "trace.jsonl"
    ran = json.loads(gatesim("run", str(story), "--trace", str(trace), "--format", "json").out)
    site = SITE
    if "overrides" in yaml.safe_load(story.read_text(encoding="utf-8")):
        site = tmp_path / SITE.name
        site.write_text(SITE.read_text(encoding="utf-8").replace('opening_delay: "600 ms"', 'opening_delay: "7 s"'))
    judged = json.loads(gatesim("judge", str(trace), "--site", str(site), "--format", "json").out)
    assert b'"leaf":"second"' in trace.read_bytes()
    assert b'"leaf":"first"' not in trace.read_bytes()
    assert outcomes(judged) == outcomes(ran)


def outcomes(said: dict) -> dict[str, str]:
    """Each verdict by its requirement, wherever it stands in the object."""
    found: dict[str, str] = {}

    def walk(value: object) -> None:
        if isinstance(value, dict):
            if isinstance(value.get("requirement"), str) and "outcome" in value:
                found[value["requirement"]] = json.dumps([value["outcome"], value.get("quantity")])
            for inner in value.values():
                walk(inner)
        elif isinstance(value, list):
            for inner in value:
                walk(inner)

    walk(said)
    assert found
    return found


def test_the_plan_tells_of_order_delay_and_overlap(gatesim) -> None:
    said = gatesim("plan", str(SITE))
    assert said.code == 0
    text = " ".join(said.out.split())
    assert "the first leaf lies on top, opens first and closes last. The other one waits 600 ms while opening" in text
    assert "until the first leaf is 250 mm open; closing, the first leaf waits 1200 ms" in text
    assert "opening: the first leaf first, the other 600 ms later and not before the first one is 250 mm open" in text
    assert "second leaf, closing: 500.0 ms after each start" in text
    assert "both leaves stop, reversal begun within" in text
    one = " ".join(gatesim("plan", str(SHIPPED / "sites" / "mill-lane.site.yaml")).out.split())
    assert "leaves stop" not in one
    assert "Two leaves" not in one


def test_the_site_fits_its_schema(gatesim) -> None:
    schema = json.loads(gatesim("schema", "site").out)
    jsonschema.validate(yaml.safe_load(SITE.read_text(encoding="utf-8")), schema)


def test_replay_draws_both_leaves(gatesim, monkeypatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("n\nq\n"))
    said = gatesim("replay", str(SHIPPED / "two-leaves-healthy.scenario.yaml"))
    assert "|#...........| |#...........|" in said.out
