"""Whether what a site says of the air agrees with itself: link budget, bursts, clocks, watchdogs, radio rule set.

Errors and warnings as in `check_site.py`.  Figures here are ours unless a source stands beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from gatesim.plant.clocks import greatest_error, least_watchdog
from gatesim.plant.link_budget import LinkAt, along, horizontal, loss_of
from gatesim.plant.radio_rules import breaches, rule_of
from gatesim.plant.radio_tables import Bursts, Clock, JitterReading, Obstacle, Radio, RadioRule
from gatesim.plant.site import ReceiverTable, Site, Transmitter
from gatesim.scenario.strict import TreePath
from gatesim.units import Dimension, clip, format_quantity

Say = Callable[[TreePath, str, str], None]

MOST_ENTRIES = 64
"""Of obstacles, points and interference, each."""
WORTHLESS = 0.5
"""A path that loses more frames than this somewhere on the travel is warned of."""


def check_air(site: Site, sender: Transmitter, path: TreePath, error: Say, warn: Say) -> None:
    """Complain of what a transmitter's tables of the air get wrong."""
    check_clock(sender.clock, (*path, "clock"), error)
    if sender.bursts is not None:
        _bursts(sender.bursts, (*path, "bursts"), error)
    if sender.radio is not None and _radio(site, sender.radio, (*path, "radio"), error):
        _margins(site, sender, sender.radio, (*path, "radio"), warn)
    _rule(sender, path, error, warn)


def loses_frames(site: Site, sender: Transmitter) -> bool:
    """Whether frames of a healthy transmitter can be lost at all."""
    if sender.loss > 0 or sender.bursts is not None:
        return True
    if sender.radio is None or not _radio(site, sender.radio, (), lambda *_: None):
        return False
    return bool(sender.radio.interference) or _worst(site, sender.radio)[1] > 0


def check_clock(clock: Clock | None, path: TreePath, error: Say) -> None:
    """Complain of a clock's points out of their order."""
    if clock is None:
        return
    for k, (low, high) in enumerate(pairwise(clock.temperatures), 1):
        if not low.at < high.at:
            error((*path, "temperatures", k, "at"), "the temperatures do not rise", "list them from cold to warm")


def check_watchdog(
    site: Site, receiver: ReceiverTable, sender: Transmitter, state: str, error: Say, warn: Say
) -> None:
    """T < P trips every cycle.  No trip with k - 1 lost frames in a row needs the bound of plant/clocks.py.

    P period, J jitter, D spread of the latency: the interval between two arrivals; no published source.
    """
    limit: int = getattr(receiver, f"watchdog_{state}")
    period: int = getattr(sender, f"checkin_{state}")
    path = ("receiver", f"watchdog_{state}")
    if limit < period:
        remedy = f"make it longer than the check-in period of {clip(sender.name)}, {_duration(period)}"
        error(path, f"the watchdog ends before the next check-in {state.replace('_', ' ')} can come", remedy)
        return
    needed = 2 if loses_frames(site, sender) else 1
    least = least_watchdog(
        needed, period, sender.checkin_jitter, sender.latency_spread, sender.jitter_reading is JitterReading.ADDS_UP,
        greatest_error(sender.clock), greatest_error(receiver.clock))
    if limit < least:
        told = "one lost frame" if needed == 2 else "a late frame"
        remedy = f"at least {_duration(least)} for {clip(sender.name)}"
        warn(path, f"{told} {state.replace('_', ' ')} trips the watchdog in a healthy site", remedy)


def _duration(us: float) -> str:
    return format_quantity(round(us), Dimension.DURATION)


def _length(um: float) -> str:
    return format_quantity(um, Dimension.LENGTH)


def _bursts(bursts: Bursts, path: TreePath, error: Say) -> None:
    forms = (("good_to_bad", "bad_to_good"), ("mean_good", "mean_bad"))
    given = [[name for name in form if getattr(bursts, name) is not None] for form in forms]
    if sorted(map(len, given)) != [0, 2]:
        remedy = "give good_to_bad and bad_to_good, or mean_good and mean_bad, and not the others"
        error(path, "it is not clear how bursts come and go", remedy)
        return
    for name in (*given[0], *given[1]):
        if getattr(bursts, name) <= 0:
            error((*path, name), f"{name} is zero", "it must be above zero, or a state would never end or never come")
    if bursts.loss_in_good >= bursts.loss_in_bad:
        error((*path, "loss_in_bad"), "the bad state loses no more than the good one", "make loss_in_bad larger")


def _radio(site: Site, radio: Radio, path: TreePath, error: Say) -> bool:
    """Whether the link budget can be worked out."""
    found: list[TreePath] = []

    def say(at: TreePath, message: str, remedy: str) -> None:
        found.append(at)
        error(at, message, remedy)

    for name in ("transmitter_height", "receiver_height"):
        if getattr(radio, name) <= 0:
            say((*path, name), f"{name} is zero", "an antenna on the ground hears nothing: measure its height")
    for name in ("losses", "obstacles", "interference"):
        count = len(getattr(radio, name))
        if count > MOST_ENTRIES:
            say((*path, name, MOST_ENTRIES), f"{name} has {count} entries", f"at most {MOST_ENTRIES}")
    _losses(radio, path, say)
    closest = _closest(site, radio)
    if closest <= 0:
        remedy = "measure receiver_aside from the line on which the transmitter moves"
        say((*path, "receiver_aside"), "the transmitter moves through the receiver", remedy)
    for k, obstacle in enumerate(radio.obstacles):
        _obstacle(site, radio, obstacle, (*path, "obstacles", k), say)
    _unique(radio.obstacles, (*path, "obstacles"), say)
    _unique(radio.interference, (*path, "interference"), say)
    for k, one in enumerate(radio.interference):
        if one.lasts <= 0 or (one.every is not None and one.every <= one.lasts):
            remedy = "make lasts above zero, and every longer than it"
            say((*path, "interference", k, "lasts"), "it lasts no time, or until it comes again", remedy)
    return not found


def _closest(site: Site, radio: Radio) -> float:
    """The least horizontal distance over the travel (m)."""
    return min(horizontal(radio, x) for x in (0.0, min(radio.receiver_along, site.gate.travel), site.gate.travel))


def _losses(radio: Radio, path: TreePath, say: Say) -> None:
    if len(radio.losses) < 2:
        say((*path, "losses"), "frame loss over margin needs at least two points",
            "such as 0 dB with 50 % and 10 dB with 0 %")
    for k, (low, high) in enumerate(pairwise(radio.losses), 1):
        if not low.margin < high.margin:
            say((*path, "losses", k, "margin"), "the margins do not rise", "list the points from the worst margin on")
        if high.loss > low.loss:
            say((*path, "losses", k, "loss"), "more margin loses more frames", "loss falls, or stays, as margin rises")


def _obstacle(site: Site, radio: Radio, obstacle: Obstacle, path: TreePath, say: Say) -> None:
    if not obstacle.start < obstacle.end:
        say((*path, "end"), "its stretch of travel ends before it starts", "start counts from the closed stop")
    elif obstacle.start >= site.gate.travel:
        say((*path, "start"), "its stretch lies beyond the travel", f"travel is {_length(site.gate.travel)}")
    given = [name for name in ("loss", "height", "gap") if getattr(obstacle, name) is not None]
    if len(given) != 1:
        message = f"obstacle {clip(obstacle.name)} has {len(given)} of loss, height and gap"
        say(path, message, "give exactly one of them")
    if obstacle.loss is not None and obstacle.loss < 0:
        say((*path, "loss"), "an obstacle that strengthens the path", "give what it takes, as zero or more")
    if given in (["height"], ["gap"]):
        away = obstacle.from_receiver
        if away is None or away <= 0:
            say(path, f"obstacle {clip(obstacle.name)} stands nowhere", "give from_receiver, above zero")
        elif away >= 1e6 * max(horizontal(radio, x) for x in (obstacle.start, min(obstacle.end, site.gate.travel))):
            say((*path, "from_receiver"), "it stands beyond the transmitter, on its whole stretch",
                "make from_receiver shorter, or leave the obstacle out")


def _unique(entries: Sequence[object], path: TreePath, say: Say) -> None:
    names = [str(getattr(entry, "name", "")) for entry in entries]
    for k, name in enumerate(names):
        if name in names[:k]:
            say((*path, k, "name"), f"the name {clip(name)} stands here again", "names must differ")


def _worst(site: Site, radio: Radio) -> tuple[LinkAt, float]:
    """The place of least margin, and the loss there."""
    place = min(along(radio, site.gate.travel), key=lambda one: one.margin)
    return place, loss_of(tuple([(point.margin, point.loss) for point in radio.losses]), place.margin)


def _margins(site: Site, sender: Transmitter, radio: Radio, path: TreePath, warn: Say) -> None:
    worst, loss = _worst(site, radio)
    where = f"with the leaf at {worst.x / 1000:.0f} mm"
    if worst.margin < radio.fade_margin:
        remedy = "move or raise the receiver's antenna, clear the path, or state a smaller fade_margin with its reason"
        said = f"the margin of {clip(sender.name)} falls to {worst.margin:.1f} dB {where}"
        warn((*path, "fade_margin"), f"{said}, wanted are {radio.fade_margin:g} dB", remedy)
    if loss > WORTHLESS:
        said = f"{100 * loss:.0f} % of the frames of {clip(sender.name)} are lost {where}"
        warn((*path, "losses"), said, "better the path there")


def _rule(sender: Transmitter, path: TreePath, error: Say, warn: Say) -> None:
    if (sender.radio_rule is RadioRule.OWN) != (sender.own_rule is not None):
        error((*path, "radio_rule"), "radio_rule: own and an own_rule go together", "give both, or neither")
        return
    own = sender.own_rule
    if own is not None and (own.air_time <= 0 or own.window <= 0 or own.air_time > own.window):
        error((*path, "own_rule", "air_time"), "air_time does not fit into its window",
              "make both above zero, and window the longer")
        return
    rule = rule_of(sender)
    for breach in () if rule is None else breaches(rule, sender):
        warn((*path, breach.field), f"{clip(sender.name)}: {breach.message}", breach.remedy)
