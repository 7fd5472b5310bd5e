"""The plan as text: readable in 80 columns, cautions first, shortfalls said plainly."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from gatesim.field.plan import plan
from gatesim.plant.site import Site, WiredInput
from gatesim.report.folded import COLUMNS
from gatesim.report.plan_text import plan_text

sys.path.insert(0, str(Path(__file__).parent.parent / "field"))

from field_site import MM, a_site, a_transmitter, a_wired_site, an_edge


@pytest.mark.parametrize("site", [a_site(), a_wired_site()], ids=["radio", "wired"])
def test_no_line_is_wider_than_a_terminal_or_a_page(site: Site) -> None:
    text = plan_text(plan(site))
    assert max(len(line) for line in text.splitlines()) <= COLUMNS
    assert text.endswith("\n")
    assert not any(line != line.rstrip() for line in text.splitlines())
    assert text.isascii()


def test_cautions_come_before_anything_that_is_done() -> None:
    text = plan_text(plan(a_site()))
    places = [text.index(part) for part in (
        "CAUTIONS", "mains, solar and battery", "1. ENTRAPMENT", "2. REACTION", "3. EXPECTED", "4. TRANSMITTERS",
        "5. FIXING", "6. COMMISSIONING")]
    assert places == sorted(places)
    assert "no statement of conformity" in text
    assert "authority having jurisdiction" in text


def test_a_sound_plan_is_no_proof() -> None:
    text = plan_text(plan(a_site()))
    assert "That is no\nproof" in text
    assert "MISSING" not in text
    assert "EXCEEDED" not in text
    assert "compl" not in text.lower().replace("completed", "")


def test_what_is_missing_is_said_plainly_and_at_the_top() -> None:
    text = plan_text(plan(a_wired_site()))
    assert "MISSING, EXCEEDED OR NOT IN AGREEMENT: 1\n" in text
    assert "  * MISSING: 1 of 2 independent, monitored means" in text
    assert "NO EDGE: force sensing alone" in text


def test_exceeded_budgets_are_said() -> None:
    weak = a_site(edges=(an_edge("front edge", "gap", "front node", overtravel=42 * MM),))
    text = plan_text(plan(weak))
    # 45.4 mm when only the last repeat is heard, of 42 mm (sums in tests/field).
    assert "EXCEEDED by 3.4 mm" in text
    assert "  repeats              30.0 ms    6.0 mm  all but the last of 3 frames lost\n" in text
    assert "  sum                            45.4 mm  after actuation\n" in text


def test_five_figures_stand_together_with_their_sums() -> None:
    text = plan_text(plan(a_site()))
    start = text.index("Transmitter front node")
    block = text[start:text.index("Transmitter rear node")]
    for part in ("check-ins", "air time", "radio rule", "47 CFR 15.231(a)(3)", "battery", "lost link", "the five agree",
                 "10 whole moves in the busiest"):
        assert part in block
    bad = plan_text(plan(a_site(transmitters=(a_transmitter("front node", air_time=6_000),))))
    assert "DOES NOT AGREE: air time" in bad


def test_a_shared_transmitter_warns_of_the_way_back() -> None:
    shared = WiredInput("both", 5_000, 3, 6, a_transmitter().monitoring)
    site = a_site(edges=(an_edge("front edge", "gap", "both"), an_edge("rear edge", "pocket", "both")), transmitters=(),
                  wired_inputs=(shared,), receiver=None)
    assert "WAY BACK is UNGUARDED" in " ".join(plan_text(plan(site)).split())


def test_every_step_has_its_blanks() -> None:
    made = plan(a_site())
    text = plan_text(made)
    assert text.count("     reading ____") == len(made.steps)
    assert "tester ___" in text
    assert "date ___" in text
    for hole in made.fixings[0].holes:
        assert f"{hole / 1000:.1f} mm" in text


def test_names_from_a_file_can_not_act_on_a_terminal() -> None:
    text = plan_text(plan(replace(a_site(), name="Weir\x1b[31m Walk", notes="one\ntwo\x07")))
    assert "\x1b" not in text
    assert "\x07" not in text
