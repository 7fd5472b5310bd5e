"""A plan as plain text in 80 columns, to be printed and filled in at the gate: `Plan` in, text out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gatesim import shown
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
from gatesim.report.battery_text import battery_lines, supply_lines
from gatesim.report.folded import fold
from gatesim.report.plan_air import air_lines


def plan_text(plan: Plan) -> str:
    """The whole plan; ends with a newline.  No line is longer than 80 columns unless one word is."""
    parts = (_head(plan), _zones(plan), _budgets(plan), _loops(plan), _radios(plan), _fixings(plan), _sheet(plan))
    return "\n".join(line.rstrip() for part in parts for line in part) + "\n"


# --- pieces of text ------------------------------------------------------------------------------------------------


def _title(text: str) -> list[str]:
    return ["", text.upper(), "=" * len(text)]


def _ms(us: float) -> str:
    return f"{us / 1000:.1f} ms"


def _span(us: float) -> str:
    """A period or limit: seconds from 10 s on."""
    return f"{us / 1e6:.1f} s" if us >= 10_000_000 else _ms(us)


def _mm(um: float) -> str:
    return shown.mm(um, 1)


def _metric(um: float) -> str:
    """In millimetres always: it stands beside the inches."""
    return f"{um / 1000:.1f} mm"


def _inch(um: float) -> str:
    return f"{um / 25_400:.2f}".rstrip("0").rstrip(".") + " in"


# --- the parts -----------------------------------------------------------------------------------------------------


def _head(plan: Plan) -> Iterator[str]:
    yield from fold(f"Plan of {plan.site}")
    yield f"limits profile: {plan.profile.value}"
    yield from _title("Cautions")
    for caution in plan.cautions:
        yield from fold(caution, "! ")
    if plan.notes:
        yield from fold(f"Site's note: {plan.notes}")
    yield ""
    if plan.gaps:
        yield f"MISSING, EXCEEDED OR NOT IN AGREEMENT: {plan.missing}"
        for gap in plan.gaps:
            yield from fold(gap, "  - ")
    else:
        yield from fold("Nothing is missing, exceeded or out of agreement by these figures. That is no proof: "
                         "fill in the "
                         "sheet.")
    for remark in plan.remarks:
        yield from fold(remark, "  ? ")


def _zones(plan: Plan) -> Iterator[str]:
    yield from _title("1. Entrapment zones and their means")
    for zone in plan.zones:
        yield from _zone(zone)
    for one in plan.separations:
        yield from _separation(one)
    yield "Blind zones of the force sensing (declared)"
    for blind in plan.blind:
        whose = f"{blind.leaf} leaf, " if blind.leaf else ""
        yield from fold(
            f"{whose}{blind.direction.value}: {_ms(blind.after_start_us)} after each start (up to "
            f"{_mm(blind.after_start)}); last "
            f"{_mm(blind.at_end)} before the end stop (must be less than {_mm(25_400)}: 16 CFR 1211.7(b), 2002 "
            "edition, as "
            "analogue)" + (" EXCEEDED" if blind.is_too_far else ""), "  ")
    yield ""
    yield "The way back"
    for way in plan.ways_back:
        yield from _way(way)
    for risk in plan.residual:
        yield from fold(f"Residual risk. {risk}")


def _zone(zone: ZonePlan) -> Iterator[str]:
    yield from fold(f"Zone {zone.zone}: {zone.direction.value}, leaf at "
                     f"{shown.stretch(zone.start, zone.end)}")
    for one in zone.means:
        through = f" through {one.through}" if one.through else ""
        what = f"{one.kind}: {one.device}{through}; {one.monitoring}".rstrip("; ")
        yield from fold(what if one.counts else f"NOT COUNTED {what}: {one.why_not}", "  - ")
    if zone.missing:
        yield from fold(f"MISSING: {zone.missing} of {zone.needed} independent, monitored means of different "
                         "kinds", "  * ")
    else:
        kinds = "kinds are" if zone.needed > 1 else "kind is"
        yield from fold(f"{len(zone.kinds)} stated, {zone.needed} different {kinds} needed", "  = ")
    for part in zone.uncovered:
        yield from fold(f"there the other means is alone, or none: {part}", "  ~ ")
    yield ""


_KEPT = ("S is kept: the leaf stands before a person who walks in through the ray can reach it. Whoever is between ray "
         "and leaf already, steps over the ray or passes under it is not seen")
_PRESENCE = ("nearer than S: it tells that somebody is there and does not keep anybody from being hit; presence "
             "detection, not judged by S. That it counts as a kind of means is common practice, no source")


def _separation(one: Separation) -> Iterator[str]:
    yield from fold(f"Beam {one.beam}, {one.direction.value}: the ray against the leaf, S = K T + C")
    for line in one.lines:
        yield from fold(line.how, f"  {line.part:<17}{line.us / 1000:>10.1f} ms  ")
    yield from fold("to the leaf at rest", f"  {'T':<17}{one.time / 1000:>10.1f} ms  ")
    # K is a speed in mm/s; shown takes um/us.
    yield from fold(f"{shown.fine_speed(one.k / 1000)} x T + {shown.mm(one.c)}, smallest object "
                    f"{shown.mm(one.detects)} (ISO 13855:2010, clause 5; K and C of 6.2 from memory)",
                    f"  {'S':<17}{_mm(one.least):>13}  ")
    yield from fold("63 in/s x T, without C (29 CFR 1910.217(c)(3)(iii)(e), presses, as analogue)",
                    f"  {'for comparison':<17}{_mm(one.press):>13}  ")
    said = _KEPT if one.is_met else _PRESENCE
    yield from fold(said, f"  {'the ray stands at':<17}{_mm(one.distance):>13}  ")
    yield ""


def _way(way: WayBack) -> Iterator[str]:
    guard = ", ".join((*way.edges, *way.beams)) or "NO EDGE: force sensing alone"
    yield from fold(f"after a stop while {way.moving.value}, back {way.back.value}: {guard}", "  ")
    for device, edges in way.shared:
        yield from fold(
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
    yield from fold("What the gate still moves after the edge has actuated, at the highest speed of a whole stroke on "
                     "that stretch, against what the edge can still give (common practice, no source). Two seconds are "
                     "not protection; this is what is left to give.", "  ")
    for one in plan.overtravels:
        yield from _overtravel(one)


def _budget(budget: Budget) -> Iterator[str]:
    zone = f", zone {budget.zone}" if budget.zone else ""
    yield from fold(f"{budget.device}{zone}, {budget.direction.value}: {budget.case}")
    for line in budget.lines:
        yield from fold(line.how, f"  {line.part:<17}{line.us / 1000:>10.1f} ms  ")
    yield from fold(f"to {budget.until}", f"  {'sum':<17}{budget.total / 1000:>10.1f} ms  ")
    if budget.limit is None:
        yield from fold(f"limit: {budget.source}: not judged", "  ")
    else:
        margin = budget.limit - budget.total
        yield from fold(f"{_verdict(margin, _ms(margin))} ({budget.source})",
                         f"  {'limit':<17}{budget.limit / 1000:>10.1f} ms  ")
    yield ""


def _overtravel(one: Overtravel) -> Iterator[str]:
    yield ""
    yield from fold(f"Edge {one.edge}, {one.direction.value}, {one.stretch}: {shown.fine_speed(one.speed)}")
    for term in one.terms:
        spent = _ms(term.us) if term.us or term.part != "stopping distance" else ""
        yield from fold(term.how, f"  {term.part:<18}{spent:>10}{_mm(term.um):>10}  ")
    yield from fold("after actuation", f"  {'sum':<18}{'':>10}{_mm(one.moved):>10}  ")
    yield from fold(one.until, f"  {'the edge gives':<18}{'':>10}{_mm(one.give):>10}  ")
    yield f"  {_verdict(one.margin, _mm(one.margin))}"


def _loops(plan: Plan) -> Iterator[str]:
    yield from _title("3. Expected resistance, every supply off")
    for loop in plan.loops:
        yield from _loop(loop)


_JOINED = {None: "", Joining.ONE_LEAD: "one lead", Joining.SERIES: "in series", Joining.PARALLEL: "in parallel"}


def _loop(loop: LoopPlan) -> Iterator[str]:
    shares = f", on one loop with {' and '.join(loop.shares)}, {_JOINED[loop.joining]}" if loop.shares else ""
    yield from fold(f"Edge {loop.edge}{shares}")
    yield f"  at rest  {loop.at_rest:>10.1f} ohm   band {loop.band_low:.0f} to {loop.band_high:.0f} ohm"
    if loop.dry is not None:
        yield from fold("with the leakage that the lead may have when it is wet; dry it reads "
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
        yield from fold(f"wires {loop.wires_stated:.3f} ohm as stated; gauge or length not given, not checked", "  ")
    else:
        stated = "" if loop.wires_derived else f"{loop.wires_stated:.3f} ohm as stated, "
        yield from fold(f"wires {stated}{loop.wires_expected:.3f} ohm {loop.wires_from}", "  ")
    for trouble in loop.troubles:
        yield from fold(trouble, "  * ")
    yield ""


def _radios(plan: Plan) -> Iterator[str]:
    yield from _title("4. Transmitters: five figures that must agree")
    if not plan.radios:
        yield "No paired transmitter."
    for radio in plan.radios:
        yield from _radio(radio)
    if plan.supply is not None:
        yield from supply_lines(plan.supply)


def _radio(radio: RadioPlan) -> Iterator[str]:
    frames = radio.frames
    yield from fold(f"Transmitter {radio.transmitter}; assumed {radio.moves.in_busiest_hour} whole moves in "
                     "the busiest "
                     f"hour, {radio.moves.in_a_day} in a day")
    yield from fold(
        f"every {_span(radio.checkin_at_rest)} at rest, {_span(radio.checkin_in_motion)} in motion, up to "
        f"{_ms(radio.jitter)} late {'and adding up' if radio.at_rest.adds_up else 'on an absolute grid'}; a whole "
        f"move of {radio.shortest_move / 1e6:.1f} s hears {radio.heard_in_a_move}",
        "  check-ins   ")
    yield from fold(
        f"{frames.at_rest:.1f} at rest + {frames.in_motion:.1f} in motion + {frames.at_starts:.0f} at starts + "
        f"{frames.answers:.0f} answers = {frames.total:.1f} frames/h x {_ms(radio.air_time)} = "
        f"{radio.air_time_an_hour / 1e6:.3f} s/h (presses left out)", "  air time    ")
    yield from fold(
        f"{radio.supervision_budget / 1e6:.3f} s/h for supervision (47 CFR 15.231(a)(3): 2 s per hour per "
        "transmitter, where "
        f"that rule applies); it allows {_ms(radio.longest_frame)} a frame at the check-ins at rest", "  radio rule  ")
    yield from battery_lines(radio)
    yield from fold(_link_said(radio), "  lost link   ")
    for heading, said in air_lines(radio):
        yield from fold(said, f"  {heading:<12}" if heading else " " * 14)
    for trouble in radio.troubles:
        yield from fold(f"DOES NOT AGREE: {trouble}", "  * ")
    if not radio.troubles:
        yield "  = the five agree"
    yield ""


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
        yield from fold(caution, "! ")
    yield from fold("Common practice, no source. Positions from the bottom (drain) end to the hole's centre.")
    for fixing in plan.fixings:
        yield ""
        yield from _fixing(fixing)


def _fixing(fixing: Fixing) -> Iterator[str]:
    yield from fold(
        f"Channel of {fixing.edge}: {_metric(fixing.length)} ({_inch(fixing.length)}), {len(fixing.holes)} holes, "
        f"{_metric(fixing.pitch)} ({_inch(fixing.pitch)}) apart, at most {_metric(fixing.greatest_pitch)}")
    for number, place in enumerate(fixing.holes, 1):
        yield f"  hole {number:>2}  {_metric(place):>11}  {_inch(place):>9}   drilled [ ]  fixed [ ]"
    for caution in fixing.cautions:
        yield from fold(caution, "  * ")


def _sheet(plan: Plan) -> Iterator[str]:
    yield from _title("6. Commissioning sheet")
    yield from fold("In this order. One wrong reading: stop, find it, and begin the group again.")
    yield from _blanks(("tester", 30), ("date", 12))
    yield from _blanks(("meter, its check date", 20), ("weather, degC", 12))
    group = ""
    for step in plan.steps:
        if step.group != group:
            group = step.group
            yield ""
            yield group
            yield "-" * len(group)
        yield from fold(f"{step.device}: {step.do}", f"{step.number:>3}  ")
        yield from fold(f"expect: {step.expect}", "     ")
        if step.points_to:
            yield from fold(f"if not: {step.points_to}", "     ")
        yield from _blanks(("     reading", 26), ("in order", 6), ("initials", 8))
    yield ""
    yield from fold("Local codes, the authority having jurisdiction and licensed practice come first. A "
                     "filled-in sheet is a "
                     "record and no statement of conformity.")


def _blanks(blanks: tuple[str, int], *more: tuple[str, int]) -> Iterable[str]:
    return ["  ".join(f"{what} {'_' * wide}" for what, wide in (blanks, *more))]
