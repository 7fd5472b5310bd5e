"""Options that need not be typed: where they come from, which goes first, and what is wrong in them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

SCENARIO = Path(__file__).parents[2] / "scenarios" / "first-look.scenario.yaml"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / ".git").mkdir()  # nothing above it counts
    monkeypatch.chdir(tmp_path)
    return tmp_path


def in_force(gatesim) -> dict[tuple[str, str], tuple[object, str]]:
    said = json.loads(gatesim("settings", "--format", "json").out)
    assert said["format"] == "gatesim-settings/1"
    return {(one["option"], command): (one["value"], one["from"])
            for one in said["settings"] for command in one["commands"]}


def seed_of(gatesim, *more: object) -> int:
    return json.loads(gatesim("check", SCENARIO, "--format", "json", *more).out)["scenarios"][0]["seed"]


def test_nothing_set_is_said(gatesim, place) -> None:
    assert gatesim("settings").out.startswith("nothing is set")


def test_the_command_line_goes_before_the_environment_and_this_before_the_file(gatesim, place, monkeypatch) -> None:
    assert seed_of(gatesim) == 11
    (place / "gatesim.toml").write_text("seed = 21\n")
    assert seed_of(gatesim) == 21
    (place / "gatesim.toml").write_text("seed = 21\n[check]\nseed = 22\n")
    assert seed_of(gatesim) == 22
    monkeypatch.setenv("GATESIM_SEED", "31")
    assert seed_of(gatesim) == 31
    monkeypatch.setenv("GATESIM_CHECK_SEED", "32")
    assert seed_of(gatesim) == 32
    assert seed_of(gatesim, "--seed", 41) == 41


def test_settings_shows_value_source_and_commands(gatesim, place, monkeypatch) -> None:
    (place / "pyproject.toml").write_text('[project]\nname = "x"\n\n[tool.gatesim]\nunits = "us"\nseed = 3\n'
                                          "[tool.gatesim.check]\nmatrix = true\nseed = 4\n")
    monkeypatch.setenv("GATESIM_ANSWER_WITHIN", "2 s")
    found = in_force(gatesim)
    assert found["units", "run"] == ("us", "pyproject.toml:5")
    assert found["seed", "check"] == (4, "pyproject.toml:9")
    assert found["seed", "sweep"] == (3, "pyproject.toml:6")
    assert found["matrix", "check"] == (True, "pyproject.toml:8")
    assert found["answer-within", "run"] == ("2 s", "GATESIM_ANSWER_WITHIN")
    assert "seed = 4  (pyproject.toml:9; for check)" in gatesim("settings").out
    assert "exercised" not in gatesim("check", SCENARIO).out.partition("\n")[0]


def test_a_flag_of_the_file_is_in_force(gatesim, place) -> None:
    (place / "gatesim.toml").write_text("[check]\nmatrix = true\n")
    assert "Coverage" in gatesim("check", SCENARIO).out


def test_the_nearest_folder_counts_and_a_repository_ends_the_search(gatesim, place, monkeypatch) -> None:
    (place / "gatesim.toml").write_text("seed = 5\n")
    (place / "pyproject.toml").write_text("[tool.gatesim]\nseed = 6\n")
    inner = place / "a" / "b"
    inner.mkdir(parents=True)
    monkeypatch.chdir(inner)
    assert in_force(gatesim)["seed", "run"] == (5, "../../gatesim.toml:1")
    (place / "a" / "pyproject.toml").write_text("[tool.other]\nx = 1\n")
    assert in_force(gatesim)["seed", "run"][0] == 5
    (inner / ".git").mkdir()
    assert in_force(gatesim) == {}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("sede = 1\n", "gatesim.toml:1:1: sede is no setting; did you mean 'seed'?"),
        ("\n[chek]\nseed = 1\n", "gatesim.toml:2:1: there is no command 'chek'; did you mean 'check'?"),
        ("[check]\n  matriks = true\n", "gatesim.toml:2:3: `gatesim check` has no option --matriks; did you mean 'ma"),
        ("seed = -1\n", "gatesim.toml:1:1: seed = -1: -1 is not in the range"),
        ('seed = "1"\n', "gatesim.toml:1:1: seed = '1': a number is due"),
        ("seed = true\n", "a number is due"),
        ("scan = 10\n", "gatesim.toml:1:1: scan = 10: a text in quotes is due"),
        ("[check]\nmatrix = 1\n", "true or false is due"),
        ('units = "uss"\n', "'uss' is not one of 'si', 'us'"),
        ('output = "x"\n', "output is no setting"),
        ("seed = \n", "gatesim.toml:1:8: is not TOML"),
        ("a = [\n", "is not TOML"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(gatesim, place, text, said) -> None:
    (place / "gatesim.toml").write_text(text)
    for command in (("settings",), ("check", SCENARIO)):
        got = gatesim(*command)
        assert got.code == 2
        assert said in got.err
        assert got.out == ""


def test_all_faults_at_once(gatesim, place) -> None:
    (place / "pyproject.toml").write_text('[tool.gatesim]\nsede = 1\nunits = "x"\n[tool.gatesim.run]\nfoo = 1\n')
    assert gatesim("settings").err.count("pyproject.toml:") == 3
    (place / "pyproject.toml").write_text('[tool]\ngatesim = "x"\n# tool.gatesim\n')
    assert "pyproject.toml:2:1: tool.gatesim is no table" in gatesim("settings").err
    (place / "pyproject.toml").write_bytes(b"[tool.gatesim]\nunits = '\xff'\n")
    assert "is not UTF-8" in gatesim("settings").err


def test_variables_that_are_none_are_noted_and_wrong_ones_refused(gatesim, place, monkeypatch) -> None:
    monkeypatch.setenv("GATESIM_SEEED", "1")
    said = gatesim("run", SCENARIO)
    assert said.code == 0
    assert "GATESIM_SEEED is no setting; did you mean 'GATESIM_SEED'?" in said.err
    monkeypatch.setenv("GATESIM_SEED", "x")
    said = gatesim("run", SCENARIO)
    assert said.code == 2
    assert "GATESIM_SEED = 'x': 'x' is not a valid" in said.err


def test_code_that_the_settings_name_is_found_from_their_folder_and_said(gatesim, place, monkeypatch) -> None:
    (place / "ours.py").write_text("from gatesim.plant.logic.controller_reference import ReferenceController as Ours\n")
    (place / "gatesim.toml").write_text('controller = "ours.py:Ours"\n')
    inner = place / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    said = gatesim("run", SCENARIO)
    assert said.code == 0
    assert "controller from the settings: ../ours.py:Ours" in said.err
    assert "from the settings" not in gatesim("run", SCENARIO, "--controller", "../ours.py:Ours").err


def test_what_is_kept_stands_beside_the_settings(gatesim, place, monkeypatch) -> None:
    (place / "gatesim.toml").write_text("seed = 5\n")
    inner = place / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    assert gatesim("check", SCENARIO, "--save", "now").code == 0
    assert (place / ".gatesim" / "store.sqlite").is_file()


def test_help_and_version_ask_no_settings(gatesim, place) -> None:
    (place / "gatesim.toml").write_text("sede = 1\n")
    assert gatesim("--version").code == 0
    assert gatesim("--help").code == 0
