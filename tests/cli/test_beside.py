"""`check` beside an earlier check and beside golden traces; `history` and `diff`; as a user gives them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest

from gatesim.search import store as room

DEBOUNCE = "    debounce: 2\n"
STOPPING = 'stopping_deceleration: "0.9 m/s2"'


@pytest.fixture
def project(scenarios, tmp_path, monkeypatch) -> Path:
    """A user's own: two scenarios, and the site of both."""
    (tmp_path / "pyproject.toml").touch()
    (tmp_path / "gates" / "sites").mkdir(parents=True)
    shutil.copy(scenarios / "sites" / "mill-lane.site.yaml", tmp_path / "gates" / "sites")
    for name in ("first-look", "hold-to-run"):
        shutil.copy(scenarios / f"{name}.scenario.yaml", tmp_path / "gates")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    return tmp_path


def edit(project: Path, old: str, new: str) -> None:
    site = project / "gates" / "sites" / "mill-lane.site.yaml"
    assert old in site.read_text()
    site.write_text(site.read_text().replace(old, new))


def test_a_lost_margin_fails_the_build(gatesim, project) -> None:
    assert gatesim("check", "gates", "--save", "main").code == 0
    assert (project / ".gatesim" / "store.sqlite").is_file()
    same = gatesim("check", "gates", "--against", "main")
    assert same.code == 0
    assert "nothing is worse; a pass may lose 20 % of its margin" in same.out
    edit(project, STOPPING, 'stopping_deceleration: "0.89 m/s2"')
    said = gatesim("check", "gates", "--against", "main")
    assert said.code == 1
    assert "0 differ" in said.out
    assert "WORSE        gates/first-look.scenario.yaml; its site has changed" in said.out
    assert "    overtravel-margin: margin +0.5 mm -> +0.2 mm, 63.6 % lost (limit" in said.out
    warned = gatesim("check", "gates", "--against", "main", "--on-loss", "warn")
    assert (warned.code, warned.out) == (0, said.out)
    assert gatesim("check", "gates", "--against", "main", "--margin-loss", "100").code == 0


def test_names_are_from_the_projects_folder(gatesim, project, monkeypatch) -> None:
    assert gatesim("check", "gates", "--save", "main").code == 0
    monkeypatch.chdir(project / "gates")
    for path in (".", project / "gates", "../gates/"):
        said = gatesim("check", path, "--against", "main")
        assert (said.code, "in 2 scenarios" in said.out) == (0, True)
    assert not (project / "gates" / ".gatesim").exists()


def test_a_scenario_that_is_gone(gatesim, project) -> None:
    assert gatesim("check", "gates", "--save", "main").code == 0
    one = gatesim("check", "gates/first-look.scenario.yaml", "--against", "main")
    assert one.code == 0  # the other was not asked for
    (project / "gates" / "hold-to-run.scenario.yaml").unlink()
    gone = gatesim("check", "gates", "--against", "main")
    assert gone.code == 1
    assert "gates/hold-to-run.scenario.yaml\n    scenario is gone" in gone.out


def test_nothing_in_common_is_no_pass(gatesim, project) -> None:
    assert gatesim("check", "gates/first-look.scenario.yaml", "--save", "one").code == 0
    said = gatesim("check", "gates/hold-to-run.scenario.yaml", "--against", "one")
    assert (said.code, "'one' keeps none of these scenarios" in said.err) == (5, True)


def test_nothing_is_written_unasked(gatesim, project) -> None:
    before = sorted(project.rglob("*"))
    for args in (["check", "gates"], ["check", "gates", "--golden"], ["check", "gates", "--against", "main"],
                 ["history"], ["diff", *["gates/first-look.scenario.yaml"] * 2]):
        gatesim(*args)
    assert sorted(project.rglob("*")) == before


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--against", "main"), "there is no store"),
        (("--matrix", "--golden"), "--matrix is shown instead"),
        (("--against", "x", "--margin-loss", "101"), "Invalid value for '--margin-loss'"),
    ],
)
def test_what_cannot_be_asked(gatesim, project, args, said) -> None:
    told = gatesim("check", "gates", *args)
    assert (told.code, told.out) == (2, "")
    assert said in told.err


def test_against_a_name_that_is_no_whole_check(gatesim, project) -> None:
    head = room.Head(room.Kind.CHECK, "cut", ".", None, "0", None, None, 9)
    with room.opened(project / ".gatesim" / "store.sqlite", make=True) as store:
        store.begin(head)
        store.end(store.begin(head._replace(kind=room.Kind.SWEEP, name="swept", site_sha256="h", seed=1)))
    for name, said in (("cut", "did not end: 0 of 9"), ("swept", "keeps a sweep"), ("none", "it keeps: cut, swept")):
        told = gatesim("check", "gates", "--against", name)
        assert (told.code, said in told.err) == (2, True)
    assert gatesim("history", "cut", "swept").code == 2
    listed = gatesim("history")
    assert "cut: check of ., day unknown, seeds of the files, gatesim 0, 0 of 9 scenarios, did not end" in listed.out


def test_a_store_that_fails_on_the_way_costs_no_verdict(gatesim, project, monkeypatch) -> None:
    assert gatesim("check", "gates", "--save", "main").code == 0
    connected = room._connected

    def full(path, *, make):
        file = connected(path, make=make)
        file.execute("PRAGMA max_page_count=1")  # SQLite takes as many as there are
        return file

    monkeypatch.setattr(room, "_connected", full)
    said = gatesim("check", "gates", "--save", "big")
    assert said.code == 2
    assert "2 as expected" in said.out
    assert said.err.count("database or disk is full") == 1
    monkeypatch.setattr(room, "_connected", connected)
    assert gatesim("check", "gates", "--against", "main").code == 0


def test_two_checks_in_the_history(gatesim, project) -> None:
    assert gatesim("check", "gates", "--save", "before").code == 0
    edit(project, STOPPING, 'stopping_deceleration: "0.89 m/s2"')
    gatesim("check", "gates", "--save", "after", "--seed", "7")
    assert gatesim("history").out.splitlines() == [
        "before: check of gates, 1970-01-01T00:00:00Z, seeds of the files, gatesim 0.1.0, 2 of 2 scenarios",
        "after: check of gates, 1970-01-01T00:00:00Z, seed 7, gatesim 0.1.0, 2 of 2 scenarios",
    ]
    compared = gatesim("history", "before", "after")
    assert compared.code == 1
    assert "2 scenarios with another seed than then" in compared.out
    answer = json.loads(gatesim("history", "before", "after", "--format", "json").out)
    assert (answer["format"], answer["before"]["kind"], answer["after"]["seed"]) == ("gatesim-history/1", "check", 7)
    assert answer["worse"] == len(answer["against"]["losses"]) >= 1
    assert gatesim("history", "before", "before").code == 0


def test_golden_traces(gatesim, project) -> None:
    file = project / "gates" / "first-look.golden"
    none = gatesim("check", "gates", "--golden")
    assert (none.code, "2 scenarios have none" in none.out) == (5, True)
    assert gatesim("check", "gates/first-look.scenario.yaml", "--accept").code == 0
    written, when = file.read_bytes(), file.stat().st_mtime_ns
    again = gatesim("check", "gates/first-look.scenario.yaml", "--accept")
    assert (again.err, file.read_bytes(), file.stat().st_mtime_ns) == ("", written, when)
    said = gatesim("check", "gates", "--golden")
    assert (said.code, "1 agree, 1 scenarios have none" in said.out) == (0, True)
    edit(project, 'deceleration: "0.4 m/s2"', 'deceleration: "0.41 m/s2"')
    changed = gatesim("check", "gates", "--golden")
    assert changed.code == 1
    assert "CHANGED      gates/first-look.golden" in changed.out
    assert "ms earlier" in changed.out
    assert gatesim("check", "gates", "--accept", "--golden").code == 1  # compared first, then accepted
    assert gatesim("check", "gates", "--golden").code == 0
    assert b"# gatesim-golden/1 seed=11\n" in file.read_bytes()
    other = gatesim("check", "gates/first-look.scenario.yaml", "--golden", "--seed", "4")
    assert (other.code, "seed 11 before, seed 4 after" in other.out) == (1, True)


def test_a_golden_trace_that_cannot_be_written(gatesim, project) -> None:
    (project / "gates" / "first-look.golden").mkdir()
    said = gatesim("check", "gates/first-look.scenario.yaml", "--accept")
    assert (said.code, "cannot write gates/first-look.golden" in said.err) == (2, True)
    assert gatesim("check", "gates/first-look.scenario.yaml", "--golden").code == 2


def test_names_that_would_act_on_a_terminal(gatesim, project) -> None:
    assert gatesim("check", "gates/first-look.scenario.yaml", "--save", "\x1b[31mred\u202e\n").code == 0
    assert "\x1b" not in gatesim("history").out
    assert len(gatesim("history").out.splitlines()) == 1


def test_a_golden_trace_that_is_none(gatesim, project) -> None:
    (project / "gates" / "first-look.golden").write_bytes(b"\xff\x00 nothing\n\x1b[31m")
    said = gatesim("check", "gates", "--golden")
    assert said.code == 2
    assert "gates/first-look.golden:1:1: a golden trace begins with" in said.out
    assert "\x1b" not in said.out


def test_the_schema_holds(gatesim, project) -> None:
    assert gatesim("check", "gates", "--save", "main", "--accept").code == 0
    edit(project, DEBOUNCE, "    debounce: 4\n")
    edit(project, STOPPING, 'stopping_deceleration: "0.89 m/s2"')
    answer = json.loads(gatesim("check", "gates", "--against", "main", "--golden", "--margin-loss", "5",
                                "--format", "json").out)
    schema = json.loads(gatesim("schema", "check").out)
    jsonschema.validate(answer, schema)
    assert answer["against"]["losses"]
    assert {one["state"] for one in answer["golden"]} == {"differs"}
    answer["against"]["losses"][0]["became"] = "better"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema)


def test_two_traces_side_by_side(gatesim, project) -> None:
    story = "gates/first-look.scenario.yaml"
    assert gatesim("run", story, "--trace", "before.trace", "-q").code == 0
    same = gatesim("diff", "before.trace", story)
    assert same.code == 0
    assert same.out.startswith("events: ")
    assert same.out.endswith(" same\n")
    edit(project, DEBOUNCE, "    debounce: 4\n")
    said = gatesim("diff", "before.trace", story)
    assert said.code == 1
    assert "20 ms later" in said.out
    assert "edge alone, contact 1:" in said.out
    answer = json.loads(gatesim("diff", "before.trace", story, "--format", "json").out)
    assert (answer["format"], answer["same"], answer["rounded"]) == ("gatesim-diff/1", False, False)
    whole = answer["sections"][0]
    assert whole["summary"]["moved"] + whole["summary"]["changed"] > 0
    (pressed,) = [one for one in whole["changes"] if one["event"] == "LevelChanged" and one["later_us"] == 20_000]
    assert pressed["after_at_us"] - pressed["at_us"] == 20_000


@pytest.mark.parametrize("name", ["no.trace", "no.golden", "no.scenario.yaml", "bad.trace", "bad.golden"])
def test_traces_that_are_none(gatesim, project, name) -> None:
    (project / "bad.trace").write_text("{")
    (project / "bad.golden").write_text("{")
    said = gatesim("diff", name, name)
    assert (said.code, said.out) == (2, "")
    assert name in said.err
