"""Lock-step: the reference in a process of its own is the reference; forks by snapshot and by playing again agree."""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.bench import remote as remotes
from gatesim.bench.child import Command
from gatesim.bench.codec import Mismatch, applied, changes, codec, fields
from gatesim.bench.remote import Remote
from gatesim.bench.serve import serve
from gatesim.bench.shapes import ROLES, SHAPES, nothing_done
from gatesim.cli.main import serve as serve_line
from gatesim.errors import LogicError
from gatesim.events import Brake, Direction, Level, Lockout, Origin
from gatesim.events import Command as Asked
from gatesim.plant.logic.contract import ClassifierSeen, ClassifierSettings, ControllerSeen, Report
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.report.assemble import trace_of
from gatesim.run import default_roles

PROGRAMS = Path(__file__).parent / "programs"
ROOT = Path(__file__).parents[2]


class Whole:
    """The reference of a role in our own process, told whole microseconds as another program is."""

    def __init__(self, role: str) -> None:
        self.inner = getattr(default_roles(), role)
        self.start = self.inner.start

    def step(self, state: Any, seen: Any, now: float) -> Any:
        return self.inner.step(state, seen, int(now + 0.5))


@pytest.fixture
def reference() -> Iterator[Callable[..., Remote]]:
    """The reference of a role, played by a process."""
    made: list[Remote] = []

    def reference(role: str, script: str = "reference.py", **more: Any) -> Remote:
        words = ("env", f"PYTHONPATH={ROOT}", sys.executable, str(PROGRAMS / script), role)
        made.append(Remote(role, Command(words, f"{role} run:reference", 30.0), **more))
        return made[-1]

    yield reference
    for remote in made:
        remote.close()


STORIES = ("first-look", "second-demand", "power-back-in-mid-travel", "hold-to-run", "lost-link-closing", "two-at-once")


@pytest.mark.slow
@pytest.mark.parametrize("name", STORIES)
def test_the_reference_by_another_process_leaves_the_same_bytes(run, reference, name) -> None:
    here = trace_of(run(name, keep=True, controller=Whole("controller")))
    there = trace_of(run(name, keep=True, controller=reference("controller")))
    assert there == here


@pytest.mark.slow
@pytest.mark.parametrize("role", ["receiver", "classifier"])
def test_so_do_the_other_roles(run, reference, role) -> None:
    for name in ("first-look", "lost-link-opening"):
        there = trace_of(run(name, keep=True, **{role: reference(role)}))
        assert there == trace_of(run(name, keep=True, **{role: Whole(role)}))


@pytest.mark.slow
def test_rounding_moves_no_verdict(run, reference) -> None:
    for name in STORIES:
        here, there = run(name), run(name, controller=reference("controller"))
        assert [(row.requirement, row.verdict.outcome, row.verdict.failure) for row in here.rows] == [
            (row.requirement, row.verdict.outcome, row.verdict.failure) for row in there.rows]


@pytest.mark.slow
def test_without_snapshots_forks_are_played_again_with_the_same_bytes(run, reference) -> None:
    said: list[str] = []
    whole = trace_of(run("first-look", keep=True, controller=Whole("controller")))
    forgets = reference("controller", "forgets.py", say=said.append)
    assert trace_of(run("first-look", keep=True, controller=forgets)) == whole
    assert len(said) == 1
    assert "takes no snapshots; forks of it are made by starting it anew and playing all its calls again" in said[0]


@pytest.mark.slow
@pytest.mark.parametrize(("saves", "programs"), [(2, 8), (3, 1), (32, 1)])
def test_few_snapshots_and_one_process_will_do(run, reference, monkeypatch, saves, programs) -> None:
    monkeypatch.setattr(remotes, "SAVES", saves)
    monkeypatch.setattr(remotes, "PROGRAMS", programs)
    assert trace_of(run("two-at-once", keep=True, controller=reference("controller"))) == trace_of(
        run("two-at-once", keep=True, controller=Whole("controller")))


@pytest.mark.slow
def test_a_sweep_forks_a_program_and_finds_what_it_finds_in_our_process(capsys) -> None:
    site = ROOT / "scenarios" / "sites" / "mill-lane.site.yaml"
    spec = f"run:env PYTHONPATH={ROOT} {sys.executable} {PROGRAMS / 'reference.py'} controller"
    front = ["sweep", str(site), "--fault", "lost-link", "--budget", "4", "--jobs", "2", "--format", "json"]
    serve_line([*front, "--controller", spec])
    rows = json.loads(capsys.readouterr().out)["rows"]
    assert rows
    assert {row["outcome"] for row in rows} == {"safe in time"}
    # A number that goes to another program can't be traced: no row claims to be exact.
    assert "exact" not in {row["coverage"] for row in rows}


# --- values as JSON ---------------------------------------------------------------------------------------------------


_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
REPORTS = st.lists(
    st.builds(Report, _TEXT, st.sampled_from(Level), st.booleans(), st.booleans(), st.booleans(), st.booleans(),
              st.integers(0, 2**40)), max_size=4, unique_by=lambda report: report.edge).map(tuple)
CONTROLLER = st.builds(
    ControllerSeen,
    controls=st.frozensets(st.tuples(st.sampled_from(Asked), st.sampled_from(Origin)), max_size=4),
    at_closed=st.booleans(), at_open=st.booleans(), reports=REPORTS, force=st.booleans(), force_ready=st.booleans(),
    position=st.floats(-1e7, 1e7), position_known=st.booleans(), motion=st.none() | st.sampled_from(Direction),
    opening_contactor=st.booleans(), closing_contactor=st.booleans(), main_closed=st.booleans(), sounder=st.booleans())


@given(CONTROLLER, CONTROLLER)
def test_what_changed_is_enough(before, now) -> None:
    # The edges of a site do not change in a run.
    by_edge = {report.edge: report for report in now.reports}
    now = now._replace(reports=tuple(
        report._replace(level=by_edge[report.edge].level) if report.edge in by_edge else report
        for report in before.reports))
    first = json.loads(json.dumps(changes(ControllerSeen, None, before)))
    assert applied(ControllerSeen, None, first, "seen") == before
    told = json.loads(json.dumps(changes(ControllerSeen, before, now)))
    assert applied(ControllerSeen, before, told, "seen") == now
    assert (told == {}) == (before == now)


@pytest.mark.parametrize("role", ROLES)
def test_every_value_of_the_contract_has_its_json(role) -> None:
    for kind in SHAPES[role][:3]:
        assert all(one.words for one in fields(kind).values())


def test_a_store_gone_bad_is_shown_and_not_lost() -> None:
    assert codec(bytes).dump(b"ok \xff") == "ok \\xff"


@pytest.mark.parametrize(("text", "message"), [
    ('{"reports": [{"edge": "x"}]}', "reports\\[0\\] lacks level"),
    ('{"at_open": "yes"}', "seen.at_open must be true or false, not 'yes'"),
    ('{"controls": [["open"]]}', "seen.controls\\[0\\] must be an array of 2"),
    ('{"motion": "up"}', "or null"),
])
def test_what_is_no_value_is_refused_with_its_place(text, message) -> None:
    seen = ControllerSeen(frozenset(), True, False, (), False, True, 0.0, True, None, False, False, False, False)
    with pytest.raises(Mismatch, match=message):
        applied(ControllerSeen, seen, json.loads(text), "seen")


# --- our own end of the other side ------------------------------------------------------------------------------------


def talk(*requests: dict[str, Any]) -> list[dict[str, Any]]:
    sink = io.BytesIO()
    serve("controller", ReferenceController(), io.BytesIO(b"".join(remotes.line_of(one) for one in requests)), sink)
    return [json.loads(line) for line in sink.getvalue().splitlines()]


def greeting(settings: Any) -> dict[str, Any]:
    return {"hello": {"gatesim-logic": 1, "role": "controller",
                      "settings": codec(SHAPES["controller"].settings).dump(settings)}}


def test_unknown_requests_are_refused_and_bye_ends_it(mill_lane_settings) -> None:
    answers = talk(greeting(mill_lane_settings), {"dance": {}}, {"back": 4}, {"bye": {}}, {"start": {"kept": None}})
    assert answers[0]["hello"]["snapshots"] is True
    assert answers[1:3] == [{"refused": "there is no request 'dance' here"}, {"refused": "nothing was saved as 4"}]
    assert answers[3:] == [{"ok": True}]


def test_another_version_or_role_is_refused() -> None:
    assert "refused" in talk({"hello": {"gatesim-logic": 2, "role": "controller", "settings": {}}})[0]
    assert "refused" in talk({"hello": {"gatesim-logic": 1, "role": "receiver", "settings": {}}})[0]


def test_only_what_changed_is_told(mill_lane_settings) -> None:
    seen = ControllerSeen(frozenset(), True, False, (), False, True, 0.0, True, None, False, False, False, False)
    resting = tuple(Report(edge.edge, Level.REST, True, True, False, False, 0) for edge in mill_lane_settings.edges)
    image = changes(ControllerSeen, None, seen._replace(reports=resting))
    answers = talk(greeting(mill_lane_settings), {"start": {"kept": None}}, {"step": {"now": 0, "seen": image}},
                   {"step": {"now": 5, "seen": {}}})
    assert answers[1]["do"]["mode"] == "at rest"
    assert answers[1]["do"].keys() <= set(SHAPES["controller"].do._fields)
    assert answers[3]["do"] == {}
    assert "keep" not in answers[3]


def test_before_anything_was_put_out_everything_is_off(mill_lane_settings) -> None:
    do = nothing_done("controller", mill_lane_settings)
    assert (do.order, do.main, do.brake, do.lockout) == (None, False, Brake.HOLD, Lockout.NONE)


def test_a_world_whose_start_failed_is_told_the_same_again() -> None:
    words = (sys.executable, "-c", "raise SystemExit(9)")
    remote = Remote("classifier", Command(words, "classifier run:dying", 10.0))
    settings = ClassifierSettings((), 10_000, 2, 5, 512, 2, 12, None, None)
    with pytest.raises(LogicError, match="exit code 9"):
        remote.start(settings, None)
    with pytest.raises(LogicError, match="exit code 9"):
        remote.step(None, ClassifierSeen((), 512, 1, None), 0.0)


SHIPPED = sorted(file.name.split(".")[0] for file in (ROOT / "scenarios").glob("*.scenario.yaml"))
SAMPLED = SHIPPED if os.environ.get("GATESIM_TEST_ALL") else [*SHIPPED[3::9], "sense-rail-lost"]
"""All of them take some minutes: by hand, with GATESIM_TEST_ALL=1."""


@pytest.mark.slow
def test_both_roads_come_to_the_same_verdicts(run, reference) -> None:
    there = reference("controller")
    different = []
    for name in SAMPLED:
        here = [(row.requirement, row.verdict.outcome, row.verdict.failure, row.differs) for row in run(name).rows]
        if here != [(row.requirement, row.verdict.outcome, row.verdict.failure, row.differs)
                    for row in run(name, controller=there).rows]:
            different.append(name)
    assert different == []
    assert len(SAMPLED) > 10
