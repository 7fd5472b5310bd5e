"""Second simulator, B: as A, but scans are computed only when something changes."""

from __future__ import annotations

from typing import Any

from second_model import Trace, run, scans_on_change


def simulate(site: Any, scenario: Any, faults: dict[str, str] | None = None) -> Trace:
    """The trace of a scenario, as in A."""
    return run(site, scenario, scans_on_change, faults)
