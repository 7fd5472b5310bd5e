"""A sound site and scenario to break, and the catalogue they are read with."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gatesim.errors import BadInput, Trouble
from gatesim.scenario.read import read_scenario, read_site

DATA = Path(__file__).parent / "data"
REQUIREMENTS = {"reversal-begun": ("too late",), "overtravel": ("overtravel used up", "edge bypassed")}
MEASURES = {"reversal-begun": "us", "overtravel": "um"}
FAULTS = ("open", "short")


class Desk:
    """A folder with the example; `site` and `scenario` change its text and read it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.scenario_file = folder / "wall-while-closing.scenario.yaml"
        self.site_file = folder / "sites" / "quarry-lane.site.yaml"

    def change(self, file: Path, *changes: tuple[str, str]) -> None:
        text = file.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        file.write_text(text, encoding="utf-8")

    def site(self, *changes: tuple[str, str]) -> Any:
        self.change(self.site_file, *changes)
        return read_site(self.site_file, REQUIREMENTS)

    def scenario(self, *changes: tuple[str, str], **more: Any) -> Any:
        self.change(self.scenario_file, *changes)
        return read_scenario(self.scenario_file, REQUIREMENTS, FAULTS, measures=MEASURES, **more)

    def line(self, file: Path, words: str) -> int:
        """The line (from 1) that holds these words."""
        lines = file.read_text(encoding="utf-8").splitlines()
        return next(k for k, line in enumerate(lines, 1) if words in line)


def told(call: Callable[[], object]) -> tuple[Trouble, ...]:
    """The troubles of a call that must refuse."""
    with pytest.raises(BadInput) as caught:
        call()
    assert str(caught.value)
    return caught.value.troubles


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    shutil.copytree(DATA, tmp_path / "desk")
    return Desk(tmp_path / "desk")


@pytest.fixture
def refusals() -> Callable[[Callable[[], object]], tuple[Trouble, ...]]:
    return told
