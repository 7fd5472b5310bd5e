"""A site that several scenarios name is read once, and anew when its file says something else."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from gatesim.cli import known
from gatesim.errors import BadInput

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def test_it_is_read_anew_when_it_changes(tmp_path) -> None:
    shutil.copytree(SCENARIOS / "sites", tmp_path / "sites")
    file, site = tmp_path / "first-look.scenario.yaml", tmp_path / "sites/mill-lane.site.yaml"
    shutil.copy(SCENARIOS / file.name, file)
    text = site.read_text()
    first = known.scenario(file).site
    assert known.scenario(file).site is first
    site.write_text(text.replace("name: Mill Lane", "name: New Lane", 1))
    assert known.scenario(file).site.name.startswith("New Lane")
    for _ in range(2):  # a broken site is told every time
        site.write_text(text.replace("travel:", "travle:", 1))
        with pytest.raises(BadInput, match="travle"):
            known.scenario(file)
    site.write_text(text)
    assert known.scenario(file).site == first
