"""Check-ins, air time and lost links of a transmitter, as sums of its site figures."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.errors import BadUsage
from gatesim.events import Direction, LeafName
from gatesim.field.nuisance import Path, exact_frames_to_trip
from gatesim.plant.clocks import greatest_error, losses_to_trip, slowest
from gatesim.plant.driven import Driven
from gatesim.plant.dynamics import dynamics_of
from gatesim.plant.leaves import as_leaf, delay_of, leaf_of_input, leaves
from gatesim.plant.motion import Pieces, Ramp, at, marks, move
from gatesim.plant.radio_tables import JitterReading
from gatesim.plant.site import LearnsMotion, Monitoring, ReceiverTable, Site, Transmitter
from gatesim.plant.solve import solve

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

    The bound (plant/clocks.py) is k P (1 + d1) + J + D <= T (1 - d2) for k - 1 misses, check-ins on an absolute grid;
    k (P (1 + d1) + J) + D <= T (1 - d2) where lateness adds up.
    """

    watchdog: int
    period: int
    jitter: int
    delay: int
    """Greatest latency (us)."""
    adds_up: bool = False
    sender_error: float = 0.0
    """Greatest size of the transmitter's clock error, and of the receiver's."""
    receiver_error: float = 0.0

    @property
    def losses_to_trip(self) -> int:
        """k; 0: it trips though nothing is lost."""
        return losses_to_trip(self.watchdog, self.period, self.jitter, self.delay, self.adds_up, self.sender_error,
                              self.receiver_error)

    @property
    def tolerated(self) -> int:
        """k - 1; -1: it trips though nothing is lost."""
        return self.losses_to_trip - 1


def travel_time(site: Site, direction: Direction) -> float:
    """From the first motion to the stop ahead, over the whole travel (us).

    Of two leaves: from the first motion of the one that leads until the last of them is there.  What the leaf on top
    may wait at the overlap while closing is left out.
    """
    return max(_follows_by(site, one.leaf, direction) + _whole_move(as_leaf(site, one.leaf), direction)[1]
               for one in leaves(site))


def _follows_by(site: Site, leaf: LeafName, direction: Direction) -> float:
    """How long after the first motion of the leaf that leads this one starts (us): its delay is over, and while opening
    the leaf on top is as far open as the overlap."""
    second, delay = site.second_leaf, delay_of(site, leaf, direction)
    if second is None or (leaf is second.opens_first) is (direction is Direction.OPENING):
        return 0.0
    leads, follows = (as_leaf(site, one) for one in (leaf.other, leaf))
    free = 0.0
    if direction is Direction.OPENING:
        free = marks(1, (second.overlap,), _whole_move(leads, direction)[0], 0.0).due
    return max(delay - leads.drive.start_delay, free) + follows.drive.start_delay


def _whole_move(site: Site, direction: Direction) -> tuple[Pieces, float]:
    """The pieces of it, and when it is over."""
    drive, travel = site.drive, site.gate.travel
    opens, forces = direction is Direction.OPENING, dynamics_of(site)
    if forces is not None:
        ramp = Driven(drive, forces).ramp(direction.sign, False)
        solved = solve(forces, (), 0.0, 0.0 if opens else travel, 0.0, direction.sign, ramp)
        return solved.pieces, solved.t
    ramp = Ramp(drive.speed_opening if opens else drive.speed_closing, drive.slow_speed, drive.slow_zone,
                drive.acceleration, drive.deceleration)
    pieces = move(0.0, 0.0 if opens else travel, 0.0, direction.sign, travel, ramp)
    last = pieces[-1]
    left = travel - last.x if opens else last.x
    return pieces, last.t + left / abs(last.v)


def leaf_at_check_ins(site: Site, node: Transmitter, direction: Direction) -> tuple[float, ...]:
    """Where the leaf stands at each check-in of a whole move (um), the one at once at its start included."""
    pieces, time = _whole_move(as_leaf(site, leaf_of_input(site, node.name)), direction)
    return tuple([at(pieces, k * node.checkin_in_motion)[0] for k in range(int(time // node.checkin_in_motion) + 1)])


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
    return _misses(node, receiver, receiver.watchdog_at_rest, node.checkin_at_rest)


def misses_in_motion(node: Transmitter, receiver: ReceiverTable) -> Misses:
    return _misses(node, receiver, receiver.watchdog_in_motion, node.checkin_in_motion)


def _misses(node: Transmitter, receiver: ReceiverTable, watchdog: int, period: int) -> Misses:
    return Misses(watchdog, period, node.checkin_jitter, greatest_delay(node),
                  node.jitter_reading is JitterReading.ADDS_UP, greatest_error(node.clock),
                  greatest_error(receiver.clock))


def greatest_delay(node: Transmitter) -> int:
    """From sending to hearing, at most (us)."""
    return node.latency + node.latency_spread


def false_lost_links_a_day(misses: Misses, loss: Path | float) -> float:
    """Mean number of links a day taken for lost at rest though the path stands; a number is a loss without bursts.

    Check-ins a day over the mean number of them to k losses in a row (nuisance.py).
    """
    if misses.losses_to_trip == 0:
        return DAY / misses.period
    frames = exact_frames_to_trip(loss if isinstance(loss, Path) else Path(loss), misses.losses_to_trip)
    return DAY / misses.period / frames if frames else 0.0


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
    periods = slowest(node.checkin_in_motion + node.checkin_at_rest, node.clock)
    return periods + node.checkin_jitter + greatest_delay(node)
