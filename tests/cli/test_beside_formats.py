"""An earlier check and golden traces in the formats of a CI: what makes the build red can be read in each."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from readers import READERS

from gatesim.report.cases_as import names


@pytest.fixture
def project(tmp_path, scenarios, monkeypatch) -> Path:
    """One scenario with its site, in a folder of its own."""
    (tmp_path / "sites").mkdir()
    shutil.copy(scenarios / "first-look.scenario.yaml", tmp_path)
    shutil.copy(scenarios / "sites" / "mill-lane.site.yaml", tmp_path / "sites")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _slower(project: Path) -> None:
    site = project / "sites" / "mill-lane.site.yaml"
    site.write_text(site.read_text().replace('sampling: "10 ms"', 'sampling: "11 ms"'))


@pytest.mark.parametrize("style", names())
def test_what_makes_the_build_red_is_said(gatesim, project, style) -> None:
    assert gatesim("check", ".", "--save", "before", "--accept", "-q").code == 0
    beside = ("check", ".", "--against", "before", "--golden", "--margin-loss", "1", "--format", style, "-q")
    green = gatesim(*beside)
    assert green.code == 0
    assert READERS[style](green.out.encode()).bad == 0

    _slower(project)
    red = gatesim(*beside)
    read = READERS[style](red.out.encode())
    assert red.code == 1
    assert read.bad > 1
    assert any("% lost" in text for text in read.texts)
    assert any("the run differs from its golden trace" in text for text in read.texts)

    warned = gatesim("check", ".", "--against", "before", "--margin-loss", "1", "--on-loss", "warn", "--format", style)
    read = READERS[style](warned.out.encode())
    assert (warned.code, read.bad) == (0, 0)
    assert any("% lost" in text for text in read.texts) or style == "tap"  # there it is a comment


@pytest.mark.parametrize("style", names())
def test_no_golden_trace_at_all_is_never_green(gatesim, project, style) -> None:
    said = gatesim("check", ".", "--golden", "--format", style)
    assert said.code == 5
    assert READERS[style](said.out.encode()).bad == 1
