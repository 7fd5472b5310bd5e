"""The small API for tests of one's own: run, ask the trace, assert; and what it says when it is used wrongly."""

from __future__ import annotations

from pathlib import Path

import pytest

from gatesim.errors import BadInput, BadUsage, LogicError
from gatesim.events import ContactBegan, LeafStopped, SounderChanged
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.requirements.verdict import Outcome
from gatesim.scenario.model import Scenario
from gatesim.testing import MOST_TOLD, NotMet, Played, as_file, assert_as_expected, assert_met, load, run

ROOT = Path(__file__).parents[1]
FIRST = ROOT / "scenarios/first-look.scenario.yaml"


class Broken(ReferenceController):
    def step(self, state, seen, now):  # type: ignore[no-untyped-def]
        raise ValueError("enough")


@pytest.fixture(scope="module")
def played() -> Played:
    return run(FIRST)


def test_a_run_is_as_on_the_command_line(played, capsys) -> None:
    from gatesim.cli.main import serve
    from gatesim.report.assemble import trace_of
    from gatesim.trace import sha256

    serve(["check", str(FIRST), "--format", "json"])
    assert sha256(trace_of(played.result)) in capsys.readouterr().out
    assert (played.seed, played.scenario) == (11, load(FIRST))
    assert_as_expected(played)
    assert_met(played, "reversal-begun", "never-both-directions")


def test_the_trace_answers_by_kind_and_by_time(played) -> None:
    touched, contact = played.trace.first(ContactBegan)
    stopped, _ = played.trace.first(LeafStopped, after=touched)
    assert contact.obstruction == "test block"
    assert 0 < stopped - touched < 500_000
    assert played.trace.last(LeafStopped, before=touched)[0] < touched
    assert played.trace.last(SounderChanged, before=-1) is None
    assert any(isinstance(event, ContactBegan) for event in played.trace.at(round(touched)))
    spans = played.trace.spans(lambda event: isinstance(event, ContactBegan), lambda event: type(event) is LeafStopped)
    assert [span.begun for span in spans] == [touched]
    assert spans[0].lasts == stopped - touched
    endless = played.trace.spans(lambda event: isinstance(event, ContactBegan), lambda _: False)
    assert (endless[0].ended, endless[0].lasts) == (None, float("inf"))


def test_not_exercised_is_not_met(played) -> None:
    assert played.verdict("lost-link-found").outcome is Outcome.NOT_EXERCISED
    with pytest.raises(NotMet, match=r"first-look\.scenario\.yaml:\d+: lost-link-found: .*got not exercised") as told:
        assert_met(played, "reversal-begun", "lost-link-found")
    assert "seed 11; the same again: gatesim run" in str(told.value)
    assert "reversal-begun:" not in str(told.value)


def test_an_object_a_class_and_a_spec_play_the_same(played) -> None:
    spec = "gatesim.plant.logic.controller_reference:ReferenceController"
    others = [run(FIRST, controller=given) for given in (ReferenceController, ReferenceController(), spec)]
    assert [one.trace for one in others] == [played.trace] * 3
    assert others[2].replay().endswith(f"--controller {spec}")
    assert others[0].replay().endswith("(and the logic that the test gave)")


def test_what_dies_or_is_no_logic_is_told_as_such() -> None:
    with pytest.raises(LogicError, match=r"controller .*:Broken died in step.*enough"):
        run(FIRST, controller=Broken)
    with pytest.raises(BadUsage, match=r"a receiver has start\(settings, kept\) and step"):
        run(FIRST, receiver=3)
    with pytest.raises(BadInput, match="can't be opened"):
        run(ROOT / "no-such.scenario.yaml")


def test_a_requirement_that_is_none_is_no_failure_but_a_mistake(played) -> None:
    with pytest.raises(BadUsage, match="did you mean 'reversal-begun'"):
        assert_met(played, "reversal-begn")
    with pytest.raises(BadUsage, match="no requirement is named"):
        assert_met(played)


def test_a_scenario_of_no_file_is_named_by_its_title(played) -> None:
    scenario = Scenario("Nothing", "Nothing.", played.scenario.site, 1_000_000, (), ())
    quiet = run(scenario, seed=5)
    assert (quiet.where("reversal-begun"), quiet.replay()) == ("Nothing", "seed 5")
    assert "title: Nothing" in as_file(scenario)


def test_of_many_failures_the_first_are_told_and_the_others_named(played) -> None:
    idle = [name for name, row in played.rows.items() if row.verdict.outcome is Outcome.NOT_EXERCISED]
    with pytest.raises(NotMet) as told:
        assert_met(played, *idle)
    text = str(told.value)
    assert len(idle) > MOST_TOLD
    assert text.count("the same again") == MOST_TOLD
    assert all(f"{name}: " in text for name in idle)
