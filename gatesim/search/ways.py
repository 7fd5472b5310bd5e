"""Combinations of flags: which devices are faulty, direction, phase, origin of the command, limits profile.

A covering array says which combinations are run, so that any t flags meet in every way at least once.  Each is one run:
its faults begin together in the middle of the phase.  One run of each combination is a sample of its moments.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from gatesim.events import Direction, Origin, PressControl, ReleaseControl
from gatesim.plant.build import build
from gatesim.plant.fault import FaultBegins, Place
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Profile, Site
from gatesim.plant.world import Plant
from gatesim.scenario.agenda import Due
from gatesim.search.classes import Class
from gatesim.search.covering import covering_array
from gatesim.search.ground import Ground, Phase, grounds, one_leaf
from gatesim.search.moments import Worst
from gatesim.search.probe import KEY, FaultProber, guards
from gatesim.units import us

HEALTHY = "healthy"
KINDS = ("loop-open", "lost-link", "force-sensing-dead", "beam-output-stuck-interrupted")
"""What a faulty device has: of each kind of device a fault that is found while the gate moves or at its next start."""
PHASES = (Phase.START, Phase.TRAVEL, Phase.END)
FINE = (Class.SAFE, Class.NO_EFFECT, Class.NUISANCE)


class Factor(NamedTuple):
    """One flag with its values in words."""

    name: str
    values: tuple[str, ...]


class WayRow(NamedTuple):
    """One combination and what came of it."""

    values: dict[str, str]
    """A value for each flag."""
    at: int
    """When the faults begin (us)."""
    outcome: Class
    worst: Worst | None
    why: str

    @property
    def differs(self) -> bool:
        """These faults are all found: the gate must answer them together as it answers each."""
        return self.outcome not in FINE


class Ways(NamedTuple):
    """What all combinations came to."""

    strength: int
    factors: tuple[Factor, ...]
    rows: tuple[WayRow, ...]
    missing: int
    """Combinations that were not run before the time was up."""

    @property
    def differs(self) -> bool:
        """Whether any combination is not answered as it must be."""
        return any(row.differs for row in self.rows)


class _Together(FaultProber):
    """Several faults that begin at one moment."""

    def __init__(self, plant: Plant, site: Site, seed: int, ground: Ground, spots: Sequence[Place]) -> None:
        super().__init__(plant, site, seed, ground, spots[0])
        self.spots = spots
        self.guards = any(guards(spot, ground.direction) for spot in spots)

    def stimuli(self, moment: Any) -> list[Due]:
        return [Due(moment, FaultBegins(f"{KEY}.{k}", spot.fault, wire, spot.device, spot.guard))
                for k, spot in enumerate(self.spots) if spot.fault is not None for wire in spot.wires]


class Combiner:
    """A site's flags, and a run for each combination of them."""

    def __init__(self, site: Site, roles: Roles, seed: int) -> None:
        one_leaf(site, "combinations")
        self.site, self.roles, self.seed = site, roles, seed
        self.spots: dict[str, Place] = {}
        for kind in KINDS:
            for spot in faults()[kind].places(site):
                self.spots.setdefault(spot.device, spot._replace(fault=spot.fault or faults()[kind]))
        self.kinds = {device: kind for kind in reversed(KINDS) for device in
                      (spot.device for spot in faults()[kind].places(site)) if device in self.spots}
        self._made: dict[Profile, tuple[Plant, Site, tuple[Ground, ...]]] = {}

    def factors(self) -> tuple[Factor, ...]:
        """Every flag of this site."""
        devices = [Factor(device, (HEALTHY, self.kinds[device])) for device in self.spots]
        return (*devices, Factor("direction", tuple(one.value for one in Direction)),
                Factor("phase", tuple(one.value for one in PHASES)),
                Factor("origin", tuple(one.value for one in Origin)),
                Factor("profile", tuple(one.value for one in Profile)))

    def rows(self, strength: int, budget: float | None = None) -> Iterator[WayRow]:
        """A row for each combination of the array, in its order; ends when the time (s) is up."""
        begun, factors = time.perf_counter(), self.factors()
        for chosen in covering_array([len(factor.values) for factor in factors], strength):
            if budget is not None and time.perf_counter() - begun > budget:
                return
            yield self.row({factor.name: factor.values[k] for factor, k in zip(factors, chosen, strict=True)})

    def count(self, strength: int) -> int:
        """How many combinations there are to run."""
        return len(covering_array([len(factor.values) for factor in self.factors()], strength))

    def row(self, values: dict[str, str]) -> WayRow:
        """Run one combination."""
        plant, site, known = self._of(Profile(values["profile"]))
        ground = next(one for one in known if (one.direction.value, one.phase.value)
                      == (values["direction"], values["phase"]))
        ground = _ordered_from(ground, Origin(values["origin"]))
        moment = (ground.first + ground.last) // 2
        spots = [spot for device, spot in self.spots.items() if values[device] != HEALTHY]
        nobody = Place("", (), next(iter(self.spots.values())).guard, next(iter(faults().values())))
        told = _Together(plant, site, self.seed, ground, spots or [nobody])(moment)
        reaction = told.reaction
        worst = None if reaction is None else Worst(told.what, reaction.requirement, us(reaction.measured),
                                                    reaction.limit, moment, told.why)
        return WayRow(values, moment, told.what, worst, told.why)

    def _of(self, profile: Profile) -> tuple[Plant, Site, tuple[Ground, ...]]:
        if profile not in self._made:
            site = replace(self.site, limits=profile)
            plant = build(site, self.roles)
            self._made[profile] = (plant, site, grounds(plant, site, self.seed, PHASES))
        return self._made[profile]


def _ordered_from(ground: Ground, origin: Origin) -> Ground:
    """The same story with its last command from elsewhere."""
    last = max(k for k, due in enumerate(ground.agenda) if isinstance(due.stimulus, PressControl))
    agenda = [due._replace(stimulus=due.stimulus._replace(origin=origin))
              if k >= last and isinstance(due.stimulus, PressControl | ReleaseControl) else due
              for k, due in enumerate(ground.agenda)]
    return ground._replace(agenda=tuple(agenda))
