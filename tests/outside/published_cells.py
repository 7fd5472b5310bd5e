"""Cells and batteries for the table of published figures: the product's parts, run."""

from __future__ import annotations

import math
import sys
from functools import cache
from pathlib import Path
from typing import Any

from gatesim.events import Direction
from gatesim.field.air_time import DAY, Frames, travel_time
from gatesim.field.battery_life import drain_of
from gatesim.field.dark import supply_plan
from gatesim.plant import cell as room
from gatesim.plant.cell import YEAR, loaded
from gatesim.plant.cell_figures import fresh, usable_at
from gatesim.plant.site import Site
from gatesim.plant.world import Plant
from gatesim.scenario.read import read_site

sys.path.insert(0, str(Path(__file__).parents[1] / "plant"))

from edge_bench import Lever, Run, roles, site

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
BURST = {"event_repeats": 1, "burst_current": 25_000, "burst_length": 12_000}


def left_under_load(microfarads: float, bursts: int = 1, spacing: int = 20_000) -> float:
    """mV at the end of the last burst of 25 mA and 12 ms, 3.0 V and 25 ohm, with a capacitor."""
    table = site(cell={"open_voltage": 3_000, "resistance": 25},
                 node={**BURST, "capacitor": microfarads, "event_repeats": bursts, "event_spacing": spacing})
    return loaded(fresh(table, table.transmitters[0]), 25_000)


def bursts_by_scipy(microfarads: float, bursts: int, spacing: int) -> float:
    """The same by integration of the capacitor's voltage (V, mA, ms)."""
    from scipy.integrate import solve_ivp

    volts, end = 3.0, 3.0
    for _ in range(bursts):
        for current, span in ((25.0, 12.0), (0.0, spacing / 1_000 - 12.0)):
            made = solve_ivp(lambda _, v, i=current: [(3.0 - v[0]) / (25 * microfarads / 1_000) - i / microfarads],
                             (0, span), [volts], rtol=1e-10, atol=1e-12)
            volts = float(made.y[0][-1])
            end = volts if current else end
    return 1_000 * end


@cache
def life_run(leak: float, **cell: Any) -> float:
    """Years until the cell part of 2.4 Ah at 32 uA, run from deadline to deadline, is empty."""
    table = site(node=BURST, cell={"self_discharge": leak, **cell})
    part, *_ = room.parts(table, roles())
    run = Run(Plant([Lever(room.Drain("tx"), part.drain), part])).at(0)  # type: ignore[attr-defined]
    while run.world.deadline() < math.inf:
        run.at(run.world.deadline())
    return run.world.now / YEAR


def divider_current() -> float:
    """uA of one divider of 3.3 V over 8.2 and 8.2 kohm, energised all the time."""
    table = site(node={"divider_time": 10_000}, edge={"wire_resistance": 0.0})
    return drain_of(table, table.transmitters[0], Frames(0, 0, 0, 0), 0).dividers


def shipped() -> Site:
    """The shipped site whose cell is given over temperature."""
    return read_site(SITES / "high-pasture.site.yaml")


def usable_cold() -> float:
    """Percent of the capacity that its cell gives at the coldest."""
    table = shipped()
    return 100 * usable_at(table.transmitters[0].cell, table.coldest)


def lithium_at(temperature: float) -> float:
    """Years of 2.4 Ah at 32 uA where half of it is usable at -55 degC and all of it at 20."""
    from gatesim.plant.site import CellTemperature

    points = (CellTemperature(-55, 100, 0.5), CellTemperature(20, 10, 1.0))
    table = site(node=BURST, cell={"resistance": None, "temperatures": points}, coldest=-55, temperature=temperature)
    part, *_ = room.parts(table, roles())
    run = Run(Plant([Lever(room.Drain("tx"), part.drain), part])).at(0)  # type: ignore[attr-defined]
    while run.world.deadline() < math.inf:
        run.at(run.world.deadline())
    return run.world.now / YEAR


def dark_days() -> float:
    """Days without sun of the shipped site's operator, to dead."""
    made = supply_plan(shipped(), 12)
    assert made is not None
    assert made.dark is not None
    return made.dark.days_to_dead


def dark_by_scipy() -> float:
    """The same by integration of the charge, hour by hour, until the loaded voltage is at dead."""
    from scipy.integrate import solve_ivp

    table = shipped()
    battery = table.battery
    assert battery is not None
    moving = 12 * (travel_time(table, Direction.OPENING) + travel_time(table, Direction.CLOSING)) / 2 / DAY
    current = 22_000 + (5_000_000 - 22_000) * moving
    capacity = 0.5 * 18e6

    def dead(_: float, q: Any) -> float:
        share = q[0] / capacity
        volts = 12_200 + (share - 0.5) * 1_200 if share > 0.5 else 11_200 + share * 2_000
        return float(volts - 5_000_000 * 0.06 / 1_000 - 11_000)

    dead.terminal = True  # type: ignore[attr-defined]
    made = solve_ivp(lambda _, q: [-24 * current - 0.4 / 365 * q[0]], (0, 365), [capacity], events=dead, rtol=1e-10,
                     atol=1e-3, max_step=1.0)
    return float(made.t_events[0][0])

