"""Hypothesis strategies: stories of a given site, to try logic of your own with more than one can think of.

    from hypothesis import given
    from gatesim import strategies
    from gatesim.testing import run

    @given(strategies.scenarios(SITE))
    def test_nothing_drives_both_ways(scenario):
        played = run(scenario, controller=MyController)
        ...

All instants and durations are whole microseconds on a grid of `GRAIN`, positions whole micrometres, so every scenario
can be written to a file and read back as the same (`gatesim.testing.as_file`).  A story may be senseless; it is legal.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from gatesim.events import Command, LeafName, Origin
from gatesim.plant.faults.catalogue import spots
from gatesim.plant.site import Site
from gatesim.scenario import model as m

try:
    from hypothesis import strategies as st
    from hypothesis.strategies import SearchStrategy
except ModuleNotFoundError as missing:
    raise ModuleNotFoundError(
        f"gatesim.strategies needs {missing.name}: install gatesim with its extra, 'gatesim[test]'", name=missing.name
    ) from None

__all__ = ["GRAIN", "beams", "commands", "contacts", "faults", "power_losses", "presses", "pushes", "scenarios",
           "steps", "until"]

GRAIN = 1_000
"""Instants and durations are multiples of this (us)."""
LASTS = 30_000_000
"""A story lasts so long (us), where nothing else is asked for: a move and what may follow it."""
LONGEST_SPAN = 5_000_000
"""What lasts a while lasts so long (us) at most."""
STIFFNESSES = (None, 8.0, 500.0)
"""Of an obstruction (N/mm): rigid, a soft one, and that of the block that forces are measured with."""


def until(instant: int) -> SearchStrategy[int]:
    """Instants (us) from the beginning to this one."""
    return st.integers(0, instant // GRAIN).map(lambda grains: grains * GRAIN)


def _spans() -> SearchStrategy[int]:
    return st.integers(1, LONGEST_SPAN // GRAIN).map(lambda grains: grains * GRAIN)


def _perhaps() -> SearchStrategy[int | None]:
    return st.none() | _spans()


def commands(ends: int = LASTS, *, of: Iterable[Command] = Command, origins: Iterable[Origin] = Origin
             ) -> SearchStrategy[m.GiveCommand]:
    """A control is pressed and let go, before `ends` (us)."""
    return st.builds(m.GiveCommand, do=st.just("command"), at=until(ends), command=st.sampled_from(list(of)),
                     origin=st.sampled_from(list(origins)), held=_spans())


def contacts(site: Site, ends: int = LASTS) -> SearchStrategy[m.Obstruct]:
    """Something comes into a zone of the site, to stay or to leave again."""

    def there(zone: Any, share: int, at: int, stiffness: float | None, touches: m.Touches, stays: int | None
              ) -> m.Obstruct:
        position = float(int(zone.start) + (int(zone.end) - int(zone.start)) * share // 1_000)
        return m.Obstruct(do="obstruct", at=at, obstruction="post", zone=zone.name, position=position,
                          stiffness=stiffness, touches=touches, stays=stays)

    return st.builds(there, zone=st.sampled_from(site.zones), share=st.integers(0, 1_000), at=until(ends),
                     stiffness=st.sampled_from(STIFFNESSES), touches=st.sampled_from(list(m.Touches)), stays=_perhaps())


def presses(site: Site, ends: int = LASTS) -> SearchStrategy[m.PressEdge]:
    """A hand presses an edge of the site for a while."""
    names = [edge.name for edge in site.edges]
    return st.builds(m.PressEdge, do=st.just("press"), at=until(ends), edge=st.sampled_from(names), held=_spans())


def beams(site: Site, ends: int = LASTS) -> SearchStrategy[m.Interrupt]:
    """Something comes into a ray of the site, to stay or to leave again."""
    names = [beam.name for beam in site.beams]
    return st.builds(m.Interrupt, do=st.just("interrupt"), at=until(ends), beam=st.sampled_from(names),
                     by=st.just("somebody"), lasts=_perhaps())


def faults(site: Site, ends: int = LASTS, *, kinds: Iterable[str] | None = None) -> SearchStrategy[m.Fault]:
    """A fault begins wherever on the site it can sit, to stay or to end again; `kinds`: of these kinds only."""
    wanted = None if kinds is None else frozenset(kinds)
    places = [place for place in spots(site) if wanted is None or place[0] in wanted]

    def there(place: tuple[str, str], at: int, lasts: int | None) -> m.Fault:
        return m.Fault(do="fault", at=at, fault=place[0], device=place[1], lasts=lasts)

    return st.builds(there, place=st.sampled_from(places), at=until(ends), lasts=_perhaps())


def power_losses(ends: int = LASTS) -> SearchStrategy[m.LosePower]:
    """The operator's supply is lost for a while."""
    return st.builds(m.LosePower, do=st.just("lose power"), at=until(ends), lasts=_spans())


def pushes(site: Site, ends: int = LASTS) -> SearchStrategy[m.PushLeaf]:
    """A leaf is moved by hand, as far as its travel at most."""
    ways = sorted({zone.direction for zone in site.zones}, key=lambda way: way.value)
    leaves = list(LeafName) if site.second_leaf is not None else [LeafName.FIRST]
    far = st.integers(1_000, int(site.gate.travel)).map(float)
    return st.builds(m.PushLeaf, do=st.just("push leaf"), at=until(ends), direction=st.sampled_from(ways),
                     distance=far, leaf=st.sampled_from(leaves))


def steps(site: Site, ends: int = LASTS, *, with_faults: bool = True) -> SearchStrategy[m.AnyStep]:
    """Whatever may happen to a gate; commands and contacts come first and shrink best."""
    kinds: list[SearchStrategy[Any]] = [commands(ends)]
    kinds += [contacts(site, ends)] if site.zones else []
    kinds += [presses(site, ends)] if site.edges else []
    kinds += [beams(site, ends)] if site.beams else []
    kinds += [power_losses(ends)]
    kinds += [pushes(site, ends)] if site.zones else []
    kinds += [faults(site, ends)] if with_faults and spots(site) else []
    return st.one_of(kinds)


def scenarios(site: Site, *, steps: SearchStrategy[Any] | None = None, min_steps: int = 1, max_steps: int = 6,
              ends: int = LASTS, expect: tuple[m.Expectation, ...] = ()) -> SearchStrategy[m.Scenario]:
    """Whole stories of a site: first a command that moves the leaf, then steps in any order.

    `steps`: what else may happen, the strategies above joined by `|`; None: anything.  `ends`: how long it lasts (us).
    """
    moving = (Command.OPEN, Command.CLOSE, Command.HOLD_CLOSE)
    move = commands(min(ends, 1_000_000), of=moving, origins=(Origin.WIRED,))
    any_step = _steps(site, ends) if steps is None else steps

    def told(first: m.AnyStep, rest: list[m.AnyStep], seed: int) -> m.Scenario:
        named = tuple(_named(step, number) for number, step in enumerate([first, *rest], 1))
        return m.Scenario("A generated story", "Drawn by Hypothesis; nobody thought of it.", site, ends, named, expect,
                          seed=seed)

    rest = st.lists(any_step, min_size=max(0, min_steps - 1), max_size=max_steps - 1)
    return st.builds(told, first=move, rest=rest, seed=st.integers(0, 1_000))


_steps = steps


def _named(step: m.AnyStep, number: int) -> m.AnyStep:
    """Things and people of one story have names of their own."""
    if isinstance(step, m.Obstruct):
        return replace(step, obstruction=f"{step.obstruction} {number}")
    if isinstance(step, m.Interrupt):
        return replace(step, by=f"{step.by} {number}")
    return step
