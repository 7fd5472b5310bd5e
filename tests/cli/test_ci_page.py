"""Tried as a QA engineer would: only scenarios and the CI file of docs/ci.md, a controller change that breaks a rule,
and the red build read from its annotations alone."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest
import yaml
from readers import READERS

ROOT = Path(__file__).parents[2]
SOUND = "from gatesim.plant.logic.controller_reference import ReferenceController as Controller\n"
CHANGED = '''
from gatesim.events import Level
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import Mode


class Controller(ReferenceController):
    """Going back is always right, so nothing need be heard meanwhile."""

    def step(self, state, seen, now):
        if state.mode is Mode.REVERSING:
            quiet = tuple(one._replace(level=Level.REST) for one in seen.reports)
            seen = seen._replace(reports=quiet, force=False)
        return super().step(state, seen, now)
'''


def _commands() -> list[list[str]]:
    """What the CI file of the page runs of gatesim."""
    text = (ROOT / "docs" / "ci.md").read_text()
    block = re.search(r"^```yaml\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert block is not None
    steps = yaml.safe_load(block[1])["jobs"]["scenarios"]["steps"]
    return [shlex.split(step["run"])[1:] for step in steps if step.get("run", "").startswith("gatesim ")]


@pytest.fixture
def repository(tmp_path, scenarios, monkeypatch) -> Path:
    """A repository with a few scenarios, their site and a controller."""
    (tmp_path / "scenarios" / "sites").mkdir(parents=True)
    for name in ("first-look", "healthy-both-ways", "second-demand"):
        shutil.copy(scenarios / f"{name}.scenario.yaml", tmp_path / "scenarios")
    shutil.copy(scenarios / "sites" / "mill-lane.site.yaml", tmp_path / "scenarios" / "sites")
    (tmp_path / "controller.py").write_text(SOUND)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_red_build_is_read_from_its_annotations_alone(gatesim, repository) -> None:
    annotate, results = _commands()
    green = gatesim(*annotate)
    assert green.code == 0
    assert READERS["github"](green.out.encode()).bad == 0

    (repository / "controller.py").write_text(CHANGED)
    red = gatesim(*annotate)
    assert red.code == 1
    annotations = READERS["github"](red.out.encode()).whole
    told = next(one for one in annotations if one.properties["title"].startswith("second-demand-locks-out: "))

    # Where: the line that opens is the expectation.
    file, line = Path(told.properties["file"]), int(told.properties["line"])
    assert file.read_text().splitlines()[line - 1].strip() == "- requirement: second-demand-locks-out"
    # What: the rule in words, expected and got, measured against the limit.
    assert told.properties["title"] == "second-demand-locks-out: expected pass, got fail: no lockout"
    assert "A second demand stops the leaf, locks out everything and sounds the alarm in time." in told.message
    figures = r"^second demand to .*: measured [0-9.]+ s, limit 2000\.0 ms, margin -[0-9.]+ s$"
    assert re.search(figures, told.message, re.MULTILINE)
    # Again: the command gives the same.
    again = told.message.splitlines()[-1].removeprefix("Run it again: ")
    program, *words = shlex.split(again)
    assert program == "gatesim"
    seen = gatesim(*words)
    assert seen.code == 1
    assert re.search(r"^FAIL DIFFERS +second-demand-locks-out ", seen.out, re.MULTILINE)
    # And nothing but what the change broke is named.
    assert {Path(one.properties["file"]).name for one in annotations} == {"second-demand.scenario.yaml"}

    assert gatesim(*results).code == 1
    assert READERS["junit"]((repository / "results.xml").read_bytes()).bad == 3  # two expectations, and `others`
