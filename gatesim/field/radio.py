"""The five figures of a transmitter that must agree: check-ins, air time, radio rule set, battery, lost link."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from gatesim.errors import BadUsage
from gatesim.events import Direction
from gatesim.field.air import LinkPlan, Nuisance, RulePlan, link_plan, nuisance_of, rule_plan
from gatesim.field.air_time import (
    DAY,
    HOUR,
    Frames,
    Misses,
    changeover,
    frames_an_hour,
    learns_start,
    longest_frame,
    misses_at_rest,
    misses_in_motion,
    travel_time,
)
from gatesim.field.battery_life import Battery, battery_of
from gatesim.field.budget import Budget
from gatesim.field.dark import Dark, transmitter_dark
from gatesim.field.limits import Limits
from gatesim.plant.clocks import fastest
from gatesim.plant.leaves import travel_with
from gatesim.plant.site import Monitoring, Site, Transmitter, Use
from gatesim.shown import position


class Moves(NamedTuple):
    """Whole moves, and presses of an edge, that the sums assume: the site's `use`, or these (ours)."""

    in_busiest_hour: int = 10
    in_a_day: int = 60
    presses_a_day: int = 4


def moves_of(site: Site) -> Moves:
    """What the site states of its use, or what is assumed (ours)."""
    use = site.use or Use()
    return Moves(use.moves_in_busiest_hour, use.moves_a_day, use.presses_a_day)


@dataclass(frozen=True, slots=True)
class RadioPlan:
    """The five figures of one transmitter, with their sums (us unless said)."""

    transmitter: str
    checkin_at_rest: int
    checkin_in_motion: int
    jitter: int
    shortest_move: float
    heard_in_a_move: int
    """Check-ins due in the shortest whole move, the one at once at its start not counted."""
    moves: Moves
    frames: Frames
    """In the busiest hour: the radio rule counts by the hour."""
    mean_frames: float
    """In an hour, over the day: the cell runs down by the day."""
    air_time: int
    air_time_an_hour: float
    supervision_budget: int
    longest_frame: float
    """That the budget would allow at one check-in every `checkin_at_rest`."""
    at_rest: Misses
    in_motion: Misses
    changeover: int
    learns_start: int
    false_lost_links_a_day: float
    battery: Battery
    dark: Dark | None
    """Days without sun; None without a panel."""
    lost_link: Budget | None
    """From the cut to the link found lost, in the direction that takes longer."""
    nuisance: Nuisance
    link: LinkPlan | None
    """None: the site has no `radio` table."""
    rule: RulePlan | None
    """None: the site names no rule set."""
    troubles: tuple[str, ...]
    """Why the five do not agree; empty: they do."""

    @property
    def loses_frames(self) -> bool:
        """Whether a frame can be lost on a good day."""
        return max(self.nuisance.loss_at_rest, self.nuisance.loss_in_motion) > 0


def radio_of(site: Site, node: Transmitter, moves: Moves, lost_links: tuple[Budget, ...], limits: Limits) -> RadioPlan:
    """The five figures of a transmitter of a site that has a receiver.  Raises BadUsage for moves that do not fit."""
    receiver = site.receiver
    assert receiver is not None
    if moves.in_a_day > 24 * moves.in_busiest_hour:
        raise BadUsage(f"{moves.in_a_day} moves a day do not fit in hours of at most {moves.in_busiest_hour}")
    frames = frames_an_hour(site, node, moves.in_busiest_hour)
    mean = frames_an_hour(site, node, moves.in_a_day / 24)
    battery = battery_of(site, node, mean, moves.presses_a_day)
    rest, motion = misses_at_rest(node, receiver), misses_in_motion(node, receiver)
    shortest = min(travel_time(site, direction) for direction in Direction)
    nuisance = nuisance_of(site, node, rest, motion, moves.in_a_day)
    link = None if node.radio is None else link_plan(node.radio, travel_with(site, node.name))
    made = RadioPlan(
        node.name, node.checkin_at_rest, node.checkin_in_motion, node.checkin_jitter, shortest,
        int(shortest // node.checkin_in_motion), moves, frames, mean.total, node.air_time, frames.total * node.air_time,
        node.supervision_budget, longest_frame(node.checkin_at_rest, node.supervision_budget), rest, motion,
        changeover(node), learns_start(site, node), nuisance.a_day_at_rest,
        battery, transmitter_dark(site, node, battery.drain.total),
        max(lost_links, key=lambda one: one.total, default=None), nuisance, link, rule_plan(node), ())
    return _judged(site, node, made, limits)


def _judged(site: Site, node: Transmitter, made: RadioPlan, limits: Limits) -> RadioPlan:
    said: list[str] = []
    if made.air_time_an_hour > made.supervision_budget:
        said.append(f"air time {made.air_time_an_hour / 1e6:.3f} s an hour is over the budget of "
                    f"{made.supervision_budget / 1e6:.3f} s")
    said += _link_troubles(site, node, made)
    said += _air_troubles(made)
    battery = made.battery
    if battery.trouble:
        said.append(f"battery: {battery.trouble}")
    elif limits.lead is not None and battery.lead_days is not None and battery.lead_days * DAY < limits.lead.value:
        said.append(f"battery low leads critical by {battery.lead_days:.1f} days, wanted are "
                    f"{limits.lead.value / DAY:.0f}")
    if made.dark is not None and made.dark.trouble:
        said.append(f"battery: {made.dark.trouble}")
    if made.lost_link is not None and made.lost_link.is_exceeded:
        said.append("a lost link is found later than its limit")
    return replace(made, troubles=tuple(said))


def _air_troubles(made: RadioPlan) -> list[str]:
    said = []
    if made.link is not None and made.link.is_short:
        worst = made.link.worst
        said.append(f"the margin falls to {worst.margin:.1f} dB with the leaf at {position(worst.x)}, wanted are "
                    f"{made.link.fade_margin:g} dB")
    if made.rule is not None and made.rule.air_time is not None:
        # A window shorter than a move can lie wholly in one; a longer one is taken as the busiest hour is on the mean.
        inside = made.rule.window <= made.shortest_move
        share = made.air_time / made.checkin_in_motion if inside else made.air_time_an_hour / HOUR
        if share * made.rule.window > made.rule.air_time:
            said.append(f"air time {share * made.rule.window / 1e6:.3f} s in {made.rule.window / 1e6:g} s is over the "
                        f"{made.rule.air_time / 1e6:g} s of {made.rule.name}")
    if made.rule is not None:
        said += [f"{breach.message}: {breach.remedy}" for breach in made.rule.breaches]
    return said


def _link_troubles(site: Site, node: Transmitter, made: RadioPlan) -> list[str]:
    assert site.receiver is not None
    said = []
    for where, misses in (("at rest", made.at_rest), ("in motion", made.in_motion)):
        if misses.tolerated < 0:
            said.append(f"the watchdog {where} runs out between two check-ins though none is lost")
        elif misses.tolerated == 0 and made.loses_frames:
            said.append(f"{where} not one check-in may be lost, and frames are lost on a good day")
    if made.changeover > fastest(site.receiver.watchdog_at_rest, site.receiver.clock):
        said.append("the watchdog at rest runs out when a move has ended, though no check-in is lost")
    if made.learns_start > fastest(site.receiver.watchdog_in_motion, site.receiver.clock):
        said.append("the watchdog in motion runs out before the first check-in of a move")
    if made.false_lost_links_a_day > site.controller.faults_a_day:
        said.append(f"{made.false_lost_links_a_day:.2f} links a day are taken for lost at rest, the site warns above "
                    f"{site.controller.faults_a_day}")
    if site.receiver.watchdog_in_motion > made.shortest_move and node.monitoring is Monitoring.CONTINUOUSLY:
        said.append("the watchdog in motion outlasts a whole move: a link cut at its start is not found in that move")
    return said
