"""A plan as plain text in 80 columns, to be printed and filled in at the gate: `Plan` in, text out."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from gatesim.field.beams import Separation
from gatesim.field.budget import Budget
from gatesim.field.fixing import Fixing
from gatesim.field.loops import LoopPlan
from gatesim.field.means import WayBack, ZonePlan
from gatesim.field.overtravel import Overtravel
from gatesim.field.plan import Plan
from gatesim.field.radio import RadioPlan
from gatesim.plant.loop_tables import Joining
from gatesim.plant.nets import OPEN_WIRE
from gatesim.report.plan_air import air_lines

COLUMNS = 80


def plan_text(plan: Plan) -> str:
    """The whole plan; ends with a newline.  No line is longer than 80 columns unless one word is."""
    parts = (_head(plan), _zones(plan), _budgets(plan), _loops(plan), _radios(plan), _fixings(plan), _sheet(plan))
    return "\n".join(line.rstrip() for part in parts for line in part) + "\n"


# --- pieces of text ------------------------------------------------------------------------------------------------


def _printable(text: str) -> str:
    """Names come from a file: nothing in them may act on a terminal or break a line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def _fold(text: str, first: str = "", rest: str | None = None) -> list[str]:
    after = " " * len(first) if rest is None else rest
    said = _printable(text)
    return textwrap.wrap(said, COLUMNS, initial_indent=first, subsequent_indent=after, break_on_hyphens=False)


def _title(text: str) -> list[str]:
    return ["", text.upper(), "=" * len(text)]


def _ms(us: float) -> str:
    return f"{us / 1000:.1f} ms"


def _span(us: float) -> str:
    """A period or limit: seconds from 10 s on."""
    return f"{us / 1e6:.1f} s" if us >= 10_000_000 else _ms(us)


def _mm(um: float) -> str:
    return f"{um / 1000:.1f} mm"


def _inch(um: float) -> str:
    return f"{um / 25_400:.2f}".rstrip("0").rstrip(".") + " in"


# --- the parts -----------------------------------------------------------------------------------------------------


def _head(plan: Plan) -> Iterator[str]:
    yield from _fold(f"Plan of {plan.site}")
    yield f"limits profile: {plan.profile.value}"
    yield from _title("Cautions")
    for caution in plan.cautions:
        yield from _fold(caution, "! ")
    if plan.notes:
        yield from _fold(f"Site's note: {plan.notes}")
    yield ""
    if plan.gaps:
        yield f"MISSING, EXCEEDED OR NOT IN AGREEMENT: {plan.missing}"
        for gap in plan.gaps:
            yield from _fold(gap, "  - ")
    else:
        yield from _fold("Nothing is missing, exceeded or out of agreement by these figures. That is no proof: "
                         "fill in the "
                         "sheet.")
    for remark in plan.remarks:
        yield from _fold(remark, "  ? ")


def _zones(plan: Plan) -> Iterator[str]:
    yield from _title("1. Entrapment zones and their means")
    for zone in plan.zones:
        yield from _zone(zone)
    for one in plan.separations:
        yield from _separation(one)
    yield "Blind zones of the force sensing (declared)"
    for blind in plan.blind:
        whose = f"{blind.leaf} leaf, " if blind.leaf else ""
        yield from _fold(
            f"{whose}{blind.direction.value}: {_ms(blind.after_start_us)} after each start (up to "
            f"{_mm(blind.after_start)}); last "
            f"{_mm(blind.at_end)} before the end stop (must be less than 25.4 mm: 16 CFR 1211.7(b), 2002 edition, as "
            "analogue)" + (" EXCEEDED" if blind.is_too_far else ""), "  ")
    yield ""
    yield "The way back"
    for way in plan.ways_back:
        yield from _way(way)
    for risk in plan.residual:
        yield from _fold(f"Residual risk. {risk}")


def _zone(zone: ZonePlan) -> Iterator[str]:
    yield from _fold(f"Zone {zone.zone}: {zone.direction.value}, leaf at {zone.start / 1000:.0f} to "
                     f"{zone.end / 1000:.0f} mm")
    for one in zone.means:
        through = f" through {one.through}" if one.through else ""
        what = f"{one.kind}: {one.device}{through}; {one.monitoring}".rstrip("; ")
        yield from _fold(what if one.counts else f"NOT COUNTED {what}: {one.why_not}", "  - ")
    if zone.missing:
        yield from _fold(f"MISSING: {zone.missing} of {zone.needed} independent, monitored means of different "
                         "kinds", "  * ")
    else:
        kinds = "kinds are" if zone.needed > 1 else "kind is"
        yield from _fold(f"{len(zone.kinds)} stated, {zone.needed} different {kinds} needed", "  = ")
    for part in zone.uncovered:
        yield from _fold(f"there the other means is alone, or none: {part}", "  ~ ")
    yield ""


_KEPT = ("S is kept: the leaf stands before a person who walks in through the ray can reach it. Whoever is between ray "
         "and leaf already, steps over the ray or passes under it is not seen")
_PRESENCE = ("nearer than S: it tells that somebody is there and does not keep anybody from being hit; presence "
             "detection, not judged by S. That it counts as a kind of means is common practice, no source")


def _separation(one: Separation) -> Iterator[str]:
    yield from _fold(f"Beam {one.beam}, {one.direction.value}: the ray against the leaf, S = K T + C")
    for line in one.lines:
        yield from _fold(line.how, f"  {line.part:<17}{line.us / 1000:>10.1f} ms  ")
    yield from _fold("to the leaf at rest", f"  {'T':<17}{one.time / 1000:>10.1f} ms  ")
    yield from _fold(f"{one.k:.0f} mm/s x T + {one.c / 1000:.0f} mm, smallest object {one.detects / 1000:.0f} mm (ISO "
                     "13855:2010, clause 5; K and C of 6.2 from memory)", f"  {'S':<17}{one.least / 1000:>10.1f} mm  ")
    yield from _fold("63 in/s x T, without C (29 CFR 1910.217(c)(3)(iii)(e), presses, as analogue)",
                     f"  {'for comparison':<17}{one.press / 1000:>10.1f} mm  ")
    said = _KEPT if one.is_met else _PRESENCE
    yield from _fold(said, f"  {'the ray stands at':<17}{one.distance / 1000:>10.1f} mm  ")
    yield ""


def _way(way: WayBack) -> Iterator[str]:
    guard = ", ".join((*way.edges, *way.beams)) or "NO EDGE: force sensing alone"
    yield from _fold(f"after a stop while {way.moving.value}, back {way.back.value}: {guard}", "  ")
    for device, edges in way.shared:
        yield from _fold(
            f"{device} carries edges of both ways ({', '.join(edges)}): one loss takes both, the WAY BACK is "
            "UNGUARDED. On a "
            "fault alone the gate stops without reversing; on a demand it goes back the short relief only.", "    * ")


def _verdict(margin: float | None, said: str) -> str:
    if margin is None:
        return "not judged"
    return f"margin {said}" if margin >= 0 else f"EXCEEDED by {said.lstrip('-')}"


def _budgets(plan: Plan) -> Iterator[str]:
    yield from _title("2. Reaction budgets, each delay at its worst")
    for budget in plan.budgets:
        yield from _budget(budget)
    yield "Overtravel against stopping distance, every tolerance at its worst"
    yield from _fold("What the gate still moves after the edge has actuated, at the highest speed of a whole stroke on "
                     "that stretch, against what the edge can still give (common practice, no source). Two seconds are "
                     "not protection; this is what is left to give.", "  ")
    for one in plan.overtravels:
        yield from _overtravel(one)


def _budget(budget: Budget) -> Iterator[str]:
    zone = f", zone {budget.zone}" if budget.zone else ""
    yield from _fold(f"{budget.device}{zone}, {budget.direction.value}: {budget.case}")
    for line in budget.lines:
        yield from _fold(line.how, f"  {line.part:<17}{line.us / 1000:>10.1f} ms  ")
    yield from _fold(f"to {budget.until}", f"  {'sum':<17}{budget.total / 1000:>10.1f} ms  ")
    if budget.limit is None:
        yield from _fold(f"limit: {budget.source}: not judged", "  ")
    else:
        margin = budget.limit - budget.total
        yield from _fold(f"{_verdict(margin, _ms(margin))} ({budget.source})",
                         f"  {'limit':<17}{budget.limit / 1000:>10.1f} ms  ")
    yield ""


def _overtravel(one: Overtravel) -> Iterator[str]:
    yield ""
    yield from _fold(f"Edge {one.edge}, {one.direction.value}, {one.stretch}: {one.speed * 1000:.0f} mm/s")
    for term in one.terms:
        spent = _ms(term.us) if term.us or term.part != "stopping distance" else ""
        yield from _fold(term.how, f"  {term.part:<18}{spent:>10}{_mm(term.um):>10}  ")
    yield from _fold("after actuation", f"  {'sum':<18}{'':>10}{_mm(one.moved):>10}  ")
    yield from _fold(one.until, f"  {'the edge gives':<18}{'':>10}{_mm(one.give):>10}  ")
    yield f"  {_verdict(one.margin, _mm(one.margin))}"


def _loops(plan: Plan) -> Iterator[str]:
    yield from _title("3. Expected resistance, every supply off")
    for loop in plan.loops:
        yield from _loop(loop)


_JOINED = {None: "", Joining.ONE_LEAD: "one lead", Joining.SERIES: "in series", Joining.PARALLEL: "in parallel"}


def _loop(loop: LoopPlan) -> Iterator[str]:
    shares = f", on one loop with {' and '.join(loop.shares)}, {_JOINED[loop.joining]}" if loop.shares else ""
    yield from _fold(f"Edge {loop.edge}{shares}")
    yield f"  at rest  {loop.at_rest:>10.1f} ohm   band {loop.band_low:.0f} to {loop.band_high:.0f} ohm"
    if loop.dry is not None:
        yield from _fold("with the leakage that the lead may have when it is wet; dry it reads "
                         f"{loop.dry:.1f} ohm", " " * 11)
    if not loop.opens:
        yield f"  pressed  {loop.pressed:>10.1f} ohm   below {loop.band_low:.0f} ohm is a press"
    elif loop.pressed >= OPEN_WIRE:
        yield f"  pressed  {'no reading':>10}       above {loop.band_high:.0f} ohm is a press, as is a broken wire"
    else:
        yield f"  pressed  {loop.pressed:>10.1f} ohm   above {loop.band_high:.0f} ohm is a press, as is a broken wire"
    if loop.without is not None:
        yield f"  wire off {loop.without:>10.1f} ohm   this edge's, the others left: above the band, a fault"
    yield f"  open     {'no reading':>10}       from {loop.open_above:.0f} ohm on"
    yield f"  shorted  {loop.shorted:>10.1f} ohm   at the edge's leads; meter leads come on top"
    if loop.wires_expected is None:
        yield from _fold(f"wires {loop.wires_stated:.3f} ohm as stated; gauge or length not given, not checked", "  ")
    else:
        stated = "" if loop.wires_derived else f"{loop.wires_stated:.3f} ohm as stated, "
        yield from _fold(f"wires {stated}{loop.wires_expected:.3f} ohm {loop.wires_from}", "  ")
    for trouble in loop.troubles:
        yield from _fold(trouble, "  * ")
    yield ""


def _radios(plan: Plan) -> Iterator[str]:
    yield from _title("4. Transmitters: five figures that must agree")
    if not plan.radios:
        yield "No paired transmitter."
    for radio in plan.radios:
        yield from _radio(radio)


def _radio(radio: RadioPlan) -> Iterator[str]:
    frames, battery = radio.frames, radio.battery
    yield from _fold(f"Transmitter {radio.transmitter}; assumed {radio.moves.in_busiest_hour} whole moves in "
                     "the busiest "
                     f"hour, {radio.moves.in_a_day} in a day")
    yield from _fold(
        f"every {_span(radio.checkin_at_rest)} at rest, {_span(radio.checkin_in_motion)} in motion, up to "
        f"{_ms(radio.jitter)} late {'and adding up' if radio.at_rest.adds_up else 'on an absolute grid'}; a whole "
        f"move of {radio.shortest_move / 1e6:.1f} s hears {radio.heard_in_a_move}",
        "  check-ins   ")
    yield from _fold(
        f"{frames.at_rest:.1f} at rest + {frames.in_motion:.1f} in motion + {frames.at_starts:.0f} at starts + "
        f"{frames.answers:.0f} answers = {frames.total:.1f} frames/h x {_ms(radio.air_time)} = "
        f"{radio.air_time_an_hour / 1e6:.3f} s/h (presses left out)", "  air time    ")
    yield from _fold(
        f"{radio.supervision_budget / 1e6:.3f} s/h for supervision (47 CFR 15.231(a)(3): 2 s per hour per "
        "transmitter, where "
        f"that rule applies); it allows {_ms(radio.longest_frame)} a frame at the check-ins at rest", "  radio rule  ")
    yield from _fold(_battery_said(radio), "  battery     ")
    lead = "not given" if battery.lead_days is None else f"{battery.lead_days:.1f} days"
    yield from _fold(f"low to critical at the coldest: {lead}", " " * 14)
    yield from _fold(_link_said(radio), "  lost link   ")
    for heading, said in air_lines(radio):
        yield from _fold(said, f"  {heading:<12}" if heading else " " * 14)
    for trouble in radio.troubles:
        yield from _fold(f"DOES NOT AGREE: {trouble}", "  * ")
    if not radio.troubles:
        yield "  = the five agree"
    yield ""


def _battery_said(radio: RadioPlan) -> str:
    battery, drain = radio.battery, radio.battery.drain
    return (f"{drain.sleep:.1f} sleep + {drain.scans:.1f} scans + {drain.frames:.1f} frames = {drain.total:.1f} "
            "uA at "
            f"{radio.mean_frames:.1f} frames/h over the day: "
            f"{battery.years_without_self_discharge:.2f} years, with self-discharge {battery.years:.2f} years")


def _link_said(radio: RadioPlan) -> str:
    said = []
    for where, misses in (("at rest", radio.at_rest), ("in motion", radio.in_motion)):
        k = misses.losses_to_trip
        lost = f"{k - 1} in a row may be lost" if k else "IT RUNS OUT WITH NONE LOST"
        each = f"{_span(misses.period)} + {_ms(misses.jitter)}"
        each = f"{k} x ({each})" if misses.adds_up else f"{k} x {each}"
        said.append(f"{where} {_span(misses.watchdog)} >= {each} + {_ms(misses.delay)}: {lost}")
    said.append(f"false alarms at rest {radio.false_lost_links_a_day:.3f} a day")
    if radio.lost_link is not None:
        limit = "no limit" if radio.lost_link.limit is None else f"limit {_ms(radio.lost_link.limit)}"
        said.append(f"cut in motion found within {_ms(radio.lost_link.total)}, {limit}")
    return "; ".join(said)


def _fixings(plan: Plan) -> Iterator[str]:
    yield from _title("5. Fixing schedule of the edges' channels")
    for caution in plan.fixing_cautions:
        yield from _fold(caution, "! ")
    yield from _fold("Common practice, no source. Positions from the bottom (drain) end to the hole's centre.")
    for fixing in plan.fixings:
        yield ""
        yield from _fixing(fixing)


def _fixing(fixing: Fixing) -> Iterator[str]:
    yield from _fold(
        f"Channel of {fixing.edge}: {_mm(fixing.length)} ({_inch(fixing.length)}), {len(fixing.holes)} holes, "
        f"{_mm(fixing.pitch)} ({_inch(fixing.pitch)}) apart, at most {_mm(fixing.greatest_pitch)}")
    for number, place in enumerate(fixing.holes, 1):
        yield f"  hole {number:>2}  {_mm(place):>11}  {_inch(place):>9}   drilled [ ]  fixed [ ]"
    for caution in fixing.cautions:
        yield from _fold(caution, "  * ")


def _sheet(plan: Plan) -> Iterator[str]:
    yield from _title("6. Commissioning sheet")
    yield from _fold("In this order. One wrong reading: stop, find it, and begin the group again.")
    yield from _blanks(("tester", 30), ("date", 12))
    yield from _blanks(("meter, its check date", 20), ("weather, degC", 12))
    group = ""
    for step in plan.steps:
        if step.group != group:
            group = step.group
            yield ""
            yield group
            yield "-" * len(group)
        yield from _fold(f"{step.device}: {step.do}", f"{step.number:>3}  ")
        yield from _fold(f"expect: {step.expect}", "     ")
        if step.points_to:
            yield from _fold(f"if not: {step.points_to}", "     ")
        yield from _blanks(("     reading", 26), ("in order", 6), ("initials", 8))
    yield ""
    yield from _fold("Local codes, the authority having jurisdiction and licensed practice come first. A "
                     "filled-in sheet is a "
                     "record and no statement of conformity.")


def _blanks(blanks: tuple[str, int], *more: tuple[str, int]) -> Iterable[str]:
    return ["  ".join(f"{what} {'_' * wide}" for what, wide in (blanks, *more))]
