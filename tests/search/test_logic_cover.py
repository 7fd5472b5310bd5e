"""What scenarios reach of a controller's table, heard at the tap, through the contract."""

from __future__ import annotations

import sys
from itertools import pairwise
from pathlib import Path

import pytest

from gatesim.cli import known
from gatesim.cli.roles import load_roles
from gatesim.cli.wanted import Wanted
from gatesim.errors import BadUsage
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import TABLE, Guard, Mode, Trigger
from gatesim.run import default_roles, run_scenario
from gatesim.search.logic_cover import cover
from gatesim.search.tap import Tap, table_of
from gatesim.search.wrong_tables import Change, mutants

sys.path.insert(0, str(Path(__file__).parent))

import lamp_logic

SCENARIOS = Path(__file__).parents[2] / "scenarios"
LAMP = f"{Path(lamp_logic.__file__)}:Lamp"


def told(name: str):  # type: ignore[no-untyped-def]
    return known.scenario(SCENARIOS / f"{name}.scenario.yaml")


def by_modes(scenario) -> list[str]:  # type: ignore[no-untyped-def]
    """The modes that the whole run's trace shows, one after the other: told without any tap."""
    whole = run_scenario(scenario, default_roles()).sections[0]
    shown = [event.mode for _, event in whole.events if type(event).__name__ == "OrdersChanged"]
    return [mode for k, mode in enumerate(shown) if k == 0 or shown[k - 1] != mode]


@pytest.mark.parametrize("name", ["second-demand", "hold-to-run", "stop-and-turn-round", "reset-rules"])
def test_states_and_changes_of_state_are_those_of_the_trace(name: str) -> None:
    scenario = told(name)
    seen = by_modes(scenario)
    covered = cover([scenario], default_roles())
    assert {mode.value for mode in covered.states} >= set(seen)
    # The trace shows no mode that was left within the instant.
    changes = {(TABLE.rows[k].mode.value, TABLE.rows[k].target.value) for k in covered.rows}
    for a, b in pairwise(seen):
        assert (a, b) in changes or any((a, c) in changes and (c, b) in changes for c in {one for _, one in changes})


def test_more_scenarios_reach_more_and_nothing_reached_is_lost() -> None:
    one, two = (cover([told(name) for name in names], default_roles())
                for names in (["hold-to-run"], ["hold-to-run", "second-demand"]))
    assert one.rows < two.rows
    assert one.pairs < two.pairs
    assert set(two.unused_rows) == {row for k, row in enumerate(TABLE.rows) if k not in two.rows}
    assert two.pairs.isdisjoint(two.unused_pairs)
    assert set(two.pairs) <= set(two.all_pairs)


def test_a_loss_of_power_parts_what_follows() -> None:
    covered = cover([told("alarm-and-power")], default_roles())
    assert covered.pairs
    assert all(TABLE.rows[a].target is TABLE.rows[b].mode for a, b in covered.pairs)


def test_a_controller_of_ones_own_is_counted_by_its_own_table() -> None:
    covered = cover([told("healthy-both-ways")], load_roles(Wanted(controller=LAMP)))
    assert {mode.name for mode in covered.states} == {"STILL", "RUNS"}
    assert {row.trigger.name for row in covered.unused_rows} == {"EDGE_FAULT"}
    assert [mode.name for mode in covered.findings.unreachable] == ["SPARE"]
    assert [mode.name for mode in covered.findings.no_way_out] == ["STUCK"]
    assert covered.findings.wrong


def test_a_controller_that_never_asks_reaches_nothing() -> None:
    covered = cover([told("first-look")], load_roles(Wanted(controller=LAMP.replace(":Lamp", ":Mute"))))
    assert covered.questions == 0
    assert covered.states == covered.rows == frozenset()


def test_a_controller_without_a_table_is_refused() -> None:
    class Bare:
        TABLE = None
        __module__ = "builtins"

    with pytest.raises(BadUsage, match="has no TABLE"):
        table_of(Bare())


def test_another_table_answers_while_the_tap_says_so() -> None:
    """A stop that the wrong table leaves unanswered keeps the gate moving; after the tap all is as before."""
    scenario = told("stop-and-turn-round")
    right = by_modes(scenario)
    with Tap(TABLE) as tap:
        one = next(m for m in mutants(TABLE) if m.change is Change.TARGET and m.row.target is Mode.ENTRAPMENT
                   and (m.row.mode, m.row.trigger) == (Mode.OPENING, Trigger.STOP))
        tap.by = one.table(TABLE)
        assert TABLE.fire(Mode.OPENING, Trigger.STOP, lambda guard: False).target is Mode.ENTRAPMENT
        controller = tap.listened(ReferenceController())
        result = run_scenario(scenario, default_roles()._replace(controller=controller))
        assert any(event.mode == Mode.ENTRAPMENT.value for _, event in result.sections[0].events
                   if type(event).__name__ == "OrdersChanged")
    assert by_modes(scenario) == right
    assert TABLE.fire(Mode.OPENING, Trigger.STOP, lambda guard: False).target is Mode.STOPPING


def test_taps_may_stand_one_behind_the_other() -> None:
    with Tap(TABLE) as outer:
        heard: list[str] = []
        outer.note = lambda mode, trigger, holds, row: heard.append("outer")
        with Tap(TABLE) as inner:
            inner.note = lambda mode, trigger, holds, row: heard.append("inner")
            TABLE.fire(Mode.REST, Trigger.STOP, lambda guard: False)
        TABLE.fire(Mode.REST, Trigger.STOP, lambda guard: False)
        assert heard == ["inner", "outer"]
    assert "fire" not in vars(TABLE)


def test_inputs_tell_every_guard_of_the_trigger() -> None:
    covered = cover([told("second-demand")], default_roles())
    demands = {covered.machine.inputs[x].holds for mode, x in covered.inputs
               if covered.machine.inputs[x].trigger is Trigger.DEMAND}
    assert demands == {frozenset(), frozenset({Guard.SECOND})}
