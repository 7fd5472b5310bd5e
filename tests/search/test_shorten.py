"""Shortening: what goes, what stays, and that the same failure is kept."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from gatesim.search.shorten import shorten


def story(count: int, **more: Any) -> dict[str, Any]:
    steps = [{"at": f"{k}.25 s", "do": "press", "edge": f"edge {k}", "held": "400 ms"} for k in range(1, count + 1)]
    return {"ends": "64 s", "steps": steps, **more}


def edges(tree: dict[str, Any]) -> set[str]:
    return {step["edge"] for step in tree["steps"]}


@given(st.sets(st.integers(1, 12), min_size=1, max_size=4))
def test_only_the_steps_that_are_needed_stay(needed) -> None:
    wanted = {f"edge {k}" for k in needed}
    short = shorten(story(12), lambda tree: wanted <= edges(tree))
    assert edges(short.tree) == wanted
    assert (short.steps_before, short.steps) == (12, len(wanted))


def test_fields_times_and_the_end_get_plainer() -> None:
    padded = story(1, covers=["x"], overrides=[{"setting": "a", "value": "1"}])
    short = shorten(padded, lambda tree: bool(tree["steps"]))
    assert short.tree == {"ends": "1 s", "steps": [{"at": "0 s", "do": "press", "edge": "edge 1"}]}


def test_a_time_stays_as_exact_as_it_must_be() -> None:
    short = shorten(story(1), lambda tree: [step["at"] for step in tree["steps"]] == ["1.25 s"])
    assert short.tree["steps"][0]["at"] == "1.25 s"


def test_what_does_not_fail_is_not_taken() -> None:
    tree = story(3)
    assert shorten(tree, lambda _: False).tree == tree


def test_devices_go_with_what_hangs_on_them() -> None:
    site = {
        "zones": [{"name": "gap"}, {"name": "pocket"}],
        "edges": [{"name": "front", "zone": "gap", "input": "one"}, {"name": "rear", "zone": "pocket", "input": "two"}],
        "transmitters": [{"name": "one"}, {"name": "two"}],
        "receiver": {"pairs": ["one", "two"]},
    }

    def fails(tree: dict[str, Any]) -> bool:
        here = tree["site"]
        return isinstance(here, str) or any(edge["name"] == "rear" for edge in here.get("edges", []))

    short = shorten({"site": "sites/x.site.yaml", "ends": "1 s", "steps": []}, fails, site)
    assert short.tree["site"] == {
        "zones": [{"name": "pocket"}],
        "edges": [{"name": "rear", "zone": "pocket", "input": "two"}],
        "transmitters": [{"name": "two"}],
        "receiver": {"pairs": ["two"]},
    }


def test_where_no_device_can_go_the_site_stays_a_path() -> None:
    tree = {"site": "sites/x.site.yaml", "ends": "1 s", "steps": []}
    short = shorten(tree, lambda candidate: isinstance(candidate["site"], str), {"zones": [{"name": "gap"}]})
    assert short.tree["site"] == "sites/x.site.yaml"
