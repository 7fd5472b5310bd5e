"""The operator's own supply: taken away, given back, and dipping under too much load."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import LosePower, PowerLost, PowerReturned, ReturnPower, Stimulus
from gatesim.plant.cell_figures import supply_share, temperature_of
from gatesim.plant.leaves import leaves
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import Load, Supply
from gatesim.units import FOREVER


@state
class SupplyState:
    """Whether there is power outside, how long a dip lasts, and what was said last."""

    fed: bool
    dips_until: float
    loaded: bool
    good: bool


@dataclass(frozen=True, slots=True)
class OperatorSupply:
    """The supply.  A load above `capacity` (mN of thrust) makes it dip for `dip` (us) when it comes."""

    capacity: float
    dip: int
    leaves: tuple[str, ...] = ("",)
    """The `of` of each load."""
    name: str = ""
    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 20
    takes: ClassVar[tuple[type[Stimulus], ...]] = (LosePower, ReturnPower)

    def reads(self) -> tuple[Wire, ...]:
        return tuple(Load(of) for of in self.leaves)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Supply(), True),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> SupplyState:
        return SupplyState(True, 0.0, False, True)

    def react(self, state: SupplyState, now: float, seen: list[Any], out: Out) -> float:
        for stimulus in out.stimuli:
            state.fed = isinstance(stimulus, ReturnPower)
        loaded = sum(seen) > self.capacity
        if loaded and not state.loaded:
            state.dips_until = now + self.dip
        state.loaded = loaded
        good = state.fed and now >= state.dips_until
        if good != state.good:
            state.good = good
            out.event(PowerReturned() if good else PowerLost())
        out.put(0, good)
        return state.dips_until if state.dips_until > now else FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The supply; a battery that has run down carries less of a load before it dips."""
    capacity = site.drive.supply_capacity
    if site.battery is not None:
        capacity *= supply_share(site.battery, temperature_of(site))
    yield OperatorSupply(capacity, site.drive.supply_dip, tuple(one.of for one in leaves(site)))
