"""Check-ins, air time and lost links of a transmitter, as sums of its site figures."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.errors import BadUsage
from gatesim.events import Direction
from gatesim.plant.leaves import as_leaf, delay_of, leaf_of_input, leaves
from gatesim.plant.motion import Ramp, move
from gatesim.plant.site import LearnsMotion, Monitoring, ReceiverTable, Site, Transmitter

HOUR = 3_600_000_000
DAY = 24 * HOUR

RADIO_RULES = "47 CFR 15.231(a)(3): supervision at most 2 s an hour per transmitter, any number of messages"
BUDGET = 2_000_000
"""Air time of supervision in an hour (us): 47 CFR 15.231(a)(3)."""


@dataclass(frozen=True, slots=True)
class Frames:
    """Supervision frames in an hour with the assumed moves, events (presses) left out."""

    at_rest: float
    in_motion: float
    at_starts: float
    """One at once when the transmitter learns that the gate moves."""
    answers: float
    """To the test before each move."""

    @property
    def total(self) -> float:
        return self.at_rest + self.in_motion + self.at_starts + self.answers


@dataclass(frozen=True, slots=True)
class Misses:
    """How many check-ins in a row may be lost before the watchdog takes the link for lost.

    The bound is T >= k P + J + D for k - 1 misses: check-ins on an absolute grid, lateness does not add up.
    """

    watchdog: int
    period: int
    jitter: int
    delay: int
    """Greatest latency (us)."""

    @property
    def losses_to_trip(self) -> int:
        """k; 0: it trips though nothing is lost."""
        return max(0, (self.watchdog - self.jitter - self.delay) // self.period)

    @property
    def tolerated(self) -> int:
        """k - 1; -1: it trips though nothing is lost."""
        return self.losses_to_trip - 1


def travel_time(site: Site, direction: Direction) -> float:
    """From the first motion to the stop ahead, over the whole travel (us).

    Of two leaves: until the last of them is there, the delay of the one that follows included.
    """
    return max(delay_of(site, one.leaf, direction) + _alone(as_leaf(site, one.leaf), direction)
               for one in leaves(site))


def _alone(site: Site, direction: Direction) -> float:
    drive, travel = site.drive, site.gate.travel
    opens = direction is Direction.OPENING
    ramp = Ramp(drive.speed_opening if opens else drive.speed_closing, drive.slow_speed, drive.slow_zone,
                drive.acceleration, drive.deceleration)
    last = move(0.0, 0.0 if opens else travel, 0.0, direction.sign, travel, ramp)[-1]
    left = travel - last.x if opens else last.x
    return last.t + left / abs(last.v)


def frames_an_hour(site: Site, node: Transmitter, moves: float) -> Frames:
    """Frames of supervision in an hour with `moves` moves over the whole travel, opening and closing in turn.

    Raises BadUsage where so many moves do not fit into an hour.
    """
    moving = moves * (travel_time(site, Direction.OPENING) + travel_time(site, Direction.CLOSING)) / 2
    if moves < 0 or moving > HOUR:
        most = int(HOUR * moves // moving) if moving > 0 else 0
        raise BadUsage(f"{moves:g} moves an hour: must be between 0 and {most}, more do not fit" if most else
                       f"{moves:g} moves an hour: must be 0 or more")
    asked = node.monitoring is Monitoring.BEFORE_EACH_MOVE
    return Frames((HOUR - moving) / node.checkin_at_rest, moving / node.checkin_in_motion, moves, moves if asked else 0)


def longest_frame(period: int, budget: int = BUDGET) -> float:
    """The longest supervision frame (us) that one every `period` us may have under a budget of air time an hour."""
    return budget * period / HOUR


def misses_at_rest(node: Transmitter, receiver: ReceiverTable) -> Misses:
    return Misses(receiver.watchdog_at_rest, node.checkin_at_rest, node.checkin_jitter, greatest_delay(node))


def misses_in_motion(node: Transmitter, receiver: ReceiverTable) -> Misses:
    return Misses(receiver.watchdog_in_motion, node.checkin_in_motion, node.checkin_jitter, greatest_delay(node))


def greatest_delay(node: Transmitter) -> int:
    """From sending to hearing, at most (us)."""
    return node.latency + node.latency_spread


def false_lost_links_a_day(misses: Misses, loss: float) -> float:
    """Mean number of links a day taken for lost at rest though the path stands, each frame lost for itself.

    Check-ins a day over the mean run to k losses in a row, (1 - p^k) / (q p^k) (Feller).  Bursts make it worse.
    """
    k = misses.losses_to_trip
    if k == 0 or loss >= 1:
        return DAY / misses.period
    if loss <= 0:
        return 0.0
    return DAY / misses.period * (1 - loss) * loss**k / (1 - loss**k)


def learns_start(site: Site, node: Transmitter) -> int:
    """From the order until the first check-in of a move is heard, at most (us)."""
    if node.learns_motion is LearnsMotion.TOLD:
        return node.latency + greatest_delay(node)
    drive = as_leaf(site, leaf_of_input(site, node.name)).drive
    return drive.start_delay + node.feel_delay + greatest_delay(node)


def changeover(node: Transmitter) -> int:
    """Longest gap (us) between two check-ins heard when a move ends and no frame is lost.

    Check-ins in motion go on until the transmitter learns of the standstill, the one at rest follows a period later.
    """
    return node.checkin_in_motion + node.checkin_at_rest + node.checkin_jitter + greatest_delay(node)
