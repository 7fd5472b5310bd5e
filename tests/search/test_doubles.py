"""Defective doubles: described, pure, each caught by the scenario that it names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gatesim.cli import known
from gatesim.errors import ModelError
from gatesim.events import Level
from gatesim.plant.logic.contract import ClassifierSeen, ClassifierSettings, EdgeBand
from gatesim.run import default_roles
from gatesim.search import doubles as package
from gatesim.search.doubles import catalogue
from gatesim.search.doubles.base import Double, Role
from gatesim.search.doubles.controller_ping_pong import PingPong
from gatesim.search.rows import TITLES
from gatesim.search.trial import Fate, Result, Sound, Story, Tried, sound, trials_of, try_wrong

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ALL = list(catalogue.doubles().values())
TOLD_APART = [double for double in ALL if not double.equivalent]
HEALTHY = "healthy-cold-and-heavy"


def story(name: str) -> Story:
    file = str(SCENARIOS / f"{name}.scenario.yaml")
    return Story(file, known.scenario(file))


def test_there_are_enough_in_every_role() -> None:
    assert len(TOLD_APART) >= 50
    assert {double.role for double in ALL} == set(Role)
    assert sum(double.name.startswith("watchdog-") for double in ALL) >= 5


@pytest.mark.parametrize("double", ALL, ids=lambda double: double.name)
def test_a_double_is_described(double: Double) -> None:
    assert re.fullmatch(r"(classifier|receiver|watchdog|controller)(-[a-z]+)+", double.name)
    assert double.name.startswith((double.role.value, "watchdog"))
    assert double.row in TITLES
    for text in (double.bug, double.differs):
        assert re.fullmatch(r"[A-Z].*\.", text)
    assert bool(double.shown_by) is not bool(double.equivalent)
    assert not hasattr(double.make(), "__dict__") or all(
        not isinstance(value, dict | list) for value in vars(double.make()).values()), "what it remembers is its state"


@pytest.mark.parametrize("double", TOLD_APART, ids=lambda double: double.name)
def test_the_scenario_that_a_double_names_catches_it(double: Double) -> None:
    named = story(double.shown_by)
    assert not sound(named).differs
    tried = try_wrong(double, [named], {})
    assert (tried.fate, tried.by) == (Fate.CAUGHT, named.file)
    assert "died" not in tried.why


@pytest.mark.parametrize("double", [one for one in ALL if one.equivalent], ids=lambda double: double.name)
def test_an_equivalent_is_run_like_any_other(double: Double) -> None:
    tried = try_wrong(double, [story("old-answer"), story("first-look")], {})
    assert (tried.fate, tried.runs, tried.why) == (Fate.EQUIVALENT, 2, double.equivalent)


def test_an_equivalent_that_something_tells_apart_is_caught() -> None:
    claimed = next(one for one in ALL if one.name == "receiver-sum-last")._replace(shown_by="", equivalent="Claimed.")
    assert try_wrong(claimed, [story("frame-corrupted")], {}).fate is Fate.CAUGHT


def test_the_reference_in_a_doubles_place_is_missed() -> None:
    plain = Double("reference", Role.RECEIVER, "C1", "No bug.", "Nothing.", lambda: default_roles().receiver)
    tried = try_wrong(plain, [story("first-look"), story(HEALTHY)], {})
    assert (tried.fate, tried.runs, tried.by) == (Fate.MISSED, 2, "")


def test_the_scenario_named_comes_first_and_the_first_catch_ends_it() -> None:
    double = next(one for one in ALL if one.name == "receiver-sum-last")
    tried = try_wrong(double, [story(HEALTHY), story("first-look"), story("frame-corrupted")], {})
    assert (tried.runs, Path(tried.by).name) == (1, "frame-corrupted.scenario.yaml")


def test_logic_that_dies_is_caught_and_says_of_what() -> None:
    class Dies:
        def start(self, *_: object) -> object:
            raise ZeroDivisionError("at once")

    dying = Double("dies", Role.CONTROLLER, "C1", "It dies.", "Dies.", Dies, "first-look")
    tried = try_wrong(dying, [story("first-look")], {})
    assert tried.fate is Fate.CAUGHT
    assert tried.why == "it died: ZeroDivisionError: at once"


def test_a_story_that_the_reference_fails_catches_nothing() -> None:
    first = story("first-look")
    sounds = (Sound(first.file, "it differs", frozenset()),)
    tried = list(trials_of(["receiver-swapped"], [first], sounds, 1))
    assert [(one.fate, one.runs) for one in tried] == [(Fate.MISSED, 0)]


def test_side_by_side_gives_what_one_process_gives() -> None:
    stories = [story("first-look"), story("frame-corrupted")]
    sounds = tuple(sound(one) for one in stories)
    names = ["receiver-sum-last", "receiver-waits", "controller-trusts-edges"]
    alone, beside = ({one.name: one for one in trials_of(names, stories, sounds, workers)} for workers in (1, 2))
    assert alone == beside
    assert set(alone) == set(names)


def test_a_sweep_catches_what_the_scenarios_miss() -> None:
    one = story(HEALTHY)
    missed, caught = (
        next(trials_of(["receiver-sum-last"], [one], (sound(one),), 1, with_sweep=sweep)) for sweep in (False, True))
    assert missed.fate is Fate.MISSED
    assert caught.fate is Fate.CAUGHT
    assert caught.by.startswith("sweep of Mill Lane yard: frame-corrupted at front transmitter, ")


def test_a_result_counts_what_was_not_run() -> None:
    tried = Tried("a", Fate.CAUGHT, "x", "", 1)
    result = Result.of(["b", "a"], ["m"], [tried], [Sound("f", "", frozenset()), Sound("g", "bad", frozenset())], ())
    assert (result.missing, result.scenarios, result.unsound) == (2, 1, (("g", "bad"),))
    assert [result.count(fate) for fate in Fate] == [1, 0, 0]


def test_a_double_is_one_file_named_as_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(package, "__path__", [*package.__path__, str(tmp_path)])
    (tmp_path / "receiver_elsewhere.py").write_text(
        "from gatesim.search.doubles.receiver_waits import DOUBLE as OTHER\nDOUBLE = OTHER\n")
    catalogue.doubles.cache_clear()
    with pytest.raises(ModelError, match=r"receiver_elsewhere\.py: its double is named 'receiver-waits'"):
        catalogue.doubles()
    catalogue.doubles.cache_clear()


def test_doubles_use_of_the_plant_only_logic() -> None:
    for file in Path(package.__file__).parent.glob("*.py"):
        for module in re.findall(r"^from (gatesim\S+) import", file.read_text(), re.MULTILINE):
            allowed = ("gatesim.events", "gatesim.plant.logic", "gatesim.plant.fsm", "gatesim.search", "gatesim.units",
                       "gatesim.errors")
            assert module.startswith(allowed), (file.name, module)


def test_two_nodes_do_not_share_what_a_classifier_remembers() -> None:
    made = next(one for one in ALL if one.name == "classifier-keeps-last").make()
    settings = ClassifierSettings((EdgeBand("nose", 400, 600, 900),), 10_000, 1, 1, 512, 20, 8, None, None)
    one, _ = made.start(settings, None)
    other, _ = made.start(settings, None)
    one, _ = made.step(one, ClassifierSeen((100,), 512, 1, None), 0.0)
    other, do = made.step(other, ClassifierSeen((-1,), 512, 1, None), 0.0)
    assert do.levels == (Level.REST,)


def test_ping_pong_is_the_reference_but_for_one_guard() -> None:
    from gatesim.plant.logic.controller_table import TABLE, Guard

    for row in TABLE.rows:
        held = set(row.guards) - {Guard.SECOND}
        want = TABLE.fire(row.mode, row.trigger, held.__contains__)
        assert PingPong()._fire(row.mode, row.trigger, {*held, Guard.SECOND}.__contains__) is want
