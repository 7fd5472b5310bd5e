"""Several processes judge as one does, byte for byte."""

from __future__ import annotations

import shutil

import pytest

NAMES = ("first-look", "bad-check-in-too-rare", "wired-edge")
DIES = """import os
from gatesim.plant.logic.controller_reference import ReferenceController
class Dies(ReferenceController):
    def step(self, state, seen, now):
        os._exit(9)
class Held(ReferenceController):
    def start(self, settings, kept):
        state, do = super().start(settings, kept)
        self.last = state
        return self, do
    def step(self, state, seen, now):
        self.last, do = super().step(self.last, seen, now)
        return self, do
"""


@pytest.fixture
def some(scenarios, tmp_path):
    """A few scenarios of which one has a warning, and one that does not load."""
    shutil.copytree(scenarios / "sites", tmp_path / "sites")
    for name in NAMES:
        shutil.copy(scenarios / f"{name}.scenario.yaml", tmp_path)
    (tmp_path / "broken.scenario.yaml").write_text("format: gatesim-scenario/1\n")
    (tmp_path / "logic.py").write_text(DIES)
    return tmp_path


def test_two_processes_say_what_one_says(gatesim, some) -> None:
    for style in ("json", "text"):
        one, two = (gatesim("check", some, "--format", style, "--jobs", jobs) for jobs in (1, 2))
        assert one == two
        assert (one.code, "warning: a late frame" in one.err) == (2, True)


def test_what_is_to_be_known_of_the_logic_is_said_once(gatesim, some) -> None:
    given = ("check", *(some / f"{name}.scenario.yaml" for name in NAMES), "--controller", f"{some}/logic.py:Held")
    one, two = (gatesim(*given, "--jobs", jobs) for jobs in (1, 2))
    assert one.out == two.out
    assert sorted(one.err.splitlines()) == sorted(two.err.splitlines())
    assert two.err.count("playing all its calls again") == 1


def test_logic_that_takes_its_process_with_it_is_told_in_words(gatesim, some) -> None:
    said = gatesim("check", some, "--jobs", "2", "--controller", f"{some}/logic.py:Dies")
    assert (said.code, said.out) == (3, "")
    assert "a process that judged has died" in said.err


def test_wrong_logic_is_refused_before_anything_runs(gatesim, some) -> None:
    one, two = (gatesim("check", some, "--jobs", jobs, "--controller", "logic.py") for jobs in (1, 2))
    assert one == two
    assert one.code == 2


def test_what_needs_whole_traces_is_refused(gatesim, some) -> None:
    said = gatesim("check", some, "--jobs", "2", "--golden")
    assert said.code == 2
    assert "leave --jobs out" in said.err
