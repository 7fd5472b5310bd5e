"""Beams in both files: what can't be is told at its line with a remedy, and steps become stimuli."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import pytest

from gatesim.errors import Trouble
from gatesim.events import ClearBeam, EnterObstruction, InterruptBeam, LeaveObstruction
from gatesim.plant.site import Beam, Monitoring
from gatesim.scenario.agenda import agenda
from gatesim.scenario.check_site import MOST_ENTRIES, check_site, warnings_of

Refusals = Callable[[Callable[[], object]], tuple[Trouble, ...]]

BEAMS = """\
beams:
  - name: low ray
    zones: [closing gap]
    start: 0 mm
    end: 4 m
    distance: 150 mm
    response_time: 30 ms
    test_pulse: 80 ms
  - name: side ray
    zones: [draw-in post]
    start: 1 m
    end: 1 m
    distance: 1.5 m
    response_time: 20 ms
    test_pulse: 20 ms
    monitoring: continuously
    test_period: 2 s
    detects: 30 mm
"""


@pytest.fixture
def rays(desk: Any) -> Any:
    """The example with two beams."""
    desk.site_file.write_text(desk.site_file.read_text() + BEAMS)
    return desk


def test_a_beam_reads_into_the_model(rays: Any) -> None:
    site = rays.site()
    assert site.beams[0] == Beam("low ray", ("closing gap",), 0.0, 4e6, 150_000.0, 30_000, 80_000)
    assert site.beams[1].monitoring is Monitoring.CONTINUOUSLY
    assert (site.beams[1].test_period, site.beams[1].detects) == (2_000_000, 30_000.0)
    assert warnings_of(site) == ()


def due_of(scenario: Any) -> tuple[Any, ...]:
    """The agenda without the example's fault, which is none of the catalogue."""
    return agenda(dataclasses.replace(scenario, steps=tuple(one for one in scenario.steps if one.do != "fault")))


ERRORS = [
    ("zones: [closing gap]", "zones: []", "guards no zone", "at least one", "zones: []"),
    ("zones: [closing gap]", "zones: [closing gab]", "no zone", "did you mean 'closing gap'?", "closing gab"),
    ("zones: [closing gap]", "zones: [closing gap, closing gap]", "again", "once", "closing gap, closing gap"),
    ("zones: [closing gap]", "zones: [closing gap, draw-in post]", "both directions", "one for each", "gap, draw-in"),
    ("end: 4 m\n    distance", "end: 4.3 m\n    distance", "beyond the travel", "4.2 m", "end: 4.3 m"),
    ("start: 1 m", "start: 1.1 m", "ends before it starts", "closed stop", "    end: 1 m"),
    ("response_time: 30 ms", "response_time: 0 ms", "is zero", "above", "response_time: 0"),
    ("test_pulse: 80 ms", "test_pulse: 29 ms", "before the output could open", "30 ms", "test_pulse: 29"),
    ("test_pulse: 80 ms", "test_pulse: 971 ms", "before a move could end", "1001 ms", "test_pulse: 971"),
    ("test_period: 2 s", "test_period: 39 ms", "before the last one has ended", "40 ms", "test_period"),
    ("detects: 30 mm", "detects: 0 mm", "is zero", "above", "detects"),
    ("name: side ray", "name: front edge", "stands here again", "differ", "    zones: [draw-in post]"),
    ("name: side ray", "name: side.ray", "can't be a name", "point", "side.ray"),
]


@pytest.mark.parametrize(("old", "new", "said", "hint", "at"), ERRORS, ids=lambda x: str(x)[:30])
def test_a_beam_that_cant_be_is_refused(
    rays: Any, refusals: Refusals, old: str, new: str, said: str, hint: str, at: str
) -> None:
    made = refusals(lambda: rays.site((old, new)))
    found = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert found, [str(trouble) for trouble in made]
    assert abs(found[0].line - rays.line(rays.site_file, at)) <= 1


def test_a_pulse_that_just_ends_in_time_is_sound(rays: Any) -> None:
    assert rays.site(("test_pulse: 80 ms", "test_pulse: 970 ms"), ("test_period: 2 s", "test_period: 40 ms"))


def test_a_ray_beside_its_zone_is_read_with_a_warning(rays: Any) -> None:
    made = warnings_of(rays.site(("start: 1 m\n    end: 1 m", "start: 0.1 m\n    end: 0.4 m")))
    assert len(made) == 1
    assert "does not run through" in made[0]
    assert "0.5 m" in made[0]


def test_a_beam_guards_a_zone_and_an_automatic_closing(rays: Any) -> None:
    site = rays.site()
    bare = tuple(dataclasses.replace(zone, force_sensing=False) for zone in site.zones)
    guarded = dataclasses.replace(site, zones=bare, edges=(), transmitters=(), receiver=None, wired_inputs=())
    assert check_site(guarded) == ()
    unguarded = {made.path for made in check_site(dataclasses.replace(guarded, beams=()))}
    assert unguarded == {("zones", 0), ("zones", 1), ("controller", "automatic_closing")}


def test_absurd_numbers_of_beams_are_refused(rays: Any) -> None:
    site = rays.site()
    many = tuple(dataclasses.replace(site.beams[0], name=f"ray {k}") for k in range(MOST_ENTRIES + 1))
    assert [made.path for made in check_site(dataclasses.replace(site, beams=many))] == [("beams", MOST_ENTRIES)]


BLOCK = "  - {at: 6 s, do: obstruct, obstruction: block, zone: closing gap, position: 1.5 m}\n"


def test_steps_become_stimuli(rays: Any) -> None:
    with_ray = BLOCK.replace("1.5 m}", "1.5 m, interrupts: [low ray]}")
    more = (
        "  - {at: 7 s, do: interrupt, beam: side ray, by: cart, lasts: 1 s, every: 2 s, times: 2}\n"
        "  - {at: 12 s, do: interrupt, beam: side ray}\n"
        "  - {at: 13 s, do: clear beam, beam: side ray}\n"
    )
    due = [one for one in due_of(rays.scenario((BLOCK, with_ray + more))) if one.at >= 6_000_000]
    rays_only = [(at, stimulus) for at, stimulus in due if type(stimulus) in (InterruptBeam, ClearBeam)]
    assert rays_only == [
        (6_000_000, InterruptBeam("block", "low ray")),
        (7_000_000, InterruptBeam("cart", "side ray")),
        (8_000_000, ClearBeam("cart", "side ray")),
        (9_000_000, InterruptBeam("cart", "side ray")),
        (10_000_000, ClearBeam("cart", "side ray")),
        (12_000_000, InterruptBeam("something", "side ray")),
        (13_000_000, ClearBeam("something", "side ray")),
        # A block that goes leaves every ray in which it may stand.
        (30_000_000, ClearBeam("block", "low ray")),
        (30_000_000, ClearBeam("block", "side ray")),
    ]
    assert type(due[0].stimulus) is EnterObstruction
    assert (30_000_000, LeaveObstruction("block")) in due


def test_a_block_that_goes_by_itself_leaves_the_ray(rays: Any) -> None:
    stays = BLOCK.replace("1.5 m}", "1.5 m, stays: 3 s, interrupts: [low ray]}")
    due = due_of(rays.scenario((BLOCK, stays)))
    assert (9_000_000, ClearBeam("block", "low ray")) in due


def test_a_site_without_beams_has_no_stimuli_of_them(desk: Any) -> None:
    assert not any(type(due.stimulus) in (InterruptBeam, ClearBeam) for due in due_of(desk.scenario()))


STEPS = [
    ("{at: 7 s, do: interrupt, beam: low rey}", "no beam named", "did you mean 'low ray'?"),
    ("{at: 7 s, do: clear beam, beam: low ray}", "no step brings 'something' into", "interrupt it first"),
    ("{at: 7 s, do: interrupt, beam: low ray, lasts: 0 s}", "lasts is zero", "above zero"),
    ("{at: 7 s, do: interrupt, beam: low ray, lasts: 2 s, every: 2 s, times: 2}", "before it has ended", "2 s"),
    (
        "{at: 7 s, do: obstruct, obstruction: b, zone: closing gap, position: 1 m, interrupts: [side ray, low]}",
        "no beam named 'low'",
        "low ray",
    ),
    (
        "{at: 7 s, do: obstruct, obstruction: b, zone: closing gap, position: 2 m, interrupts: [side ray]}",
        "does not stand in 'side ray'",
        "from 1 m to 1 m",
    ),
]


@pytest.mark.parametrize(("step", "said", "hint"), STEPS, ids=lambda x: str(x)[:40])
def test_a_step_that_cant_be_is_refused(rays: Any, refusals: Refusals, step: str, said: str, hint: str) -> None:
    made = refusals(lambda: rays.scenario((BLOCK, f"{BLOCK}  - {step}\n")))
    assert [trouble for trouble in made if said in trouble.message and hint in trouble.hint], [str(t) for t in made]


def test_leaving_before_coming_is_refused(rays: Any, refusals: Refusals) -> None:
    more = "  - {at: 7 s, do: clear beam, beam: low ray}\n  - {at: 8 s, do: interrupt, beam: low ray}\n"
    made = refusals(lambda: rays.scenario((BLOCK, BLOCK + more)))
    assert any("leaves before it comes" in trouble.message for trouble in made)
