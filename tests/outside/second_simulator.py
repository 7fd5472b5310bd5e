"""Second simulator, A: the script a competent user would write; every scan is an event.

    python second_simulator.py SCENARIO
"""

from __future__ import annotations

import sys
from typing import Any

from second_model import Trace, run, scans_each


def simulate(site: Any, scenario: Any, faults: dict[str, str] | None = None) -> Trace:
    """The trace of a scenario (steps and end) at a site: (time in us, name, device); names in `second_model`."""
    return run(site, scenario, scans_each, faults)


if __name__ == "__main__":
    from gatesim.scenario.read import read_scenario  # type: ignore[import-not-found, unused-ignore]

    told = read_scenario(sys.argv[1])
    for at, name, device in simulate(told.site, told):
        print(f"{at:>18.3f}  {name} {device}".rstrip())
