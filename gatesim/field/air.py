"""What a plan says of the air: margin along the travel, nuisance trips, the radio rule set.  Shapes in, values out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from gatesim.events import Direction
from gatesim.field.air_time import DAY, Misses, false_lost_links_a_day, leaf_at_check_ins
from gatesim.field.nuisance import Path, exact_frames_to_trip, trip_by, tripped
from gatesim.plant.burst_state import chain_of
from gatesim.plant.leaves import travel_with
from gatesim.plant.link_budget import Link, LinkAt, Shadow, along, last_crest, last_null, link_at, link_of, loss_of
from gatesim.plant.radio_rules import Breach, RuleSet, breaches, rule_of
from gatesim.plant.radio_tables import Radio
from gatesim.plant.site import Site, Transmitter


class Disturbed(NamedTuple):
    """A time in which another sender lowers the margin (us, dB), alone."""

    name: str
    lasts: int
    every: int | None
    worst_margin: float
    worst_loss: float


@dataclass(frozen=True, slots=True)
class LinkPlan:
    """The link budget at the places that matter (um, m, dB, dBm)."""

    fade_margin: float
    closed: LinkAt
    open: LinkAt
    worst: LinkAt
    shadows: tuple[Shadow, ...]
    """Each obstacle where it takes most."""
    last_null: float
    """Distance of the antennas (m) beyond which the ground ray makes no further null; 0: it makes none."""
    last_crest: float
    """Beyond this one (m) the level only falls."""
    loss_closed: float
    loss_open: float
    loss_worst: float
    interference: tuple[Disturbed, ...]

    @property
    def is_short(self) -> bool:
        """Whether the margin falls below what the site wants to keep."""
        return self.worst.margin < self.fade_margin


@dataclass(frozen=True, slots=True)
class Nuisance:
    """Links taken for lost though the path stands; interference is left out (it has its times, not its chance)."""

    loss_at_rest: float
    """Mean loss of a frame, all causes together, at the worse end of the travel."""
    loss_in_motion: float
    """The same at the worst place of the travel."""
    frames_to_trip_at_rest: float | None
    """Mean number; None: never."""
    a_day_at_rest: float
    """Mean number of trips in a day at rest."""
    in_a_day_at_rest: float
    """Chance of at least one."""
    in_a_move: float
    """Chance in one whole move, its loss that of the leaf's place, in the worse direction."""
    in_a_move_at_worst: float
    """The same with the worst place's loss all the way."""
    a_day_in_motion: float
    """Mean number of moves in a day that it stops, by `in_a_move`."""


@dataclass(frozen=True, slots=True)
class RulePlan:
    """What a rule set allows, and what of it is not kept (us)."""

    name: str
    source: str
    least_period: float
    """Of check-ins as long as these."""
    longest_at_rest: float
    """Longest check-in at the period at rest; in motion likewise."""
    longest_in_motion: float
    air_time: int | None
    """Allowed in each `window`; None: only gaps and lengths count."""
    window: int
    breaches: tuple[Breach, ...]


def link_plan(radio: Radio, travel: float) -> LinkPlan:
    """The link budget of a transmitter."""
    places, link = along(radio, travel), link_of(radio, travel)
    worst = min(places, key=lambda one: one.margin)
    by_name: dict[str, Shadow] = {}
    for place in places:
        for one in place.shadows:
            if one.name not in by_name or by_name[one.name].loss < one.loss:
                by_name[one.name] = one
    closed, opened = link_at(radio, 0.0), link_at(radio, travel)
    return LinkPlan(
        radio.fade_margin, closed, opened, worst, tuple(by_name.values()),
        last_null(radio.frequency, radio.transmitter_height / 1e6, radio.receiver_height / 1e6),
        last_crest(radio.frequency, radio.transmitter_height / 1e6, radio.receiver_height / 1e6),
        _loss(link, closed.margin), _loss(link, opened.margin), _loss(link, worst.margin),
        tuple([Disturbed(one.name, one.lasts, one.every, worst.margin - one.takes,
                         _loss(link, worst.margin - one.takes)) for one in radio.interference]))


def _loss(link: Link, margin: float) -> float:
    return loss_of(link.points, margin)


def path_of(node: Transmitter, link_loss: float, period: float) -> Path:
    """Loss from check-in to check-in, one every `period` us, with this loss by the link budget."""
    here = 1 - (1 - node.loss) * (1 - link_loss)
    if node.bursts is None:
        return Path(here)
    chain = chain_of(node.bursts)
    worse, better = chain.chance_of_bad(False, period), 1 - chain.chance_of_bad(True, period)
    return Path(1 - (1 - here) * (1 - chain.loss_in_good), worse, better, 1 - (1 - here) * (1 - chain.loss_in_bad))


def nuisance_of(site: Site, node: Transmitter, rest: Misses, motion: Misses, moves_a_day: int) -> Nuisance:
    """The nuisance trips of a transmitter, each check-in lost by chance, bursts and link budget together."""
    link = None if node.radio is None else link_of(node.radio, travel_with(site, node.name))
    points = () if link is None else link.margins
    losses = [_loss(link, margin) for margin in points] if link is not None else [0.0]
    at_rest = path_of(node, max(losses[0], losses[-1]), rest.period)
    worst = path_of(node, max(losses), motion.period)
    k_rest, k_motion = rest.losses_to_trip, motion.losses_to_trip
    frames = int(DAY // rest.period)
    mean = exact_frames_to_trip(at_rest, k_rest)
    moves: list[tuple[float, float]] = []
    for direction in Direction:
        leaf = leaf_at_check_ins(site, node, direction)
        each = [path_of(node, 0.0 if link is None else _loss(link, _margin(link, x)), motion.period) for x in leaf]
        told = tripped([(one.loss_in_good, one.loss_in_bad) for one in each], k_motion, worst.worse, worst.better)
        moves.append((float(told), float(trip_by(worst, k_motion, len(leaf)))))
    in_a_move = max(one for one, _ in moves)
    return Nuisance(
        at_rest.mean_loss, worst.mean_loss, mean, false_lost_links_a_day(rest, at_rest),
        float(trip_by(at_rest, k_rest, frames)), in_a_move, max(one for _, one in moves), in_a_move * moves_a_day)


def _margin(link: Link, x: float) -> float:
    """The margin without interference."""
    return link._replace(interference=()).margin_at(x, 0.0)


def rule_plan(node: Transmitter) -> RulePlan | None:
    """What the rule set of a transmitter allows it."""
    rule: RuleSet | None = rule_of(node)
    if rule is None:
        return None
    return RulePlan(
        rule.name, rule.source, rule.least_period(node.air_time), rule.longest_message(node.checkin_at_rest),
        rule.longest_message(node.checkin_in_motion), rule.air_time, rule.window, tuple(breaches(rule, node)))
