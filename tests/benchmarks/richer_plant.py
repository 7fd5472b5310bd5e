"""What motion out of forces costs: runs of one story at one gate with and without a motor.  Run by hand, never judged.

Processor seconds in one process, medians; the aim is at most twice the plain run.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

from gatesim.events import Command, Origin
from gatesim.plant.loads import Loads, Motor
from gatesim.plant.site import Site
from gatesim.run import default_roles, run_scenario
from gatesim.scenario import model as m
from gatesim.scenario.read import read_site

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
SECOND = 1_000_000
ROUNDS = 15


def story(site: Site, ends: int) -> m.Scenario:
    """Open, close, meet a block in the closing gap."""
    zone = next(zone for zone in site.zones if zone.direction.sign < 0)
    steps = (
        m.GiveCommand(do="command", at=SECOND, command=Command.OPEN, origin=Origin.RADIO),
        m.GiveCommand(do="command", at=35 * SECOND, command=Command.CLOSE, origin=Origin.RADIO),
        m.Obstruct(do="obstruct", at=38 * SECOND, obstruction="block", zone=zone.name, position=site.gate.travel / 2),
    )
    return m.Scenario("benchmark", "", site, ends, steps, ())


def timed(work: Callable[[], object]) -> float:
    """Processor seconds of one call."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def main() -> None:
    """Print seconds and ratios."""
    plain = read_site(SITES / "mill-lane.site.yaml")
    motor = Motor(stall_torque=2.4, no_load_speed=2_850, gear_ratio=30, gear_efficiency=0.6, pinion_radius=38_000.0,
                  rotor_inertia=0.0003, backlash=4_000.0)
    rich = replace(plain, drive=replace(plain.drive, motor=motor),
                   gate=replace(plain.gate, loads=Loads(slope=0.02, wind_pressure=60.0, wind_area=6.0e6)))
    weak = replace(rich, drive=replace(rich.drive, motor=replace(motor, stall_torque=1.3)))
    # A plain leaf that takes as long for its travel as the swinging one.
    calm = replace(plain, gate=replace(plain.gate, travel=4_300_000.0),
                   zones=tuple(replace(zone, end=4_300_000.0) for zone in plain.zones),
                   drive=replace(plain.drive, speed_opening=0.165, speed_closing=0.15))
    roles = default_roles()
    sites = {"stated accelerations": plain, "motor": rich, "motor at its line": weak,
             "on a slope (shipped)": read_site(SITES / "quarry-bank.site.yaml"),
             "stated, as slow": calm,
             "swinging (shipped)": read_site(SITES / "kiln-court.site.yaml")}
    works = {name: story(site, 80 * SECOND) for name, site in sites.items()}
    spent: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(ROUNDS):
        for name, scenario in works.items():
            spent[name].append(timed(lambda scenario=scenario: run_scenario(scenario, roles)))  # type: ignore[misc]
    first = 0.0
    for name, times in spent.items():
        first = median(times) if name.startswith("stated") else first  # what follows is measured against it
        print(f"{name:<24} {median(times) * 1000:8.1f} ms a run   x {median(times) / first:.2f}   aim x 2")


if __name__ == "__main__":
    main()
