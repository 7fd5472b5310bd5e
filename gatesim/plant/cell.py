"""The cell of a transmitter: its charge runs down, its terminals show it (docs/timing.md, sections 2 and 6).

The open voltage follows the cell's points over the charge left: flat until `knee` and from there in a line to
`end_voltage`, or the points of `discharge` (cell_figures.py).  The charge is told to the terminals in steps of 0.1 % of
the capacity; the instant of the next step is solved, not polled.  Within a step the self-discharge is that share a year
of what was left at its beginning, so that a life comes within 0.1 % of the closed form ln(1 + k C / I) / k without a
logarithm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import CellRenewed, FitCell, Stimulus
from gatesim.plant import site as tables
from gatesim.plant import wires
from gatesim.plant.cell_figures import HOUR, Figures, between, figures_of, with_dividers
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site, temperature_of
from gatesim.units import FOREVER

YEAR = 8760 * HOUR
"""365 days."""

STEPS = 1000
"""Steps in which the charge is told."""


@dataclass(frozen=True, slots=True)
class Drain(Wire):
    """float uA, mean current that a transmitter takes (of a transmitter); transmitter -> cell."""

    title: ClassVar[str] = "cell load"


@dataclass(frozen=True, slots=True)
class CellFitted(Wire):
    """int, how many fresh cells have been fitted (of a transmitter); cell -> transmitter, which starts anew."""

    title: ClassVar[str] = "cell holder"


def mean_current(node: tables.Transmitter, period: float) -> float:
    """Mean current (uA) with a check-in every `period` us: sleep, scans and bursts."""
    return (
        node.sleep_current
        + node.sample_charge * HOUR / node.sampling
        + node.burst_current * node.burst_length / period
    )


def loaded(cell: wires.Cell, burst_current: float) -> float:
    """Voltage (mV) that is left at the end of a burst of this current (uA).

    Current times resistance is taken off; where a capacitor stands beside the cell, the share of it that the burst is
    long enough for.
    """
    return cell.open_voltage - burst_current * cell.resistance * cell.settled / 1000  # `sag`, asked often


def terminals(cell: Figures, share: float) -> wires.Cell:
    """What the terminals show with this share of the charge left."""
    return wires.Cell(between(cell.curve, share), cell.resistance, cell.settled)


@state
class CellState:
    """Charge left (uAh) at an instant, and what takes it from there."""

    charge: float
    since: float
    drain: float
    """Load (uA)."""
    leak: float
    """Self-discharge (uA), constant within a step."""
    step: int
    """Steps left below the present one."""
    fitted: int
    due: float


@dataclass(frozen=True, slots=True)
class CellPart:
    """The cell of one transmitter."""

    name: str
    cell: tables.Cell
    drain: float
    """Load at the start (uA)."""
    figures: Figures
    """What the cell gives where the site is."""

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 34
    takes: ClassVar[tuple[type[Stimulus], ...]] = (FitCell,)

    def reads(self) -> tuple[Wire, ...]:
        return (Drain(self.name),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((wires.CellTerminals(self.name), terminals(self.figures, self.cell.charge)), (CellFitted(self.name), 0))

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> CellState:
        made = CellState(0.0, 0, self.drain, 0.0, 0, 0, FOREVER)
        self._fill(made, self.cell.charge)
        return made

    def _fill(self, state: CellState, share: float) -> None:
        state.charge = share * self.figures.capacity
        # The step below: the largest whole number of steps that is less than the charge.
        state.step = STEPS
        while state.step > 0 and self._boundary(state.step) >= state.charge:
            state.step -= 1
        self._settle(state)

    def _boundary(self, step: int) -> float:
        return self.figures.capacity * step / STEPS

    def _settle(self, state: CellState) -> None:
        """Solve for the instant of the next step."""
        state.leak = self.cell.self_discharge * state.charge * HOUR / YEAR
        self._solve(state)

    def _solve(self, state: CellState) -> None:
        current = state.drain + state.leak
        if state.charge <= 0 or current <= 0:
            state.due = FOREVER
            return
        state.due = state.since + (state.charge - self._boundary(state.step)) / current * HOUR

    def react(self, state: CellState, now: float, seen: list[Any], out: Out) -> float:
        if out.stimuli:
            state.since, state.drain = now, seen[0]
            state.fitted += 1
            self._fill(state, 1.0)
            out.put(1, state.fitted)
            out.event(CellRenewed(self.name))
        while state.due <= now:
            state.charge, state.since = self._boundary(state.step), state.due
            state.step -= 1
            self._settle(state)
        if seen[0] != state.drain:
            spent = (state.drain + state.leak) * (now - state.since) / HOUR
            state.charge = max(state.charge - spent, self._boundary(state.step)) if state.charge > 0 else 0.0
            state.since, state.drain = now, seen[0]
            self._solve(state)
        out.put(0, terminals(self.figures, self._told(state)))
        return state.due

    def _told(self, state: CellState) -> float:
        """The share as told: that of the beginning of the present step."""
        told = (state.step + 1) / STEPS if state.charge > 0 else 0.0
        first = 1.0 if state.fitted else self.cell.charge
        return told if told < first else first


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A cell per transmitter."""
    warmth = temperature_of(site)
    return [CellPart(node.name, node.cell, mean_current(with_dividers(site, node), node.checkin_at_rest),
                     figures_of(node, warmth)) for node in site.transmitters]
