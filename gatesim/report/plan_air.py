"""The lines of a plan that speak of the air: pairs of heading and text, to be folded by `plan_text.py`."""

from __future__ import annotations

from collections.abc import Iterator

from gatesim.field.air import LinkPlan, Nuisance, RulePlan
from gatesim.field.radio import RadioPlan
from gatesim.plant.link_budget import LinkAt, Shadow

Line = tuple[str, str]
"""Heading ("" goes on under the last), text."""


def air_lines(radio: RadioPlan) -> Iterator[Line]:
    """Rule set, link budget, nuisance trips and clocks of a transmitter, as far as its site has them."""
    if radio.rule is not None:
        yield from _rule(radio.rule)
    if radio.link is not None:
        yield from _link(radio.link)
    if radio.loses_frames:
        yield from _nuisance(radio.nuisance)
    sender, receiver = radio.at_rest.sender_error, radio.at_rest.receiver_error
    if sender or receiver:
        yield "clocks", (f"transmitter off by up to {sender * 1e6:g} ppm, receiver by up to {receiver * 1e6:g} ppm: "
                         "counted against the watchdog")


def _time(us: float) -> str:
    return f"{us / 1e6:.2f} s" if us >= 1_000_000 else f"{us / 1000:.2f} ms"


def share(chance: float) -> str:
    """A chance that may be very small."""
    if chance == 0:
        return "0 %"
    return f"{100 * chance:.3g} %" if chance >= 1e-6 else f"{chance:.2e}"


def _rule(rule: RulePlan) -> Iterator[Line]:
    gap = "each" if rule.air_time is None else f"on the mean of {rule.window / 60e6:g} min"
    yield "rule set", (f"{rule.name}: check-ins as long as these at most every {_time(rule.least_period)} ({gap}); "
                       f"longest check-in at the period at rest {_time(rule.longest_at_rest)}, at that in motion "
                       f"{_time(rule.longest_in_motion)}, nothing else being sent")
    yield "", f"Figures: {rule.source}. The equipment's approval and local radio law come first."


def _link(link: LinkPlan) -> Iterator[Line]:
    worst = link.worst
    kept = f"short of it by {link.fade_margin - worst.margin:.1f} dB" if link.is_short else "kept"
    yield "link budget", (f"margin closed {link.closed.margin:.1f} dB, open {link.open.margin:.1f} dB, least "
                          f"{worst.margin:.1f} dB with the leaf at {worst.x / 1000:.0f} mm; wanted "
                          f"{link.fade_margin:g} dB: {kept}")
    yield "", f"there: {_sum_said(worst)}"
    null = f"last null at {link.last_null:.1f} m" if link.last_null > 0 else "no null"
    yield "", (f"ground by two rays: {null}, falling for good from {link.last_crest:.1f} m (short form, from memory)")
    yield "", (f"frames lost: closed {share(link.loss_closed)}, open {share(link.loss_open)}, worst "
               f"{share(link.loss_worst)}")
    for one in link.shadows:
        yield "", _shadow_said(one)
    for told in link.interference:
        again = "once" if told.every is None else f"every {_time(told.every)}"
        yield "", (f"{told.name}, {_time(told.lasts)} {again}: least margin {told.worst_margin:.1f} dB, "
                   f"{share(told.worst_loss)} lost there; not in the sums below")
    yield "", ("Calculated, not measured. Watch the link with the gate at the end of travel farthest from the "
               "receiver, in clear line of sight (common practice, no source).")


def _sum_said(place: LinkAt) -> str:
    taken = sum(one.loss for one in place.shadows)
    return (f"{place.distance:.2f} m apart, free space {place.free_space:.1f} dB, ground {place.ground:+.1f} dB, "
            f"obstacles {taken:.1f} dB, {place.received:.1f} dBm at the receiver")


def _shadow_said(one: Shadow) -> str:
    if one.radius is None or one.reach is None:
        return f"{one.name}: takes {one.loss:.1f} dB, as stated"
    stands = f"stays {-one.reach:.2f} m clear" if one.reach < 0 else f"reaches {one.reach:.2f} m over the line"
    part = f", {100 * -one.reach / one.radius:.0f} % of it" if one.reach < 0 else ""
    return (f"{one.name}: {stands}{part}; first Fresnel zone {one.radius:.2f} m there; takes {one.loss:.1f} dB (knife "
            "edge, from memory)")


def _nuisance(nuisance: Nuisance) -> Iterator[Line]:
    days = "never" if nuisance.a_day_at_rest == 0 else f"one in {1 / nuisance.a_day_at_rest:.3g} days"
    yield "nuisance", (f"at rest, {share(nuisance.loss_at_rest)} of frames lost: {days}, "
                           f"{share(nuisance.in_a_day_at_rest)} a day")
    yield "", (f"in motion, up to {share(nuisance.loss_in_motion)} lost: {share(nuisance.in_a_move)} a move "
               f"({share(nuisance.in_a_move_at_worst)} with the worst place's loss all the way), "
               f"{nuisance.a_day_in_motion:.3g} moves a day stopped for nothing")
