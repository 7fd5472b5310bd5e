"""Clock errors of transmitters and receiver, and the watchdog's bound that they enter.

An error of +e makes a period P last P (1 + e).  The bound, for no trip though k - 1 check-ins in a row are lost, with
period P, jitter J, spread of the delay D, watchdog T, error d1 of the transmitter and d2 of the receiver, either way:

    k P (1 + d1) + J + D <= T (1 - d2)            jitter on an absolute grid
    k (P (1 + d1) + J) + D <= T (1 - d2)          jitter that adds up

(derived, and tried with several model checkers; no published source).
"""

from __future__ import annotations

from itertools import pairwise

from gatesim.plant.radio_tables import Clock

PARTS = 1_000_000_000
"""Errors are taken in whole parts of this, so that the bound is exact in whole numbers."""


def error_at(clock: Clock | None, temperature: float) -> float:
    """The error of a clock at a temperature (degC), the cell being good."""
    if clock is None:
        return 0.0
    return clock.error + _by_temperature(clock, temperature)


def _by_temperature(clock: Clock, temperature: float) -> float:
    points = clock.temperatures
    if not points:
        return 0.0
    if temperature <= points[0].at:
        return points[0].error
    for low, high in pairwise(points):
        if temperature <= high.at:
            return low.error + (high.error - low.error) * (temperature - low.at) / (high.at - low.at)
    return points[-1].error


def greatest_error(clock: Clock | None) -> float:
    """The greatest size that the error can have, over its temperatures and with a low battery."""
    if clock is None:
        return 0.0
    by_temperature = [point.error for point in clock.temperatures] or [0.0]
    sums = [clock.error + one + low for one in by_temperature for low in (0.0, clock.low_battery)]
    return max(abs(one) for one in sums)


def in_parts(error: float) -> int:
    """An error in whole parts of `PARTS`."""
    return round(error * PARTS)


def stretched(us: int, error: float) -> int:
    """A limit as a device with this error keeps it, in whole microseconds."""
    return us if error == 0 else round(us * (1 + error))


def slowest(us: int, clock: Clock | None) -> int:
    """A limit at the slowest that the clock can be, rounded up."""
    return -(-us * (PARTS + in_parts(greatest_error(clock))) // PARTS)


def fastest(us: int, clock: Clock | None) -> int:
    """A limit at the fastest that the clock can be, rounded down."""
    return us * (PARTS - in_parts(greatest_error(clock))) // PARTS


def losses_to_trip(
    watchdog: int, period: int, jitter: int, delay: int, adds_up: bool = False, sender: float = 0.0,
    receiver: float = 0.0
) -> int:
    """The greatest k that the bound allows (0: none): so many losses in a row trip the watchdog.

    Times in us; `sender` and `receiver` the size of their clock errors.
    """
    each = period * (PARTS + in_parts(sender)) + (jitter * PARTS if adds_up else 0)
    left = watchdog * (PARTS - in_parts(receiver)) - delay * PARTS - (0 if adds_up else jitter * PARTS)
    return max(0, left // each)


def least_watchdog(
    losses: int, period: int, jitter: int, delay: int, adds_up: bool = False, sender: float = 0.0,
    receiver: float = 0.0
) -> int:
    """The shortest watchdog (us) that needs so many losses in a row to trip."""
    each = period * (PARTS + in_parts(sender)) + (jitter * PARTS if adds_up else 0)
    needed = losses * each + delay * PARTS + (0 if adds_up else jitter * PARTS)
    return -(-needed // (PARTS - in_parts(receiver)))
