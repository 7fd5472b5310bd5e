"""How much work the shipped scenarios are: counts, not times.  A rise over 5 % fails, and is accepted on purpose.

To accept: `PYTHONPATH=. python tests/house/test_counts.py`, and say why in the commit.
"""

from __future__ import annotations

import json
import pickle
from pathlib import Path
from typing import Any

import pytest

from gatesim import run as runner
from gatesim.cli import known
from gatesim.plant import world as worlds
from gatesim.plant.logic.contract import Roles

ROOT = Path(__file__).parents[2]
FILE = Path(__file__).with_name("counts.json")
MEASURED = ("instants", "part calls", "logic calls", "copies", "bytes a world")


class Counted:
    """A role that counts its calls."""

    def __init__(self, role: Any, counts: dict[str, int]) -> None:
        self.role, self.counts = role, counts

    def start(self, *args: Any) -> Any:
        self.counts["logic calls"] += 1
        return self.role.start(*args)

    def step(self, *args: Any) -> Any:
        self.counts["logic calls"] += 1
        return self.role.step(*args)


def count(path: Path, patch: pytest.MonkeyPatch) -> dict[str, int]:
    """Run one scenario and count."""
    counts = dict.fromkeys(MEASURED, 0)
    roles = Roles(*(Counted(role, counts) for role in runner.default_roles()))
    instant, built, copy = worlds.instant, runner.built, worlds.World.copy

    def counted_instant(plant: Any, world: Any, now: float, stimuli: Any = ()) -> Any:
        counts["instants"] += 1
        happened = instant(plant, world, now, stimuli)
        if counts["instants"] % 100 == 1:
            counts["bytes a world"] = max(counts["bytes a world"], len(pickle.dumps((world.values, world.due))))
        return happened

    def counted_built(*args: Any) -> Any:
        plant = built(*args)
        plant.calls = tuple([(counted_react(react), *rest) for react, *rest in plant.calls])
        return plant

    def counted_react(react: Any) -> Any:
        def counted(*args: Any) -> Any:
            counts["part calls"] += 1
            return react(*args)

        return counted

    def counted_copy(self: Any) -> Any:
        counts["copies"] += 1
        return copy(self)

    patch.setattr(runner, "instant", counted_instant)
    patch.setattr(runner, "built", counted_built)
    patch.setattr(worlds.World, "copy", counted_copy)
    runner.run_scenario(known.scenario(path), roles)
    patch.undo()
    return counts


def everything(patch: pytest.MonkeyPatch) -> dict[str, dict[str, int]]:
    """The counts of every shipped scenario."""
    return {path.name: count(path, patch) for path in sorted((ROOT / "scenarios").glob("*.scenario.yaml"))}


def test_no_scenario_became_more_work(monkeypatch: pytest.MonkeyPatch) -> None:
    accepted = json.loads(FILE.read_text(encoding="utf-8"))
    now = everything(monkeypatch)
    assert sorted(now) == sorted(accepted), "scenarios came or went: accept the counts anew"
    risen = [f"{name}: {what} {accepted[name][what]} -> {counts[what]}" for name, counts in now.items()
             for what in MEASURED if counts[what] > accepted[name][what] * 1.05]
    assert risen == []
    assert all(counts[what] > 0 for counts in now.values() for what in ("instants", "part calls", "logic calls"))


if __name__ == "__main__":
    FILE.write_text(json.dumps(everything(pytest.MonkeyPatch()), indent=1) + "\n", encoding="utf-8")
