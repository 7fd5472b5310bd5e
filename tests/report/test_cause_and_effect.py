"""docs/cause-and-effect.md is what the controller's table says."""

from pathlib import Path

from gatesim.plant.logic.controller_table import Mode
from gatesim.report.cause_and_effect import _PHASES, cause_and_effect

ROOT = Path(__file__).resolve().parents[2]


def test_the_page_is_in_step_with_the_table() -> None:
    assert (ROOT / "docs/cause-and-effect.md").read_text(encoding="utf-8") == cause_and_effect()


def test_every_mode_stands_in_one_phase() -> None:
    named = [mode for _, modes in _PHASES for mode in modes]
    assert sorted(named, key=lambda mode: mode.name) == sorted(Mode, key=lambda mode: mode.name)
