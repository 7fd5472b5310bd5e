"""Older files become files of today's format, by a table of steps."""

from __future__ import annotations

from pathlib import Path

import pytest

from gatesim.errors import BadInput
from gatesim.scenario.read import read_site
from gatesim.scenario.shapes import SCENARIO_FORMAT, SITE_FORMAT
from gatesim.scenario.upgrade import STEPS, Step, upgraded

SITE = Path(__file__).parents[2] / "scenarios" / "sites" / "mill-lane.site.yaml"


def older(tmp_path: Path, text: str | None = None, name: str = "x.site.yaml") -> str:
    file = tmp_path / name
    file.write_bytes((SITE.read_text().replace(f"format: {SITE_FORMAT}\n", "") if text is None else text).encode())
    return str(file)


def test_a_file_from_before_the_format_gets_it_below_its_heading(tmp_path: Path) -> None:
    found = upgraded(older(tmp_path))
    assert found.after == SITE.read_text()
    assert found.steps == ("format: gatesim-site/1 said in the first line",)
    (tmp_path / "y.site.yaml").write_text(found.after)
    assert read_site(tmp_path / "y.site.yaml") == read_site(SITE)


def test_a_file_of_today_stays(tmp_path: Path) -> None:
    found = upgraded(str(SITE))
    assert (found.after, found.steps) == (found.before, ())


def test_line_ends_stay(tmp_path: Path) -> None:
    assert upgraded(older(tmp_path, "# x\r\n\r\ntitle: y\r\n", "x.scenario.yaml")).after == (
        f"# x\r\n\r\nformat: {SCENARIO_FORMAT}\r\ntitle: y\r\n")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format: gatesim-site/2\nname: x\n", "x.site.yaml:1:9: 'gatesim-site/2' is newer than what"),
        ("name: x\nformat: gatesim-site/x\n", "x.site.yaml:2:9: 'gatesim-site/x' is not a format that is read here"),
        ("format: gatesim-scenario/1\n", "x.site.yaml:1:9: 'gatesim-scenario/1' is not a format that is read here"),
        ("format: gatesim-site/0\n", "not a format"),
        ("format: gatesim-site/999999999\n", "not a format"),
        ("format: [gatesim-site/1]\n", "this is not a format"),
        ("- x\n", "x.site.yaml:1:1: the file is no table"),
        ("{name: x}\n", "can't be said here"),
        ("name: [\n", "is not YAML here"),
    ],
)
def test_what_can_not_be_upgraded_is_told(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(BadInput) as caught:
        upgraded(older(tmp_path, text))
    assert said in str(caught.value)


def test_steps_follow_one_another(tmp_path: Path) -> None:
    """A later format is one more row of the table."""
    renamed = Step("gatesim-site", 1, "name became title",
                   lambda text, tree: text.replace("site/1", "site/2").replace("name:", "title:"))
    found = upgraded(older(tmp_path, "name: x  # y\n"), (*STEPS, renamed))
    assert found.after == "format: gatesim-site/2\ntitle: x  # y\n"
    assert found.steps == ("format: gatesim-site/1 said in the first line", "name became title")
    assert upgraded(str(SITE), (*STEPS, renamed)).steps == ("name became title",)


def test_a_step_that_does_not_lead_to_the_next_version_changes_nothing(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="can't be said"):
        upgraded(str(SITE), (*STEPS, Step("gatesim-site", 1, "nothing", lambda text, tree: text)))


def test_every_version_before_today_has_its_step() -> None:
    for wanted in (SITE_FORMAT, SCENARIO_FORMAT):
        kind, _, today = wanted.partition("/")
        assert [step.before for step in STEPS if step.kind == kind] == list(range(int(today)))
