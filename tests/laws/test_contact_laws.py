"""Contact: stiffer rubber, more mass and a second obstruction never make a blow softer.

The force sensing is out of these runs: it feels a stiffer edge sooner, and would stop sooner.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.events import Command, ForcePeaked
from gatesim.plant.site import Site
from gatesim.scenario import model as m

sys.path.insert(0, str(Path(__file__).parent))

from stories import S, course, lived, shipped, taker

YARD = shipped("tannery-lane")
PLACE = 2_000_000.0


def blow(site: Site, *more: float, **other: object) -> float:
    """The greatest force (mN) of a closing onto a post, and what else stands there at these places."""
    numb = replace(site, leaf_at=PLACE + 300_000.0, drive=replace(site.drive, force_dwell=60 * S))
    posts = [m.Obstruct(do="obstruct", at=0, obstruction=f"post {k}", zone="closing gap", position=place, **other)
             for k, place in enumerate((PLACE, *more))]
    seen = lived(m.Scenario("law", "", numb, 7 * S, (*posts, m.GiveCommand(do="command", at=S, command=Command.CLOSE)),
                            ()))
    peaks = [event.force for _, event in seen if type(event) is ForcePeaked]
    assert peaks, "the leaf never met the post"
    return max(peaks)


def yard(speed: float, stall: float, gauge: float | None) -> Site:
    drive = replace(YARD.drive, speed_closing=speed, stall_force=stall, force_limit=stall)
    return replace(YARD, drive=drive, instrument_stiffness=gauge)


sites = st.builds(yard, st.floats(0.1, 0.3), st.floats(200e3, 1e6), st.sampled_from((None, 500.0)))
soft = st.sampled_from((None, 10.0, 75.0))
beyond = 1 - 1e-9


@settings(deadline=None, max_examples=40)
@given(sites, soft, st.floats(0, 9), st.floats(0, 9))
def test_a_stiffer_edge_never_lowers_the_peak(site: Site, soft: float | None, one: float, other: float) -> None:
    less, more = (replace(site, edges=tuple(replace(edge, stiffening=share) for edge in site.edges))
                  for share in sorted((one, other)))
    assert blow(more, stiffness=soft) >= blow(less, stiffness=soft) * beyond


@settings(deadline=None, max_examples=25)
@given(sites, soft, st.sampled_from(m.Touches), st.floats(0, 500), st.floats(0, 500))
def test_more_mass_never_softens_the_blow(site: Site, soft: float | None, touches: m.Touches, one: float,
                                          other: float) -> None:
    less, more = (replace(site, drive=replace(site.drive, reflected_mass=mass)) for mass in sorted((one, other)))
    assert blow(more, stiffness=soft, touches=touches) >= blow(less, stiffness=soft, touches=touches) * beyond


@settings(deadline=None, max_examples=25)
@given(sites, st.floats(1, 2_000), st.floats(1, 2_000))
def test_a_free_obstruction_is_struck_the_harder_the_heavier_it_is(site: Site, one: float, other: float) -> None:
    light, heavy = sorted((one, other))
    free = [blow(site, touches=m.Touches.LEAF, stands=m.Stands.FREE, mass=mass) for mass in (light, heavy)]
    assert free[0] <= free[1] / beyond
    assert free[1] <= blow(site, touches=m.Touches.LEAF) / beyond


@settings(deadline=None, max_examples=25)
@given(sites, soft, st.floats(-20_000, 0))
def test_a_second_obstruction_never_lowers_the_force_in_all(site: Site, soft: float | None, behind: float) -> None:
    assert blow(site, PLACE + behind, stiffness=soft) >= blow(site, stiffness=soft) * beyond


def test_several_at_once_have_the_same_future_in_every_fork() -> None:
    post = m.Obstruct(do="obstruct", at=0, obstruction="post", zone="closing gap", position=PLACE, stiffness=30.0)
    cart = m.Obstruct(do="obstruct", at=0, obstruction="cart", zone="closing gap", position=PLACE - 5_000,
                      stands=m.Stands.FREE, mass=40.0, stays=4_900_000)
    site = replace(YARD, leaf_at=PLACE + 300_000.0)
    close = m.GiveCommand(do="command", at=S, command=Command.CLOSE)
    told = m.Scenario("law", "", site, 8 * S, (post, cart, close), ())
    whole = lived(told)
    assert any(type(event) is ForcePeaked and event.obstruction == "post + cart" for _, event in whole)
    instants = sorted({at for at, _ in whole})
    for number in range(0, len(instants), 3):
        begun, seen = course(told)
        for now, _ in begun.play():
            if now >= instants[number]:
                break
        branch = list(seen)
        for _ in begun.copy(None, taker(branch)).play():
            pass
        assert branch == whole, f"forked at {instants[number]}"
