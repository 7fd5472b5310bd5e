"""Figures from outside, each beside what the product makes of the same question.

`ours` computes with the product: a function of it, or a run of a small scenario.  `reference` comes from a source that
the product does not share, or from another way of calculating.  docs/outside-checks.md is made from this table.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any, NamedTuple

from gatesim.events import Direction, EnterObstruction
from gatesim.field.air_time import BUDGET, Misses, false_lost_links_a_day, longest_frame
from gatesim.field.band import loop_band
from gatesim.field.battery_life import DAYS_A_YEAR, life_years
from gatesim.field.beams import least_distance, press_distance
from gatesim.field.budget import blind_of, full_speed, stopping_distance
from gatesim.field.corners import Shown, Span
from gatesim.field.fixing import holes
from gatesim.field.nuisance import Path as LossPath
from gatesim.field.nuisance import exact_frames_to_trip, trip_by
from gatesim.plant import wires
from gatesim.plant.cable import TABLE, copper_at, pair_by_area, pair_resistance
from gatesim.plant.cell import loaded
from gatesim.plant.clocks import least_watchdog as least_watchdog_of
from gatesim.plant.edge_curve import points_of
from gatesim.plant.edges.converter import code_of
from gatesim.plant.link_budget import (
    free_space_loss,
    fresnel_radius,
    ground_gain,
    knife_edge_loss,
    last_crest,
    last_null,
    ray_lengths,
)
from gatesim.plant.loop_tables import Joining, LoopSpread
from gatesim.plant.motion import at, halt, stop
from gatesim.plant.nets import Link, Net, at_terminals
from gatesim.plant.obstruction import block_for
from gatesim.plant.radio_rules import ACTIVATED, PERIODIC
from gatesim.plant.site import Edge, Monitoring, Profile, WiredInput
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.reach import Wait, reaches_of
from gatesim.units import Dimension, Quantity, parse

sys.path.insert(0, str(Path(__file__).parent))

import published_runs as runs

READ, COPY, MEMORY, WORKED = "read", "read in a copy", "from memory", "calculated"
PRACTICE = "common practice, no source"
MS, S, MM = 1_000, 1_000_000, 1_000.0
FOOT = 304_800.0


class Row(NamedTuple):
    """One check: `ours` against `reference`, "=" within the tolerance, "<=" or ">=" without any."""

    quantity: str
    unit: str
    ours: Callable[[], float]
    relation: str
    reference: float
    tolerance: float
    source: str
    status: str


def same(quantity: str, unit: str, ours: Callable[[], float], reference: float, tolerance: float, source: str,
         status: str) -> Row:
    return Row(quantity, unit, ours, "=", reference, tolerance, source, status)


def most(quantity: str, unit: str, ours: Callable[[], float], reference: float, source: str, status: str) -> Row:
    return Row(quantity, unit, ours, "<=", reference, 0.0, source, status)


def least(quantity: str, unit: str, ours: Callable[[], float], reference: float, source: str, status: str) -> Row:
    return Row(quantity, unit, ours, ">=", reference, 0.0, source, status)


# --- how ours are computed ---------------------------------------------------------------------------------------


def limit(name: str, profile: Profile, per: float) -> float:
    """The limit of a requirement in a profile."""
    found = requirements()[name].limits()[profile]
    assert found is not None
    return found.value / per


def least_watchdog(period: int, jitter: int, delay: int, losses: int) -> float:
    """The shortest watchdog that needs so many losses in a row to trip."""
    return next(t for t in range(20 * period) if Misses(t, period, jitter, delay).losses_to_trip >= losses)


def days_to_nuisance(losses: int, loss: float) -> float:
    """Mean days to a link taken for lost, one check-in every 10 s."""
    return 1 / false_lost_links_a_day(Misses(losses * 10 * S, 10 * S, 0, 0), loss)


def frames_to_trip(losses: int, loss: float) -> float:
    return 8_640 * days_to_nuisance(losses, loss)


def by_chain(losses: int, loss: float) -> float:
    """Frames to so many losses in a row: mean time to absorption of the chain "lost in a row so far"."""
    import numpy
    from scipy.linalg import solve

    stay = numpy.zeros((losses, losses))
    stay[:, 0] = 1 - loss
    for k in range(losses - 1):
        stay[k, k + 1] = loss
    return float(solve(numpy.eye(losses) - stay, numpy.ones(losses))[0])


def stopped(speed: float, delay: float, deceleration: float) -> tuple[float, float]:
    """(s, m) of a leaf that comes to rest from a speed (m/s), by the leaf's own plan of motion."""
    end = stop(0.0, 0.0, speed, delay * S, deceleration * 1e-6)[-1]
    return end.t / S, end.x / 1e6


def peak(mass: float, speed: float, stiffness: float) -> tuple[float, float]:
    """(N, mm) of a leaf (kg, m/s) that a spring (N/mm) brings up, by the leaf's own plan of motion."""
    give = math.sqrt(1e9 * mass / stiffness)
    plan = halt(runs.pieces_at(speed), 10_000.0, 1, give)[0]
    deep = (at(plan, plan[-1].t)[0] - 10_000.0) / MM
    return deep * stiffness, deep


def speed_for(force: float, mass: float) -> float:
    """Speed (m/s) whose peak on 500 N/mm is this force (N), by halving."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if peak(mass, middle, 500.0)[0] < force else (low, middle)
    return high


def contact_block(soft: float | None = None, gauge: float | None = None, mass: float | None = None) -> wires.Block:
    """An obstruction before the bare leaf of the tannery: 300 kg move, 500 N/mm."""
    site = runs.site_of("tannery-lane")
    entered = EnterObstruction("post", "closing gap", 1e6, soft, False, mass=mass)
    return block_for(entered, site.zones[0], None, site.drive, 2e6, 300.0, gauge)


def overtravel_of_the_curve() -> float:
    edge = runs.site_of("tannery-lane").edges[0]
    return (points_of(edge)[-1][0] - edge.actuating_travel) / MM


def moved(speed: float, wait: int, deceleration: float) -> float:
    """Travel after actuation (mm) by the terms of the overtravel's margin."""
    reach = next(reaches_of(runs.site_of("tannery-lane")))
    return reach._replace(waits=(Wait("", wait, ""),), deceleration=deceleration).moved(speed) / MM


def divider(lead: float, contact: float | None) -> float:
    """Millivolts of 3.3 V at a converter of 20 bits with 8.2 kohm against 8.2 kohm (and what lies beside it)."""
    return 3_300 * code_of(at_terminals(lead, 8_200.0, contact), 8_200.0, 20) / (2**20 - 1)


def rest_span(ohm: float, tolerance: float, tempco: float = 0.0, coldest: float = 20.0) -> Span:
    """Ohms at rest of a loop of this termination by the design of its band, from `coldest` to 20 degC."""
    edge = Edge("edge", "gap", "board", ohm, 100.0, 1e5, 1e6, 0.0, 1.0, 1e6, 1.0, 1.0, 1.0, 2.0,
                spread=LoopSpread(tolerance, tempco))
    node = WiredInput("board", 10_000, 2, 5, Monitoring.CONTINUOUSLY)
    made = loop_band([edge], node, coldest, 20.0)
    return next(one.ohm for one in made.spreads if one.shown is Shown.AT_REST)


def two_edges(joining: Joining, *, broken: bool = False, pressed: bool = False) -> float:
    """Ohms of two bare edges of 8.2 kohm on one loop."""
    net = Net((Link("one", 0.0, 8_200.0, None), Link("other", 0.0, 8_200.0, None)), joining, False)
    contacts = [0.0 if pressed else None, None]
    return net.broken(0, contacts, True) if broken else net.reads(contacts)


def leak_at(millivolts: float, lead: float) -> float:
    """Resistance beside the termination (kohm) at which the divider shows this, by halving."""
    low, high = 1_000.0, 1e6
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if divider(lead, middle) < millivolts else (low, middle)
    return high / 1_000


def two_ray_loss(metres: float) -> float:
    """Whole loss of 433.92 MHz between two antennas 1 m above ground (dB)."""
    direct = ray_lengths(metres, 1, 1)[0]
    return free_space_loss(433.92e6, direct) - ground_gain(433.92e6, metres, 1, 1, 1.0)


def by_fresnel(nu: float) -> float:
    """Loss (dB) behind half a plane, by Fresnel's integrals."""
    from scipy.special import fresnel

    s, c = fresnel(nu)
    return float(-10 * math.log10(((0.5 - c) ** 2 + (0.5 - s) ** 2) / 2))


def _even_over_bursts() -> float:
    bursts = LossPath(0.001, 0.01, 0.1, 0.5)
    even = exact_frames_to_trip(LossPath(bursts.mean_loss), 3) or 0.0
    return even / (exact_frames_to_trip(bursts, 3) or 1.0)


def crossover(frequency: float, up: float, down: float) -> float:
    """Where free space loses as much as 40 log d - 20 log(ht hr), by halving."""
    low, high = 1.0, 1e4
    for _ in range(60):
        middle = (low + high) / 2
        far = 40 * math.log10(middle) - 20 * math.log10(up * down)
        low, high = (middle, high) if far < free_space_loss(frequency, middle) else (low, middle)
    return high


def last_turn(sign: int) -> float:
    """Distance (m) of the last null (-1) or crest (+1) of 433.92 MHz at 1 m and 1 m, looked for in steps of 5 mm."""
    found = [sign * ground_gain(433.92e6, k * 0.005, 1, 1, 1.0) for k in range(200, 8000)]
    turns = [k for k in range(1, len(found) - 1) if found[k] > found[k - 1] and found[k] > found[k + 1]]
    return 0.005 * (200 + turns[-1])


def longer_by(waves: float) -> float:
    """Distance (m) at which the ground ray of 433.92 MHz at 1 m and 1 m is so many wavelengths longer, by scipy."""
    from scipy.constants import c
    from scipy.optimize import brentq

    return float(brentq(lambda d: math.hypot(d, 2) - d - waves * c / 433.92e6, 0.1, 100))


def hole(number: int) -> float:
    """Hole of a 48 in channel, in inches."""
    found = holes(48 * 25_400.0, 25_400.0, 11.5 * 25_400.0)
    assert len(found) == 5
    return found[number] / 25_400


def by_law(gauge: int) -> float:
    """ohm per 1000 ft of solid copper at 20 degC from its diameter, 0.127 mm x 92^((36 - n) / 39)."""
    diameter = 0.127e-3 * 92 ** ((36 - gauge) / 39)
    return 17.241e-9 / (math.pi * diameter**2 / 4) * 304.8


def off_the_law() -> float:
    """Greatest share (%) by which a gauge of our table is off the law of diameters."""
    found = [(pair_resistance(gauge, 500 * FOOT) or 0.0) / by_law(gauge) - 1 for gauge in TABLE]
    return 100 * max(abs(share) for share in found)


@cache
def pint() -> Any:
    import pint

    return pint.UnitRegistry()


def said(text: str, dimension: Dimension) -> float:
    """A quantity read by our reader, in canonical units."""
    return float(parse(text, Quantity(dimension)))


def of_sites(value: Callable[[Any], list[float]], worst: Callable[[list[float]], float]) -> float:
    """The worst of a figure over the shipped sites."""
    return worst([one for name in runs.SITES for one in value(runs.site_of(name))])


# --- the table ---------------------------------------------------------------------------------------------------

CFR = "16 CFR part 1211, {} (garage doors, as analogue)"
WATCHDOG = "closed form of the watchdog, by model checking with another tool"
RUNS = "mean number of trials to a run of losses (Feller)"
LAW = "v t + v^2 / 2a, a formula page"
SPRING = "energy balance, v sqrt(k m)"
LOSSES = "recursion, exact rationals and simulation with other tools"
CHECKER = "exact rational of a probabilistic model checker"
FREE = "ITU-R P.525, its constant unrounded"
ZONE = "ITU-R P.526-8, eq. 3"
EDGE = "ITU-R P.526, clause 4.1"
ACT = "47 CFR 15.231(a), 2021 revision"
PER = "47 CFR 15.231(e), in a textbook on serial ports"
DHF = "trade association (dhf) on EN 12453"
VOLTS = "loaded divider, by a circuit simulator"
UL = "UL 325, gate section"
TWO, FORCE = Profile.TWO_MEANS, Profile.PROVED_FORCE

SUPERVISION = (
    same("found dead after its last check-in, at worst: T + D", "s", runs.worst_latency, 3.09, 2e-6, WATCHDOG, WORKED),
    same("found dead, at best: T + D - P", "s", runs.least_latency, 2.09, 2e-6, WATCHDOG, WORKED),
    same("found dead, mean over the phase: T - P/2", "s", partial(runs.mean_latency, 0.0, 1), 2.57, 1e-6, WATCHDOG,
         WORKED),
    same("the same at 10 % loss (400 runs; tolerance 3 standard errors)", "s", partial(runs.mean_latency, 0.1, 20),
         2.46189, 0.05, WATCHDOG, WORKED),
    same("least watchdog for 3 losses, lateness not adding up: 3 P + J + D", "ms",
         partial(least_watchdog, 1000, 50, 20, 3), 3070, 0, WATCHDOG, WORKED),
    same("least watchdog for 3 losses, lateness adding up (given as a longer period): 3 (P + J)", "ticks",
         partial(least_watchdog, 11, 0, 0, 3), 33, 0, WATCHDOG, WORKED),
    most("latest of 300 check-ins on the grid: the product's lateness does not add up", "ms", runs.latest_check_in, 50,
         WATCHDOG, WORKED),
    same("check-ins to 3 losses in a row at 2 %", "1", partial(frames_to_trip, 3, 0.02), 127_550, 0.5, RUNS, WORKED),
    same("days to a link wrongly lost, every 10 s, 1 %, 3 losses", "d", partial(days_to_nuisance, 3, 0.01), 117, 0.5,
         RUNS, WORKED),
    same("the same at 5 %", "d", partial(days_to_nuisance, 3, 0.05), by_chain(3, 0.05) / 8_640, 1e-9,
         "chain of states, solved by scipy", WORKED),
    same("the same at 5 %, 5 losses", "d", partial(days_to_nuisance, 5, 0.05), 390, 0.5, RUNS, WORKED),
    same("supervision on air in an hour", "s", lambda: BUDGET / S, 2, 0, "47 CFR 15.231(a)(3)", READ),
    same("longest supervision frame every 10 s", "ms", lambda: longest_frame(10 * S) / MS, 5.556, 5e-4,
         "47 CFR 15.231(a)(3), 2/3600 of the time", WORKED),
    same("longest supervision frame every 60 s", "ms", lambda: longest_frame(60 * S) / MS, 33.33, 5e-3,
         "47 CFR 15.231(a)(3), 2/3600 of the time", WORKED),
    same("moves begun with a dead device, each of the shipped sites, each device, each way it guards", "1",
         lambda: runs.moves_begun(True)[0], 0, 0, CFR.format("1211.8(b), 2007 edition: once in each cycle"), READ),
    same("the same moves without faults, begun of those commanded (the check can fail)", "1",
         lambda: runs.moves_begun(False)[0] / runs.moves_begun(False)[1], 1, 0, "the row above", WORKED),
)

CONTACT = (
    same("limit of reversal begun", "s", partial(limit, "reversal-begun", TWO, S), 2, 0,
         CFR.format("1211.7(a), 2002 edition"), READ),
    *(most(f"contact to reversal begun, slowest shipped site, {by}", "s",
           lambda name=name: runs.of_contacts(name, TWO, max) / S, 2,  # type: ignore[misc]
           CFR.format("1211.7(a), 2002 edition: with and without the external device"), READ)
      for name, by in (("reversal-begun", "as a whole"), ("edge-alone-reversal-begun", "edge alone"),
                       ("force-alone-reversal-begun", "force sensing alone"))),
    same("limit of reversal distance, against pint's 2 in", "mm", partial(limit, "reversal-distance", TWO, MM),
         pint().Quantity(2, "inch").to("mm").magnitude, 1e-9, CFR.format("1211.6(d)(1)(ii)"), READ),
    least("reversal distance, shortest shipped site", "mm",
          lambda: runs.of_contacts("reversal-distance", TWO, min) / MM, 50.8, CFR.format("1211.6(d)(1)(ii)"), READ),
    most("way blind after a start of the shipped sites", "mm",
         lambda: of_sites(lambda site: [blind_of(site, way).after_start / MM for way in Direction], max), 305,
         CFR.format("1211.7(a), 2002 edition: first 1 ft"), READ),
    most("way blind before the end of travel of the shipped sites (a 1 in obstruction must be felt)", "mm",
         lambda: of_sites(lambda site: [blind_of(site, way).at_end / MM for way in Direction], max), 25.4,
         CFR.format("1211.7(b), 2002 edition"), READ),
    most("actuating force of the shipped edges", "N",
         lambda: of_sites(lambda site: [edge.actuating_force / 1000 for edge in site.edges], max), 66.7,
         CFR.format("1211.12(a)(1): 15 lbf"), READ),
    same("warning before unattended closing, limit", "s",
         partial(limit, "warning-before-automatic-closing", TWO, S), 5, 0, CFR.format("1211.14(c)(2)"), READ),
    least("warning before an automatic closing, measured", "s", runs.warned, 5, CFR.format("1211.14(c)(2)"), READ),
    same("alarm, limit", "min", partial(limit, "alarm-lasts", TWO, 60 * S), 5, 0, UL, MEMORY),
    most("highest speed of the shipped sites", "m/s",
         lambda: of_sites(lambda site: [full_speed(site.drive, way) for way in Direction], max), 0.305, UL, MEMORY),
    same("stop after release of hold-to-run, limit", "mm", partial(limit, "hold-stops-on-release", TWO, MM), 100, 0,
         "EN 12453", MEMORY),
)

FORCES = (
    same("peak force in a gap below 500 mm, limit", "N", partial(limit, "peak-force", FORCE, 1000), 400, 0, DHF, READ),
    most("peak force in a wide gap, highest shipped site", "N",
         lambda: runs.of_contacts("peak-force", FORCE, max) / 1000, 1400, DHF, READ),
    same("time above 150 N, limit", "s", partial(limit, "time-above-150-n", FORCE, S), 0.75, 0, DHF, READ),
    same("squeeze above 25 N, limit", "s", partial(limit, "residual-squeeze-ends", FORCE, S), 5, 0, DHF, READ),
    most("time above 150 N, the slower of the two shipped sites whose contact passes it", "s",
         lambda: runs.of_contacts("time-above-150-n", FORCE, max, ("mill-lane", "pump-house")) / S, 0.75, DHF, READ),
    same("peak of 300 kg at 0.3 m/s on 500 N/mm", "N", lambda: peak(300, 0.3, 500)[0], 3674.2, 0.05, SPRING, WORKED),
    same("deflection of the same", "mm", lambda: peak(300, 0.3, 500)[1], 7.348, 5e-4, SPRING, WORKED),
    same("share of peak left where 300 kg strike 100 kg that stand free: v sqrt(k mu) over v sqrt(k m)", "%",
         lambda: 100 * contact_block(mass=100.0).share, 50, 1e-9, "ISO/TS 15066 Annex A, mu = m1 m2 / (m1 + m2)",
         MEMORY),
    same("stiffness of 500 N/mm with an obstruction of 75 N/mm and a gauge of 500 N/mm in series", "N/mm",
         lambda: contact_block(75.0, 500.0).end_stiffness, 1 / (2 / 500 + 1 / 75), 1e-9, "springs in series", WORKED),
    same("overtravel of the tannery's edge: working travel less pre-travel", "mm", overtravel_of_the_curve, 50, 1e-9,
         "ISO 13856-2, definitions", MEMORY),
    same("travel after actuation: 450 kg, 380 N, 0.2 m/s, 0.15 s", "mm", lambda: moved(0.2, 150 * MS, 380 / 450e6),
         53.684, 5e-4, LAW, WORKED),
    same("travel after actuation: 0.3048 m/s, 0.1 s, 1 m/s2", "m", lambda: moved(0.3048, 100 * MS, 1e-6) / MM, 0.07693,
         5e-6, LAW, WORKED),
    same("peak of 200 kg at 0.1 m/s on 500 N/mm", "N", lambda: peak(200, 0.1, 500)[0], 1000, 1e-6, SPRING, WORKED),
    same("speed that gives 400 N at 200 kg", "m/s", lambda: speed_for(400, 200), 0.0400, 5e-5, SPRING, WORKED),
    same("speed that gives 1400 N at 500 kg", "m/s", lambda: speed_for(1400, 500), 0.0885, 5e-5, SPRING, WORKED),
    same("stop of 450 kg by 380 N from 0.2 m/s after 0.15 s: distance", "mm",
         lambda: 1000 * stopped(0.2, 0.15, 380 / 450)[1], 53.684, 5e-4, "integration by scipy", WORKED),
    same("the same: time", "s", lambda: stopped(0.2, 0.15, 380 / 450)[0], 0.38684, 5e-6, "integration by scipy",
         WORKED),
    same("stop from 20 m/s, 5 s and 4 m/s2", "m", lambda: stopping_distance(20, 5 * S, 4e-6) / 1e6, 150, 1e-9,
         "worked example of a tutor, 9 Mar 2018", READ),
    same("stop from 0.3048 m/s, 0.1 s and 1 m/s2", "m", lambda: stopping_distance(0.3048, 0.1 * S, 1e-6) / 1e6, 0.07693,
         5e-6, LAW, WORKED),
)

ELECTRIC = (
    *(same(f"divider of 3.3 V, 8.2 kohm each, {what}", "mV",
           lambda lead=lead, beside=beside: divider(lead, beside), volts, 0.05, VOLTS, WORKED)  # type: ignore[misc]
      for what, lead, beside, volts in (
          ("at rest", 0, None, 1650.0), ("contact of 0.1 kohm", 0, 100, 39.3), ("contact of 1 kohm", 0, 1e3, 323.5),
          ("contact of 4 kohm", 0, 4e3, 814.8), ("leak of 100 kohm", 0, 1e5, 1585.0),
          ("leak of 20 kohm", 0, 2e4, 1369.3),
          ("30 ohm of wire, at rest", 30, None, 1653.0), ("30 ohm of wire, contact of 1 kohm", 30, 1e3, 333.3))),
    same("leak that brings it to 1300 mV", "kohm", lambda: leak_at(1300, 0), 15.229, 1e-3, VOLTS, WORKED),
    same("the same with 30 ohm of wire", "kohm", lambda: leak_at(1300, 30), 14.986, 1e-3, VOLTS, WORKED),
    same("loop of 100 ft of AWG 22 pair", "ohm", lambda: pair_resistance(22, 100 * FOOT) or 0.0, 3.228, 5e-4,
         "university wire table, twice its ohm per 1000 ft", WORKED),
    most("wire table 12 to 30 against the law of diameters (ASTM B258, from memory), greatest gap", "%", off_the_law,
         0.1, "resistivity 17.241 nohm m", WORKED),
    same("AWG 18 from 20 to 75 degC", "ohm/1000 ft", lambda: TABLE[18] * copper_at(75.0), 7.77, 0.01,
         "NEC chapter 9, Table 8, solid", MEMORY),
    same("copper, 20 degC against 75 degC", "", lambda: 1 / copper_at(75.0), 0.82, 0.005, "page on NEC Table 8", COPY),
    same("AWG 22 by its area (diameter formula from memory, 17.241 nohm m), one wire", "ohm/1000 ft",
         lambda: (pair_by_area(0.25 * math.pi * (0.127 * 92 ** (14 / 39)) ** 2, 500 * FOOT) or 0.0), 16.14, 0.01,
         "university wire table", READ),
    same("8.2 kohm of E24, lowest", "ohm", lambda: rest_span(8_200, 0.05).low, 7_790, 1e-6, "IEC 60063: 5 %", WORKED),
    same("8.2 kohm of E24, highest", "ohm", lambda: rest_span(8_200, 0.05).high, 8_610, 1e-6, "IEC 60063: 5 %", WORKED),
    same("10 kohm at 1 %, lowest", "ohm", lambda: rest_span(10_000, 0.01).low, 9_900, 1e-6, "IEC 60063: 1 %", WORKED),
    same("10 kohm at 100 ppm/K over 60 K", "ohm", lambda: rest_span(10_000, 0.0, 1e-4, -40.0).high - 10_000, 60, 1e-6,
         "ohms times share times kelvin", WORKED),
    same("two edges in parallel, one wire broken: as one healthy edge", "ohm",
         lambda: two_edges(Joining.PARALLEL, broken=True), 8_200, 1e-9, "nodal analysis", WORKED),
    same("two edges in series, one pressed: as one healthy edge", "ohm",
         lambda: two_edges(Joining.SERIES, pressed=True), 8_200, 1e-9, "nodal analysis", WORKED),
    same("AWG 24, one wire", "ohm/km", lambda: (pair_resistance(24, 500e9 / 1000) or 0.0), 84.2, 0.05,
         "university wire table, its other column", READ),
    most("highest lower band edge of the shipped edges: 8.2 kohm less 5 % reads at rest", "ohm",
         lambda: of_sites(lambda site: [edge.band_low for edge in site.edges], max), 7_790, "IEC 60063: E24 is 5 %",
         READ),
    least("lowest upper band edge of the shipped edges: 8.2 kohm and 5 % reads at rest", "ohm",
          lambda: of_sites(lambda site: [edge.band_high for edge in site.edges], min), 8_610, "IEC 60063: E24 is 5 %",
          READ),
    same("life at 32 uA of 2.4 Ah", "y", lambda: life_years(2.4e6, 32, 0.0), 8.56, 5e-3, "charge over current", WORKED),
    same("the same, losing 1 % a year", "y", lambda: life_years(2.4e6, 32, 0.01), 8.21, 5e-3, "ln(1 + k C / I) / k",
         WORKED),
    same("days in a year", "d", lambda: DAYS_A_YEAR, pint().Quantity(8760, "hour").to("day").magnitude, 0, "pint",
         WORKED),
    most("voltage left under 25 mA at 25 ohm (a capacitor makes the sag less; the product has none)", "mV",
         lambda: loaded(wires.Cell(3_000.0, 25.0), 25_000), 2380.14, "sag with 100 uF, by a circuit simulator", WORKED),
    same("how far that is below the voltage with the capacitor", "mV",
         lambda: 2380.143 - loaded(wires.Cell(3_000.0, 25.0), 25_000), 625 * math.exp(-12e-3 / (25 * 100e-6)), 1e-3,
         "I R e^(-t/RC), 12 ms", WORKED),
)

AIR = (
    *(same(f"free-space loss, {mhz} MHz, {metres} m", "dB",
           lambda mhz=mhz, metres=metres: free_space_loss(mhz * 1e6, metres), loss, 0.006, FREE, WORKED)  # type: ignore[misc]
      for mhz, metres, loss in ((433.92, 30, 54.74), (433.92, 100, 65.20), (315, 100, 62.41), (915, 100, 71.68))),
    same("free-space loss, 868 MHz, 30 m", "dB", lambda: free_space_loss(868e6, 30), 60.761, 5e-4,
         "20 log(4 pi d f / c)", WORKED),
    same("free-space loss, 433.92 MHz, 30 m, against the rounded form (which is 0.048 dB low)", "dB",
         lambda: free_space_loss(433.92e6, 30), 32.4 + 20 * math.log10(433.92) + 20 * math.log10(0.03), 0.05,
         "ITU-R P.525, 32.4 + 20 log f + 20 log d", READ),
    *(same(f"first Fresnel zone, mid-path, {mhz} MHz, {metres} m", "m",
           lambda mhz=mhz, metres=metres: fresnel_radius(mhz * 1e6, metres / 2, metres / 2),  # type: ignore[misc]
           radius, 6e-4, "half a wavelength more way, exact wavelength", WORKED)
      for mhz, metres, radius in ((433.92, 30, 2.276), (315, 100, 4.878), (915, 20, 1.280))),
    same("first Fresnel zone, mid-path, 433.92 MHz, 30 m, against the printed formula", "m",
         lambda: fresnel_radius(433.92e6, 15, 15), 550 * math.sqrt(0.015 * 0.015 / (0.03 * 433.92)), 0.012, ZONE, READ),
    least("first Fresnel zone at 433.92 MHz and 30 m: the ground 1 m below lies inside it", "m",
          lambda: fresnel_radius(433.92e6, 15, 15), 1, ZONE, READ),
    *(same(f"two rays, {what}, {mhz} MHz, 1 m and 1 m", "m",
           lambda form=form, mhz=mhz: form(mhz * 1e6, 1, 1), distance, 6e-3, source, MEMORY)  # type: ignore[misc]
      for mhz, what, form, distance, source in (
          (433.92, "equal to free space", crossover, 18.19, "4 pi ht hr / lambda, textbooks"),
          (433.92, "last crest, short form", last_crest, 5.79, "4 ht hr / lambda, textbooks"),
          (915, "equal to free space", crossover, 38.35, "4 pi ht hr / lambda, textbooks"),
          (915, "last crest, short form", last_crest, 12.21, "4 ht hr / lambda, textbooks"))),
    same("last null of two rays, 433.92 MHz, 1 m and 1 m", "m", lambda: last_null(433.92e6, 1, 1), longer_by(1), 1e-9,
         "one wavelength more way, solved by scipy", WORKED),
    same("the same, looked for in the sum of the rays", "m", partial(last_turn, -1), longer_by(1), 0.03,
         "one wavelength more way, solved by scipy", WORKED),
    same("last crest, looked for in the sum of the rays", "m", partial(last_turn, 1), longer_by(0.5), 0.2,
         "half a wavelength more way, solved by scipy", WORKED),
    same("two rays at 1 km, 433.92 MHz, 1 m and 1 m", "dB", lambda: two_ray_loss(1000), 120, 0.1,
         "Pt Gt Gr ht^2 hr^2 / d^4, textbook result", MEMORY),
    same("knife edge on the straight line", "dB", lambda: knife_edge_loss(0),
         6.9 + 20 * math.log10(math.sqrt(1.01) - 0.1), 1e-9, EDGE, MEMORY),
    same("knife edge at nu = 1, against Fresnel's integrals by scipy", "dB", lambda: knife_edge_loss(1), by_fresnel(1),
         0.3, "field of half a plane", WORKED),
    *(same(f"chance of 3 losses in a row within {frames} frames at 2 %", "1",
           lambda frames=frames: trip_by(LossPath(0.02), 3, frames), chance, chance * 1e-9, LOSSES,  # type: ignore[misc]
           WORKED) for frames, chance in ((10, 6.28793803264e-5), (100, 7.682054987e-4), (1000, 7.794161113e-3))),
    *(same(f"chance of a nuisance trip in a day, every 10 s, {loss} % lost, {k} losses", "1",
           lambda loss=loss, k=k: trip_by(LossPath(loss / 100), k, 8640), chance, chance * 6e-3, LOSSES,  # type: ignore[misc]
           WORKED) for loss, k, chance in ((5, 3, 0.642), (5, 4, 5.00e-2), (5, 5, 2.56e-3), (1, 2, 0.575),
                                           (0.1, 3, 8.63e-6))),
    same("chance of 6 losses in a row in 8640 frames at 0.1 % (where 1 - R gives 0)", "1e-15",
         lambda: 1e15 * trip_by(LossPath(0.001), 6, 8640), 8.626366, 1e-6, LOSSES, WORKED),
    same("frames to 3 losses in bursts: a 0.01, r 0.1, 0.1 % and 50 % lost", "1",
         lambda: exact_frames_to_trip(LossPath(0.001, 0.01, 0.1, 0.5), 3) or 0, 268.409034529, 5e-9, CHECKER, WORKED),
    same("the same mean loss without bursts, over it", "1",
         lambda: _even_over_bursts(), 39.2, 0.05, "the two forms, calculated with other tools", WORKED),
    *(same(f"frames to {k} losses in simple bursts: a 0.01, r 0.1, all of a burst lost", "1",
           lambda k=k: exact_frames_to_trip(LossPath(0.0, 0.01, 0.1, 1.0), k) or 0, frames, 6e-4,  # type: ignore[misc]
           "(1/a + (1 - s^(k-1)) / r) / s^(k-1)", WORKED) for k, frames in ((2, 112.222), (3, 125.802), (5, 157.657))),
    same("share of bad states, P 0.03, p 0.25", "1", lambda: LossPath(0.0, 0.03, 0.25, 0.5).share_bad, 0.107143, 5e-7,
         "Gilbert 1960, the set from memory", MEMORY),
    same("mean loss of that set, h 0.5", "1", lambda: LossPath(0.0, 0.03, 0.25, 0.5).mean_loss, 0.0535714, 5e-8,
         "Gilbert 1960, the set from memory", MEMORY),
    same("least watchdog for 3 losses, lateness adding up: 3 (P + J)", "ticks",
         lambda: least_watchdog_of(3, 10, 1, 0, adds_up=True), 33, 0, WATCHDOG, WORKED),
    same("least watchdog for 3 losses, clocks off by 1 % and 2 %: (3 P (1 + d1) + J + D) / (1 - d2)", "us",
         lambda: least_watchdog_of(3, 1_000_000, 50_000, 20_000, sender=0.01, receiver=0.02),
         math.ceil(3_100_000 / 0.98), 0, WATCHDOG, WORKED),
    same("supervision in an hour, by the rule set", "s", lambda: (ACTIVATED.air_time or 0) / S, 2, 0, ACT + ", (3)",
         READ),
    same("off after an activation, by the rule set", "s", lambda: (ACTIVATED.off_after or 0) / S, 5, 0,
         ACT + ", (1) and (2)", READ),
    same("longest supervision message every 60 s, by the rule set", "ms",
         lambda: ACTIVATED.longest_message(60 * S) / MS, 33.33, 5e-3, ACT + ", (3), 2/3600 of the time", WORKED),
    same("longest periodic transmission, by the rule set", "s", lambda: PERIODIC.longest_message(3600 * S) / S, 1, 0,
         PER, COPY),
    same("silence after 0.3 s, by the rule set", "s", lambda: PERIODIC.silence(0.3 * S) / S, 10, 0, PER, COPY),
    same("silence after 1 s, by the rule set: 30 times", "s", lambda: PERIODIC.silence(S) / S, 30, 0, PER, COPY),
)

FIXING = tuple(
    same(f"hole {number + 1} of a 48 in channel", "in", partial(hole, number), place, 1e-9, "the trade", PRACTICE)
    for number, place in enumerate((1, 12.5, 24, 35.5, 47))
)

UNITS = tuple(
    same(f"{text} read", unit, lambda text=text, kind=kind, per=per: said(text, kind) / per,  # type: ignore[misc]
         pint().Quantity(number, name).to(to).magnitude, digit, "pint", WORKED)
    for text, number, name, kind, per, unit, to, digit in (
        ("15 lbf", 15, "lbf", Dimension.FORCE, 1000, "N", "N", 5e-4),
        ("11.5 in", 11.5, "inch", Dimension.LENGTH, MM, "mm", "mm", 1e-9),
        ("1 ft/s", 1, "foot/s", Dimension.SPEED, 1, "m/s", "m/s", 1e-9),
        ("600 lb", 600, "lb", Dimension.MASS, 1, "kg", "kg", 1e-6),
        ("100 lbf/in", 100, "lbf/inch", Dimension.STIFFNESS, 1, "N/mm", "N/mm", 1e-6),
        ("2400 mAh", 2400, "mA*hour", Dimension.CHARGE, 1e6, "Ah", "A*hour", 1e-9),
    )
)

ISO = "ISO 13855:2010, S = K T + C of clause 5 (read); K and C of 6.2 (from memory)"
OSHA = "29 CFR 1910.217(c)(3)(iii)(e), 63 in/s (presses, analogue)"

BEAMS = (
    same("S of a gate beam: T 0.3 s, d above 40 mm", "mm",
         lambda: least_distance(300 * MS, 50 * MM)[2] / MM, 1330, 1e-9, ISO, MEMORY),
    same("S: T 0.32 s, d 14 mm (2000 T is over 500 mm, so 1600 T)", "mm",
         lambda: least_distance(320 * MS, 14 * MM)[2] / MM, 512, 1e-9, ISO, MEMORY),
    same("S: T 0.2 s, d 14 mm", "mm", lambda: least_distance(200 * MS, 14 * MM)[2] / MM, 400, 1e-9, ISO, MEMORY),
    same("C: d 40 mm, 8 (d - 14)", "mm", lambda: least_distance(0, 40 * MM)[1] / MM, 208, 1e-9, ISO, MEMORY),
    same("S: never below", "mm", lambda: least_distance(0, 14 * MM)[2] / MM, 100, 0, ISO, MEMORY),
    same("K, general", "mm/s", lambda: least_distance(S, 50 * MM)[0], 1600, 0, "engineering reference page", COPY),
    same("hand speed of US law", "mm/s", lambda: press_distance(S) / MM,
         pint().Quantity(63, "inch/s").to("mm/s").magnitude, 1e-9, OSHA, READ),
    same("safety distance at 0.5 s", "in", lambda: press_distance(500 * MS) / 25_400, 31.5, 1e-9,
         "WAC 296-806-45516, worked example", READ),
    same("safety distance at 0.055 s (chart, to half an inch)", "in",
         lambda: press_distance(55 * MS) / 25_400, 3.5, 0.05, "OSHA safety distance chart", READ),
    same("safety distance at 0.317 s (chart, to an inch)", "in",
         lambda: press_distance(317 * MS) / 25_400, 20, 0.05, "OSHA safety distance chart", READ),
)

GROUPS = (("Supervision", SUPERVISION), ("Contact, reversal and warning", CONTACT), ("Forces and motion", FORCES),
          ("Loops, wires and cells", ELECTRIC), ("Air", AIR), ("Fixing", FIXING), ("Beams", BEAMS),
          ("Units", UNITS))
TABLE_OF_CHECKS: tuple[Row, ...] = tuple(row for _, rows in GROUPS for row in rows)
