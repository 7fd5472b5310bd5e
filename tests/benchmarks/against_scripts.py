"""Runs a second against the two hand-written scripts (tests/outside).  Run by hand; ratios in one process, medians.

The product judges every requirement and plays the twins; the scripts judge nothing.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

from gatesim.events import Command, Origin
from gatesim.run import default_roles, run_scenario
from gatesim.scenario import model as m
from gatesim.scenario.read import read_site

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "outside"))

import second_simulator as script_a  # noqa: E402
import second_simulator_on_change as script_b  # noqa: E402

SECOND = 1_000_000
ROUNDS = 9


def story() -> m.Scenario:
    """Open, close, meet a block: 60 s at the shipped site, without draws."""
    site = read_site(ROOT / "scenarios" / "sites" / "mill-lane.site.yaml")
    plain = tuple(replace(node, checkin_jitter=0, latency_spread=0) for node in site.transmitters)
    steps = (
        m.GiveCommand(do="command", at=SECOND, command=Command.OPEN, origin=Origin.RADIO),
        m.GiveCommand(do="command", at=27 * SECOND, command=Command.CLOSE, origin=Origin.RADIO),
        m.Obstruct(do="obstruct", at=30 * SECOND, obstruction="block", zone="closing gap", position=2_400_000.0),
    )
    return m.Scenario("benchmark", "", replace(site, transmitters=plain), 60 * SECOND, steps, ())


def timed(work: Callable[[], object]) -> float:
    """Processor seconds of one call."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def main() -> None:
    """Print runs a second and the ratios."""
    scenario, roles = story(), default_roles()
    works: dict[str, Callable[[], object]] = {
        "A, every scan an event": lambda: script_a.simulate(scenario.site, scenario),
        "B, scans on change": lambda: script_b.simulate(scenario.site, scenario),
        "product, all judged": lambda: run_scenario(scenario, roles),
        "product, no trace kept": lambda: run_scenario(scenario, roles, keep=False),
    }
    spent: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(ROUNDS):
        for name, work in works.items():
            spent[name].append(timed(work))
    middle = {name: median(times) for name, times in spent.items()}
    a, b = middle["A, every scan an event"], middle["B, scans on change"]
    for name, seconds in middle.items():
        print(f"{name:<24} {1 / seconds:8.1f} runs/s   {a / seconds:6.2f} x A   {b / seconds:6.2f} x B")


if __name__ == "__main__":
    main()
