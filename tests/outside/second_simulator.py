"""Second simulator, A: the script a competent user would write; every scan is an event."""

from __future__ import annotations

from typing import Any

from second_model import Trace, run, scans_each


def simulate(site: Any, scenario: Any, faults: dict[str, str] | None = None) -> Trace:
    """The trace of a scenario (steps and end) at a site: (time in us, name, device); names in `second_model`."""
    return run(site, scenario, scans_each, faults)
