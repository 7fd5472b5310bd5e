"""Files in: values out, or every fault with its place and a remedy; never anything but BadInput."""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gatesim.errors import BadInput, BadUsage, Trouble
from gatesim.plant.site import GateKind, Site
from gatesim.scenario.model import Expected, GiveCommand, Obstruct, PressEdge
from gatesim.scenario.read import collect, read_scenario, read_site

Refusals = Callable[[Callable[[], object]], tuple[Trouble, ...]]


def test_the_example_reads_into_the_model(desk: Any) -> None:
    scenario = desk.scenario()
    site = scenario.site
    assert isinstance(site, Site)
    assert (site.gate.kind, site.gate.travel, site.gate.mass) == (GateKind.SLIDING, 4_200_000.0, 320.0)
    assert site.drive.acceleration == 0.4e-6
    assert site.receiver is not None
    assert site.receiver.pairs == ("front sender",)
    assert site.transmitters[0].loss == 0.01
    assert site.controller.automatic_closing == 30_000_000
    assert (scenario.ends, scenario.seed) == (90_000_000, 7)
    assert [type(step) for step in scenario.steps[:2]] == [GiveCommand, Obstruct]
    assert scenario.steps[1] == Obstruct(
        at=6_000_000, do="obstruct", obstruction="block", zone="closing gap", position=1_500_000.0
    )
    assert scenario.steps[4] == PressEdge(
        at=50_000_000, do="press", edge="post edge", held=400_000, every=10_000_000, times=3
    )
    assert scenario.expect[1].outcome is Expected.FAIL
    assert scenario.site_file == str(desk.site_file)
    assert scenario.file == str(desk.scenario_file)


def test_overrides_change_the_site_and_only_the_scenarios_copy(desk: Any) -> None:
    scenario = desk.scenario()
    plain = desk.site()
    assert scenario.site.leaf_at == 4_200_000.0
    assert scenario.site.edges[0].band_low == 5_500.0
    assert scenario.site.transmitters[0].debounce == 3
    assert (plain.leaf_at, plain.edges[0].band_low, plain.transmitters[0].debounce) == (0.0, 6_000.0, 2)
    edge = dataclasses.replace(plain.edges[0], band_low=5_500.0)
    assert scenario.site.edges == (edge, plain.edges[1])


def test_a_site_may_stand_inline(desk: Any, refusals: Refusals) -> None:
    body = desk.site_file.read_text().split("\n", 2)[2]
    inline = "site:\n" + "".join(f"  {line}\n" if line else "\n" for line in body.splitlines())
    expected = desk.scenario().site
    assert desk.scenario(("site: sites/quarry-lane.site.yaml\n", inline)).site == expected
    made = refusals(lambda: desk.scenario(("    mass: 320 kg", "    mass: 320")))
    assert [(trouble.file, trouble.line) for trouble in made] == [
        (str(desk.scenario_file), desk.line(desk.scenario_file, "mass: 320"))
    ]


SCENARIO_FAULTS = [
    ("ends: 90 s", "ends: 90", "needs a unit", "such as 250 ms", "ends:"),
    ("ends: 90 s", "ends: 40 d", "too long", "31 d", "ends:"),
    ("ends: 90 s", "ends: 0 s", "ends at once", "length", "ends:"),
    ("ends: 90 s", "ends: 75 s", "step comes after the end", "later", "at: 80 s"),
    ("times: 3", "times: 30", "last repeat", "fewer", "times: 30"),
    ("seed: 7", "seed: 1_0", "not a whole number", "digits", "seed:"),
    ("seed: 7", "sead: 7", "unknown key 'sead'", "did you mean 'seed'?", "sead:"),
    ("teaches:", "teaces:", "key 'teaches' is missing", "", "format:"),
    ("command: close", "command: clos", "not one of the words", "did you mean 'close'?", "clos}"),
    ("do: press", "do: pres", "unknown step kind 'pres'", "did you mean 'press'?", "pres,"),
    ("do: press, ", "", "key 'do' is missing", "legal are command", "edge: post edge"),
    ("do: press, edge: post edge, ", "do: press, ", "key 'edge' is missing", "", "do: press"),
    ("edge: post edge", "edge: pots edge", "no edge named 'pots edge'", "did you mean 'post edge'?", "pots"),
    ("zone: closing gap", "zone: closing gab", "no zone named", "did you mean 'closing gap'?", "gab"),
    ("position: 1.5 m", "position: 4.1 m", "outside zone", "from 0 m to 4 m", "4.1 m"),
    ("position: 1.5 m", "position: 1.5 kg", "unit of mass, not of length", "legal are", "1.5 kg"),
    ("fault: open", "fault: opne", "no fault kind", "did you mean 'open'?", "opne"),
    ("do: clear, obstruction: block", "do: clear, obstruction: blok", "no step brings", "'block'?", "blok"),
    ("at: 30 s, do: clear", "at: 3 s, do: clear", "before it comes", "move", "do: clear"),
    ("every: 10 s, times: 3", "times: 3", "needs every", "every: 60 s", "times: 3"),
    ("every: 10 s, times: 3", "every: 10 s", "needs times", "times: 10", "every:"),
    ("every: 10 s, times: 3", "every: 300 ms, times: 3", "again before", "longer than 0.4 s", "every:"),
    ("times: 3", "times: 100001", "out of range", "between 1 and 100000", "times:"),
    ("held: 400 ms", "held: 0 ms", "held is zero", "above zero", "held:"),
    ("lasts: 2 s", "gap: 2 s, flickers: 3", "needs lasts", "how long", "gap:"),
    ("lasts: 2 s", "lasts: 2 s, flickers: 3", "needs gap", "how long", "flickers:"),
    ("lasts: 2 s", "lasts: 2 s, gap: 1 s", "needs flickers", "how many", "gap:"),
    ("requirement: overtravel", "requirement: overtravl", "no requirement", "'overtravel'?", "overtravl"),
    ("requirement: overtravel", "requirement: reversal-begun", "expected twice", "keep one", "outcome: fail"),
    ("failure: overtravel used up", "failure: used up", "no failure 'used up'", "legal are", "used up"),
    (", failure: overtravel used up", "", "must be named", "legal are overtravel used up", "outcome: fail"),
    ("outcome: fail, ", "", "expected pass has no failure", "outcome: fail", "failure:"),
    ("limit: 900 ms", "limit: 900 mm", "is a length", "a duration", "900 mm"),
    ("limit: 900 ms", "limit: soon", "does not start with a number", "", "soon"),
    ("setting: leaf_at", "setting: leaf_a", "no setting 'leaf_a'", "did you mean 'leaf_at'?", "leaf_a,"),
    ("front edge.band_low", "fornt edge.band_low", "no entry is named", "'front edge'?", "fornt"),
    ("front edge.band_low", "front edge", "no single setting", "name one setting", "front edge,"),
    ("edges.front edge.band_low", "edges", "is a list", "go on with", "setting: edges"),
    ("edges.front edge.band_low", "drive", "no single setting", "name one", "setting: drive"),
    ("edges.front edge.band_low", "leaf_at", "overridden again", "keep one", "value: 5.5"),
    ("edges.front edge.band_low", "gate.mass.kg", "holds a value", "ends there", "gate.mass.kg"),
    ("edges.front edge.band_low", "edges.front edge.name", "can't be overridden", "look", "front edge.name"),
    ("value: 5.5 kohm", "value: 5.5", "needs a unit", "8.2 kohm", "value: 5.5"),
    ("value: 5.5 kohm", "value: 9 kohm", "below the band", "set band_low below", "value: 9 kohm"),
    ("site: sites/quarry-lane", "site: sites/quary-lane", "no site file", "did you mean 'quarry-lane", "site:"),
    ("site: sites/quarry-lane", "site: /sites/quarry-lane", "not a relative path", "relative", "site:"),
    ("site: sites/quarry-lane", "site: sites\\quarry-lane", "not a relative path", "with /", "site:"),
    ("site: sites/quarry-lane", "site: ../sites/quarry-lane", "climbs above", "sites/", "site:"),
    ("site: sites/quarry-lane.site.yaml", "site: [a]", "a path or a table", "", "site:"),
    ("format: gatesim-scenario/1", "format: gatesim-scenario/2", "newer than", "reads gatesim-scenario/1", "format:"),
    ("format: gatesim-scenario/1", "format: gatesim-scenario/x", "not a format", "gatesim-scenario/1", "format:"),
    ("format: gatesim-scenario/1", "format: gatesim-site/1", "this is a site file", "a scenario", "format:"),
    ("format: gatesim-scenario/1\n", "", "first key must be format", "", "title:"),
    ("format: gatesim-scenario/1\n", "# x\nseed: 7\nformat: gatesim-scenario/1\n", "format must be", "up", "format:"),
    ("title: A rigid block in the closing gap", 'title: " "', "empty", "write", "title:"),
    ("title: A rigid", "title: " + "long " * 50, "too long", "200", "title:"),
    ("covers: [open closing mid-travel]", "covers: open", "a list", "", "covers:"),
    ("  - {at: 80 s, do: lose power, lasts: 1 s}", "  - wait", "a table", "", "- wait"),
    ("lasts: 1 s}", "lasts: [1 s]}", "a single value", "", "lasts: [1 s]"),
]


@pytest.mark.parametrize(
    ("old", "new", "said", "hint", "at"), SCENARIO_FAULTS, ids=[row[1][:40] for row in SCENARIO_FAULTS]
)
def test_each_fault_of_a_scenario_is_told_at_its_line(
    desk: Any, refusals: Refusals, old: str, new: str, said: str, hint: str, at: str
) -> None:
    made = refusals(lambda: desk.scenario((old, new)))
    found = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert found, [str(trouble) for trouble in made]
    assert found[0].line == desk.line(desk.scenario_file, at)
    assert found[0].file == str(desk.scenario_file)


def test_optional_catalogues_make_more_checks(desk: Any, refusals: Refusals) -> None:
    cells = ("open closing mid-travel",)
    desk.scenario(cells=cells, fault_places=lambda kind, site: [edge.name for edge in site.edges])
    assert "can't sit at" in refusals(lambda: desk.scenario(fault_places=lambda kind, site: ["post edge"]))[0].message
    assert "no place" in refusals(lambda: desk.scenario(fault_places=lambda kind, site: []))[0].hint
    made = refusals(lambda: desk.scenario(cells=("open closing midtravel",)))
    assert "no cell" in made[0].message
    assert "did you mean" in made[0].hint


def test_all_faults_of_a_scenario_and_its_site_come_at_once(desk: Any, refusals: Refusals) -> None:
    desk.change(desk.site_file, ("mass: 320 kg", "mass: 320"), ("limits: two means", "limits: two mean"))
    made = refusals(
        lambda: desk.scenario(
            ("seed: 7", "seed: x"), ("command: close", "command: shut"), ("edge: post edge", "edge: pots edge"),
            ("fault: open", "fault: opne"), ("requirement: overtravel", "requirement: overtravl"),
        )
    )  # fmt: skip
    said = "\n".join(str(trouble) for trouble in made)
    for word in ("'320' needs", "'two mean'", "'x' is not", "'shut'", "'opne'", "'overtravl'"):
        assert word in said
    assert list(made) == sorted(made)
    assert len(made) == len(set(made))


def test_a_broken_site_is_told_with_its_own_file(desk: Any, refusals: Refusals) -> None:
    desk.change(desk.site_file, ("mass: 320 kg", "mass: 320"))
    made = refusals(desk.scenario)
    assert [(t.file, t.line) for t in made] == [(str(desk.site_file), desk.line(desk.site_file, "mass: 320"))]


def test_a_link_out_of_the_tree_is_refused(desk: Any, refusals: Refusals, tmp_path: Path) -> None:
    outside = tmp_path / "outside.site.yaml"
    desk.site_file.rename(outside)
    desk.site_file.symlink_to(outside)
    assert "climbs above" in refusals(desk.scenario)[0].message


def test_a_site_above_its_scenario_is_read_up_to_the_folder_that_holds_sites(desk: Any, refusals: Refusals) -> None:
    deeper = desk.folder / "night" / "late"
    deeper.mkdir(parents=True)
    moved = deeper / desk.scenario_file.name
    desk.change(desk.scenario_file, ("site: sites/", "site: ../../sites/"))
    desk.scenario_file.rename(moved)
    desk.scenario_file = moved
    assert desk.scenario().site_file == str(desk.site_file)
    (desk.folder / "night" / "sites").mkdir()
    assert "climbs above 'night'" in refusals(desk.scenario)[0].message


def test_pipes_folders_and_absent_files_are_told(desk: Any, refusals: Refusals, tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "absent.site.yaml", Path("a\0b.site.yaml")):
        assert refusals(lambda path=path: read_site(path))[0].line == 1  # type: ignore[misc]
        refusals(lambda path=path: read_scenario(path, {}, ()))  # type: ignore[misc]


def test_only_the_two_kinds_are_collected(tmp_path: Path) -> None:
    wanted = ["a.scenario.yaml", "b/c.scenario.yaml", "b/sites/d.site.yaml", "e.site.yaml"]
    skipped = [
        ".git/x.scenario.yaml", "node_modules/x.scenario.yaml", "env/lib/x.site.yaml", ".x.site.yaml", "x.yaml",
        "b/x.yml", "__pycache__/x.scenario.yaml",
    ]  # fmt: skip
    for name in [*wanted, *skipped, "env/pyvenv.cfg"]:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("")
    (tmp_path / "b" / "loop").symlink_to(tmp_path)
    scenarios, sites = collect([tmp_path, tmp_path / "b", tmp_path / "a.scenario.yaml"])
    assert [str(Path(path).relative_to(tmp_path)) for path in scenarios] == wanted[:2]
    assert [str(Path(path).relative_to(tmp_path)) for path in sites] == wanted[2:]


def test_paths_come_as_they_were_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.scenario.yaml").write_text("")
    monkeypatch.chdir(tmp_path)
    assert collect(["."])[0] == ["a.scenario.yaml"]
    assert collect(["./a.scenario.yaml"])[0] == ["./a.scenario.yaml"]
    assert collect([f"../{tmp_path.name}"])[0] == [f"../{tmp_path.name}/a.scenario.yaml"]


@pytest.mark.parametrize("name", ["absent", "notes.yaml", "a\0b"])
def test_a_path_of_no_use_is_bad_usage(tmp_path: Path, name: str) -> None:
    (tmp_path / "notes.yaml").write_text("")
    with pytest.raises(BadUsage):
        collect([f"{tmp_path}/{name}"])


LINES = st.lists(
    st.tuples(
        st.integers(0, 200),
        st.sampled_from(["drop", "twice", "cut", "indent", "dedent", "colon", "empty", "word", "list", "swap", "hide"]),
    ),
    min_size=1,
    max_size=4,
)


def mutated(lines: list[str], changes: list[tuple[int, str]]) -> str:
    for place, how in changes:
        k = place % max(1, len(lines))
        line = lines[k] if lines else ""
        head = line.partition(":")[0]
        made = {
            "drop": [], "twice": [line, line], "cut": [line[: len(line) // 2]], "indent": ["  " + line],
            "dedent": [line.lstrip()], "colon": [line.replace(":", "", 1)], "empty": [head + ":"],
            "word": [head + ": on"], "list": [head + ": [{a: b}, 1]"], "swap": [line[::-1]], "hide": [line + "\x07"],
        }  # fmt: skip
        lines[k : k + 1] = made[how]
    return "\n".join(lines)


@given(site=LINES, scenario=LINES, which=st.integers(0, 2))
@settings(
    max_examples=150, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
def test_broken_files_raise_nothing_but_bad_input(desk: Any, site: Any, scenario: Any, which: int) -> None:
    """Lines dropped, doubled, cut, moved, emptied, turned round: read, or told with places."""
    before = desk.site_file.read_text(), desk.scenario_file.read_text()
    try:
        if which != 1:
            desk.site_file.write_text(mutated(before[0].splitlines(), site))
        if which != 0:
            desk.scenario_file.write_text(mutated(before[1].splitlines(), scenario))
        troubles: tuple[Trouble, ...] = ()
        try:
            desk.scenario()
        except BadInput as bad:
            troubles = bad.troubles or (Trouble("", 0, 0, "refused without a reason"),)
        for trouble in troubles:
            assert trouble.message
            assert 1 <= trouble.line <= 250
            assert str(trouble).isprintable()
    finally:
        desk.site_file.write_text(before[0])
        desk.scenario_file.write_text(before[1])


@given(raw=st.binary(max_size=120), head=st.sampled_from([b"", b"format: gatesim-scenario/1\n"]))
@settings(
    max_examples=150, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
def test_any_bytes_raise_bad_input(desk: Any, raw: bytes, head: bytes) -> None:
    file = desk.folder / "any.scenario.yaml"
    file.write_bytes(head + raw)
    with pytest.raises(BadInput):
        read_scenario(file, {}, ())
    with pytest.raises(BadInput):
        read_site(file)


def test_the_model_is_cheap_and_the_reader_stands_alone() -> None:
    """The model must not load pydantic; the reader must not load requirements, faults or the runner."""
    code = (
        "import sys, gatesim.scenario.model\n"
        "assert 'pydantic' not in sys.modules and 'yaml' not in sys.modules\n"
        "import gatesim.scenario.read\n"
        "assert 'pydantic' not in sys.modules and 'yaml' not in sys.modules\n"
        "bad = [m for m in sys.modules if m.startswith(('gatesim.requirements', 'gatesim.plant.faults', 'gatesim.run', "
        "'simpy', 'transitions', 'click', 'rich'))]\n"
        "assert not bad, bad\n"
    )
    root = Path(__file__).parents[2]
    subprocess.run([sys.executable, "-c", code], check=True, cwd=root, env={**os.environ, "PYTHONPATH": str(root)})
