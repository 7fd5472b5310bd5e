"""From a site's `radio` table to the margin along the travel: free space, ground, obstacles.

Worked out when a site is loaded; a run reads the finished table.  Lengths here are metres, frequencies hertz, losses
and gains dB.  Sources stand beside each formula, with how they are known.
"""

from __future__ import annotations

import cmath
import math
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from gatesim.events import Direction
from gatesim.plant.radio_tables import Obstacle, Radio

LIGHT = 299_792_458.0
"""Speed of light (m/s), exact."""

STEP = 10_000.0
"""The margin is tabled at least every 10 mm of travel, straight between (ours: a wavelength at 1 GHz is 300 mm)."""

DIGITS = 6
"""Decimals of the tabled margin (dB): coarse against the last digit in which platforms differ."""

CLEAR = -0.78
"""At this nu and below a knife edge takes nothing (ITU-R P.526, clause 4.1, from memory)."""


def wavelength(frequency: float) -> float:
    """Of a frequency in vacuum (m)."""
    return LIGHT / frequency


def free_space_loss(frequency: float, distance: float) -> float:
    """20 log10(4 pi d f / c): the exact form of 32.4 + 20 log f(MHz) + 20 log d(km) (ITU-R P.525, read)."""
    return 20 * math.log10(4 * math.pi * distance / wavelength(frequency))


def ray_lengths(distance: float, transmitter: float, receiver: float) -> tuple[float, float]:
    """Direct and ground-reflected ray over a horizontal distance, with the two antenna heights."""
    return math.hypot(distance, transmitter - receiver), math.hypot(distance, transmitter + receiver)


def ground_gain(frequency: float, distance: float, transmitter: float, receiver: float, reflection: float) -> float:
    """What the ground ray adds to the direct one (dB; negative where they work against each other).

    Two rays with their whole difference of path, reflection factor -`reflection` (path difference: a course's worked
    problem, read in a copy; both antennas take both rays alike: ours).
    """
    direct, reflected = ray_lengths(distance, transmitter, receiver)
    turn = 2 * math.pi * (reflected - direct) / wavelength(frequency)
    return 20 * math.log10(abs(1 - reflection * direct / reflected * cmath.exp(-1j * turn)))


def last_null(frequency: float, transmitter: float, receiver: float) -> float:
    """Distance at which the ground ray is a wavelength longer: its last null; 0 where it has none.

    From sqrt(d^2 + (ht + hr)^2) - sqrt(d^2 + (ht - hr)^2) = lambda (the factor's sign is minus).
    """
    wave = wavelength(frequency)
    direct = (4 * transmitter * receiver - wave * wave) / (2 * wave)
    return math.sqrt(max(0.0, direct * abs(direct) - (transmitter - receiver) ** 2))


def last_crest(frequency: float, transmitter: float, receiver: float) -> float:
    """Where it is half a wavelength longer, beyond which two rays only fall: 4 ht hr / lambda (textbooks' short form,
    from memory)."""
    return 4 * transmitter * receiver / wavelength(frequency)


def fresnel_radius(frequency: float, near: float, far: float, number: int = 1) -> float:
    """Radius of the n-th Fresnel zone, sqrt(n lambda d1 d2 / (d1 + d2)) (ITU-R P.526-8, eq. 3, read)."""
    return math.sqrt(number * wavelength(frequency) * near * far / (near + far))


def knife_edge_loss(nu: float) -> float:
    """6.9 + 20 log10(sqrt((nu - 0.1)^2 + 1) + nu - 0.1) above -0.78, else nothing (ITU-R P.526, 4.1, from memory)."""
    if nu <= CLEAR:
        return 0.0
    return max(0.0, 6.9 + 20 * math.log10(math.hypot(nu - 0.1, 1) + nu - 0.1))


class Shadow(NamedTuple):
    """One obstacle with the leaf at a place: what it takes, and how it stands to the first Fresnel zone."""

    name: str
    loss: float
    radius: float | None
    """Of the first zone there (m); None where only the loss is known."""
    reach: float | None
    """How far it reaches over the straight line (m); negative: it stays that far clear."""


class LinkAt(NamedTuple):
    """The link budget with the leaf at a place (um; the rest m, dB, dBm)."""

    x: float
    distance: float
    free_space: float
    ground: float
    shadows: tuple[Shadow, ...]
    received: float
    margin: float


def horizontal(radio: Radio, x: float) -> float:
    """Horizontal distance of the antennas (m) with the leaf at x (um)."""
    along = radio.receiver_along - x if radio.receiver_lies is Direction.OPENING else radio.receiver_along + x
    return math.hypot(along, radio.receiver_aside) / 1e6


def shadow(radio: Radio, obstacle: Obstacle, distance: float) -> Shadow | None:
    """What an obstacle takes of a path of this horizontal length (m); None where it stands beyond the path."""
    if obstacle.loss is not None:
        return Shadow(obstacle.name, obstacle.loss, None, None)
    far = (obstacle.from_receiver or 0.0) / 1e6
    if not 0 < far < distance:
        return None
    if obstacle.height is not None:
        line = radio.receiver_height + (radio.transmitter_height - radio.receiver_height) * far / distance
        reach = (obstacle.height - line) / 1e6
    else:
        reach = -(obstacle.gap or 0.0) / 1e6
    radius = fresnel_radius(radio.frequency, distance - far, far)
    # nu = h sqrt(2 (d1 + d2) / (lambda d1 d2)) is the reach in radii of the first zone, times the root of 2.
    return Shadow(obstacle.name, knife_edge_loss(math.sqrt(2) * reach / radius), radius, reach)


def link_at(radio: Radio, x: float) -> LinkAt:
    """The link budget with the leaf at x (um).  Losses of several obstacles are added (ours, on the careful side)."""
    distance, up, down = horizontal(radio, x), radio.transmitter_height / 1e6, radio.receiver_height / 1e6
    direct = ray_lengths(distance, up, down)[0]
    free = free_space_loss(radio.frequency, direct)
    ground = ground_gain(radio.frequency, distance, up, down, radio.ground_reflection)
    shadows = tuple([
        found for one in radio.obstacles if one.start <= x <= one.end
        and (found := shadow(radio, one, distance)) is not None
    ])
    gains = radio.transmit_power + radio.transmitter_gain + radio.receiver_gain
    received = gains - free + ground - sum(one.loss for one in shadows)
    return LinkAt(x, distance, free, ground, shadows, received, received - radio.sensitivity)


@lru_cache(maxsize=64)
def along(radio: Radio, travel: float) -> tuple[LinkAt, ...]:
    """The link budget at equal steps from closed to open."""
    count = max(1, math.ceil(travel / STEP))
    return tuple([link_at(radio, travel * k / count) for k in range(count + 1)])


class Link(NamedTuple):
    """What a run needs of a link budget: only sums, products and comparisons are left to do.

    `margins`: at equal `step`s of travel (um), straight between; `points`: (margin, loss), margins rising;
    `interference`: (begins, lasts, every or 0, takes), us and dB.
    """

    step: float
    margins: tuple[float, ...]
    points: tuple[tuple[float, float], ...]
    interference: tuple[tuple[int, int, int, float], ...]

    def margin_at(self, x: float, now: float) -> float:
        """The margin with the leaf at x at an instant."""
        last = len(self.margins) - 1
        place = min(max(x / self.step, 0.0), float(last))
        k = min(int(place), last - 1)
        margin = self.margins[k] + (self.margins[k + 1] - self.margins[k]) * (place - k)
        for begins, lasts, every, takes in self.interference:
            since = now - begins
            if since >= 0 and (since % every if every else since) < lasts:
                margin -= takes
        return margin

    def loss_at(self, x: float, now: float, taken: float = 0.0) -> float:
        """The chance that a frame sent with the leaf at x is lost, so many dB of margin being taken by a fault."""
        return loss_of(self.points, self.margin_at(x, now) - taken)


def loss_of(points: tuple[tuple[float, float], ...], margin: float) -> float:
    """Frame loss at a margin: straight between points, level beyond the first and last."""
    if margin <= points[0][0]:
        return points[0][1]
    for (low, most), (high, least) in pairwise(points):
        if margin <= high:
            return most + (least - most) * (margin - low) / (high - low)
    return points[-1][1]


def link_of(radio: Radio, travel: float) -> Link:
    """The finished table of a link budget over a travel (um)."""
    places = along(radio, travel)
    return Link(
        travel / (len(places) - 1), tuple([round(place.margin, DIGITS) for place in places]),
        tuple([(point.margin, point.loss) for point in radio.losses]),
        tuple([(one.begins, one.lasts, one.every or 0, one.takes) for one in radio.interference]))
