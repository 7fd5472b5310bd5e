"""Radio rule sets as data: how much a transmitter may send, and what a site's check-ins make of it.

Written in the manner of the clauses named, as far as their figures are known here, with how they are known.  They are
not the rules: local radio law, the equipment's own approval and its papers come first.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from gatesim.plant.radio_tables import OwnRule, RadioRule
from gatesim.plant.site import Transmitter

HOUR = 3_600_000_000


class RuleSet(NamedTuple):
    """The figures of a rule set (us, Hz); None or 0: it has no such figure."""

    name: str
    source: str
    air_time: int | None = None
    """Of supervision in each window."""
    window: int = HOUR
    longest: int | None = None
    """One transmission at most."""
    silence_factor: int = 0
    """Silence after a transmission: so many times its length,"""
    least_silence: int = 0
    """and at least this."""
    off_after: int | None = None
    """Off so long after an activation (a press reported) at the latest."""
    bands: tuple[tuple[float, float], ...] = ()

    def silence(self, air: float) -> float:
        """How long the transmitter is silent after a transmission of this length, at least."""
        return max(self.silence_factor * air, self.least_silence)

    def least_period(self, air: float) -> float:
        """The shortest period of check-ins of this length that the rule set allows, nothing else being sent."""
        spread = 0.0 if self.air_time is None else air * self.window / self.air_time
        return max(spread, air + self.silence(air))

    def longest_message(self, period: float) -> float:
        """The longest check-in that one every `period` may have, nothing else being sent; 0: none at all."""
        found = [period] if self.longest is None else [period, float(self.longest)]
        if self.air_time is not None:
            found.append(self.air_time * period / self.window)
        found += [period / (1 + self.silence_factor), period - self.least_silence]
        return max(0.0, min(found))


ACTIVATED = RuleSet(
    "47 CFR 15.231(a)", "47 CFR 15.231(a), 2021 revision, read: (2) off within 5 s, (3) supervision 2 s an hour",
    air_time=2_000_000, off_after=5_000_000, bands=((40.66e6, 40.70e6), (70e6, float("inf"))))
PERIODIC = RuleSet(
    "47 CFR 15.231(e)", "47 CFR 15.231(e), read in a copy: at most 1 s on air, then 30 times that and 10 s silent",
    longest=1_000_000, silence_factor=30, least_silence=10_000_000)
SHIPPED = {RadioRule.ACTIVATED: ACTIVATED, RadioRule.PERIODIC: PERIODIC}


def rule_of(node: Transmitter) -> RuleSet | None:
    """The rule set that a transmitter is said to follow."""
    if node.radio_rule is RadioRule.OWN:
        return None if node.own_rule is None else _own(node.own_rule)
    return None if node.radio_rule is None else SHIPPED[node.radio_rule]


def _own(given: OwnRule) -> RuleSet:
    return RuleSet("the site's own", given.source, given.air_time, given.window, given.longest_transmission,
                   given.silence_factor, given.least_silence)


class Breach(NamedTuple):
    """A field of a transmitter that does not keep to its rule set, in words, and what would."""

    field: str
    message: str
    remedy: str


def breaches(rule: RuleSet, node: Transmitter) -> Iterator[Breach]:
    """What a transmitter's settings alone show; how many moves are made is for the plan's sums."""
    air, name = node.air_time, rule.name
    if rule.longest is not None and air > rule.longest:
        yield Breach("air_time", f"a frame is longer than {name} allows", f"at most {_ms(rule.longest)}")
    for field in ("checkin_at_rest", "checkin_in_motion"):
        # A rule without silence limits the hour, in which moves are few: there only the check-ins at rest are certain.
        least = rule.least_period(air) if field == "checkin_at_rest" else air + rule.silence(air)
        if getattr(node, field) < least:
            longest = rule.longest_message(getattr(node, field))
            remedy = f"a period of at least {_ms(least)}" + (f", or an air_time of at most {_ms(longest)}" if longest
                                                             else "")
            yield Breach(field, f"check-ins come more often than {name} allows", remedy)
    if node.event_repeats > 1 and node.event_spacing < air + rule.silence(air) and rule.silence(air) > 0:
        yield Breach("event_spacing", f"repeats come sooner than {name} allows",
                     f"at least {_ms(air + rule.silence(air))}, or no repeats")
    active = (node.event_repeats - 1) * node.event_spacing + air
    if rule.off_after is not None and active > rule.off_after:
        yield Breach("event_repeats", f"a change is sent for longer than {name} allows",
                     f"within {_ms(rule.off_after)}")
    if rule is ACTIVATED and rule.air_time is not None and node.supervision_budget > rule.air_time:
        yield Breach("supervision_budget", f"supervision_budget is larger than {name} allows",
                     f"at most {_ms(rule.air_time)} an hour")
    if node.radio is not None and rule.bands and not any(low <= node.radio.frequency <= high
                                                          for low, high in rule.bands):
        yield Breach("radio", f"{node.radio.frequency / 1e6:g} MHz lies outside the bands of {name}",
                     "40.66 to 40.70 MHz, or above 70 MHz")


def _ms(us: float) -> str:
    return f"{us / 1000:.3f} ms" if us < 1_000_000 else f"{us / 1e6:g} s"
