"""Force curves that go backwards and the like: refused at their line, with a reason and a remedy."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim.scenario.agenda import _once
from gatesim.scenario.model import Obstruct, Stands

CURVE = "[{deflection: 0 mm, force: 0 N}, {deflection: 8 mm, force: 60 N}, {deflection: 53 mm, force: 420 N}]"
AT = "    wire_length: 3 m"


def with_curve(curve: str) -> tuple[str, str]:
    return AT, f"    curve: {curve}\n{AT}"


def test_a_curve_through_both_points_is_read(desk: Any) -> None:
    edge = desk.site(with_curve(CURVE)).edges[0]
    assert [(point.deflection, point.force) for point in edge.curve] == [(0, 0), (8_000, 60_000), (53_000, 420_000)]


BAD = [
    (("8 mm, force: 60 N", "60 mm, force: 60 N"), "goes back: 53 mm comes after 60 mm", "order of pressing in"),
    (("8 mm, force: 60 N", "8 mm, force: 430 N"), "does not rise: 420 N comes after 430 N", "highest point"),
    (("8 mm, force: 60 N", "8 mm, force: 0 N"), "does not rise: 0 N comes after 0 N", "highest point"),
    (("0 mm, force: 0 N", "0 mm, force: 5 N"), "goes back: 0 m comes after 0 m", "order"),
    (("8 mm, force: 60 N", "8 mm, force: 66 N"), "at actuating_travel the curve has 66 N", "60 N is stated"),
    (("53 mm", "50 mm"), "the curve ends at 50 mm", "make 53 mm"),
    (("420 N", "400 N"), "the curve ends at 400 N", "420 N is stated"),
]


@pytest.mark.parametrize(("change", "said", "hint"), BAD, ids=[row[1][:30] for row in BAD])
def test_a_curve_that_can_not_be(desk: Any, refusals: Any, change: tuple[str, str], said: str, hint: str) -> None:
    made = refusals(lambda: desk.site(with_curve(CURVE.replace(*change))))
    found = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert found, [str(trouble) for trouble in made]
    assert found[0].line == desk.line(desk.site_file, "curve:")


def test_all_that_is_wrong_is_told_at_once(desk: Any, refusals: Any) -> None:
    made = refusals(lambda: desk.site(with_curve(
        "[{deflection: 9 mm, force: 70 N}, {deflection: 8 mm, force: 60 N}, {deflection: 7 mm, force: 90 N}]")))
    assert [("goes back" in one.message, "not rise" in one.message) for one in made] == [
        (True, False), (False, True), (True, False)]


def test_a_curve_too_long(desk: Any, refusals: Any) -> None:
    many = ", ".join(f"{{deflection: {k} mm, force: {k} N}}" for k in range(1, 67))
    (one,) = refusals(lambda: desk.site(with_curve(f"[{many}]")))
    assert "66 points" in one.message


@pytest.mark.parametrize(("change", "said"), [
    (("without_power: braked", "without_power: coasting\n  self_locking: true"), "does not let the leaf coast"),
    (("coldest: -15 degC", "coldest: -15 degC\ninstrument_stiffness: 0 N/mm"), "measures nothing"),
    (("limit_lead: 5 mm", "limit_lead: 5 mm\n  reflected_mass: -5 kg"), "out of range"),
    (("wire_length: 3 m", "wire_length: 3 m\n    force_tolerance: 101 %"), "out of range"),
])
def test_gear_gauge_and_mass(desk: Any, refusals: Any, change: tuple[str, str], said: str) -> None:
    assert said in refusals(lambda: desk.site(change))[0].message


@pytest.mark.parametrize(("step", "said"), [
    ("stands: free", "without mass is none"), ("stands: free, mass: 0 kg", "without mass is none"),
    ("mass: 20 kg", "changes nothing"), ("stands: still", "not one of"),
])
def test_how_an_obstruction_stands(desk: Any, refusals: Any, step: str, said: str) -> None:
    text = desk.scenario_file.read_text()
    old = next(line for line in text.splitlines() if "do: obstruct" in line)
    assert old.endswith("}")
    assert said in refusals(lambda: desk.scenario((old, f"{old[:-1]}, {step}}}")))[0].message


def test_a_free_obstruction_is_read(desk: Any) -> None:
    old = next(line for line in desk.scenario_file.read_text().splitlines() if "do: obstruct" in line)
    made = desk.scenario((old, f"{old[:-1]}, stands: free, mass: 20 kg}}"))
    (step,) = [step for step in made.steps if isinstance(step, Obstruct)]
    assert [due.stimulus.mass for due in _once(made.site, "0", step)] == [20.0]
    assert [due.stimulus.mass for due in _once(made.site, "0", replace(step, stands=Stands.FAST))] == [None]
