"""The leaf's motion, solved and never stepped: pieces of constant acceleration and what follows from them.

A plan is a tuple of `Piece`, never empty; each holds until the next begins and the last holds for ever.  No piece
passes through v = 0: every turn and every stand begins a piece.  Units are those of `gatesim.units` (us, um, um/us,
um/us^2).  A *sign* is +1 for opening and -1 for closing.  Only + - * / and `sqrt` are used on times and positions.
"""

from __future__ import annotations

from bisect import bisect_right
from math import sqrt as _root
from operator import itemgetter
from typing import NamedTuple

from gatesim.events import Direction
from gatesim.plant.wires import Piece
from gatesim.units import FOREVER

Pieces = tuple[Piece, ...]
_BEGIN = itemgetter(0)


class Ramp(NamedTuple):
    """How a drive moves the leaf: speeds, the length of the slow zone ahead, and its two accelerations (all >= 0)."""

    target: float
    slow: float
    zone: float
    acceleration: float
    deceleration: float


def sqrt(square: float) -> float:
    """The one place where roots of times and positions come from; a number that is traced knows its own."""
    if square.__class__ is float or square.__class__ is int:
        return _root(square)
    return square.root()  # type: ignore[attr-defined, no-any-return]


# --- asking a plan ------------------------------------------------------------------------------------------------


def rest(t: float, x: float) -> Pieces:
    """Standing at x from t on."""
    return (Piece(t, x, 0.0, 0.0),)


def index_at(pieces: Pieces, t: float) -> int:
    """Which piece holds at t: the last that has begun (the first, before all)."""
    index = len(pieces) - 1
    if index > 8:  # a long plan, as forces make them
        index = bisect_right(pieces, t, key=_BEGIN) - 1
    while index > 0 and pieces[index].t > t:
        index -= 1
    return index if index > 0 else 0


def at(pieces: Pieces, t: float) -> tuple[float, float]:
    """Position (um) and speed (um/us, positive opening) at t."""
    piece = pieces[index_at(pieces, t)]
    since = t - piece.t
    return piece.x + (piece.v + piece.a * since / 2) * since, piece.v + piece.a * since


def heading(piece: Piece) -> int:
    """+1 while the piece opens, -1 while it closes, 0 at rest."""
    if piece.v > 0 or (piece.v == 0 and piece.a > 0):
        return 1
    return -1 if piece.v < 0 or piece.a < 0 else 0


def heading_at(pieces: Pieces, t: float) -> int:
    """The heading from t on."""
    return heading(pieces[index_at(pieces, t)])


def direction_of(sign: int) -> Direction | None:
    """The direction of a heading."""
    if sign == 0:
        return None
    return Direction.OPENING if sign > 0 else Direction.CLOSING


def next_turn(pieces: Pieces, t: float) -> float:
    """The first instant after t at which the heading changes; FOREVER if it never does."""
    index = index_at(pieces, t)
    now = heading(pieces[index])
    for piece in pieces[index + 1:]:
        if heading(piece) != now:
            return piece.t
    return FOREVER


def first_crossing(pieces: Pieces, x: float, after: float, sign: int, beyond: bool = False) -> float:
    """The first instant, not before `after`, at which the leaf moves with `sign` and is at x or past it that way.

    Coming to stand exactly at x counts, unless `beyond`: then the instant from which the leaf is past x.  A leaf at
    rest, or moving the other way, crosses nothing, wherever it is: so a rounding in the last digit of a place just
    reached can never undo what was reached.  FOREVER if there is none.
    """
    last = len(pieces) - 1
    for index in range(index_at(pieces, after), last + 1):
        piece = pieces[index]
        if heading(piece) != sign:
            continue
        since = after if after > piece.t else piece.t
        if (at((piece,), since)[0] - x) * sign >= 0:
            return since
        if index < last:
            left = (pieces[index + 1].x - x) * sign
            if left < 0 or (beyond and left == 0):
                continue
            if left == 0:
                return pieces[index + 1].t
        found = _reaches(piece, x, sign)
        if index < last and found > pieces[index + 1].t:
            found = pieces[index + 1].t
        if found < FOREVER:
            return found if found > since else since
    return FOREVER


def _reaches(piece: Piece, x: float, sign: int) -> float:
    """When a piece alone, moving with sign, comes to x ahead of its start; FOREVER if it would turn before."""
    way, speed = (x - piece.x) * sign, piece.v * sign
    square = speed * speed + 2 * piece.a * sign * way
    if square < 0:
        return FOREVER
    both = speed + sqrt(square)
    return piece.t + 2 * way / both if both > 0 else piece.t  # both is 0 only where the way is next to nothing


class Marks(NamedTuple):
    """Places on the leaf's way in one direction, and how many of them it has passed.

    `at` in the order in which a leaf moving with `sign` meets them; a place counts as passed when it is reached and
    until the leaf is back beyond it.  At `due` the count changes by `step`.
    """

    sign: int
    at: tuple[float, ...]
    passed: int
    due: float = FOREVER
    step: int = 0


def marks(sign: int, places: tuple[float, ...], pieces: Pieces, now: float) -> Marks:
    """Marks as the leaf stands to them now."""
    x = at(pieces, now)[0]
    passed = 0
    while passed < len(places) and (x - places[passed]) * sign >= 0:
        passed += 1
    return _armed(Marks(sign, places, passed), pieces, now)


def settle(given: Marks, pieces: Pieces, now: float) -> Marks:
    """The marks at `now` under the plan that holds from now on (what was due under the last has happened)."""
    while given.due <= now:
        given = _armed(given._replace(passed=given.passed + given.step), pieces, now)
    return _armed(given, pieces, now)


def _armed(given: Marks, pieces: Pieces, now: float) -> Marks:
    due, step = FOREVER, 0
    if given.passed < len(given.at):
        due, step = first_crossing(pieces, given.at[given.passed], now, given.sign), 1
    if given.passed > 0:
        back = first_crossing(pieces, given.at[given.passed - 1], now, -given.sign, beyond=True)
        if back < due:
            due, step = back, -1
    return Marks(given.sign, given.at, given.passed, due, step)


# --- making a plan ------------------------------------------------------------------------------------------------


def onward(pieces: Pieces, now: float) -> Pieces:
    """What is left of a plan, beginning at `now`."""
    index = index_at(pieces, now)
    x, v = at(pieces, now)
    return (Piece(now, x, v, pieces[index].a), *pieces[index + 1:])


def _to_speed(t: float, x: float, w: float, sign: int, to: float, rate: float) -> tuple[list[Piece], float, float]:
    """One ramp from speed w to speed `to`: its piece (none if nothing changes), and when and where it ends."""
    if to == w:
        return [], t, x
    a = rate if to > w else -rate
    return ([Piece(t, x, w * sign, a * sign)], t + (to - w) / a, x + sign * (to * to - w * w) / (2 * a))


def move(t: float, x: float, v: float, sign: int, travel: float, ramp: Ramp) -> Pieces:
    """A move under drive from speed v (with `sign`, or 0) at t: ramp, cruise, slowing before the slow zone, creep.

    It creeps for ever: obstructions and the end stop are `halt` and `cut`'s business.
    """
    w = v * sign
    free = (travel - x if sign > 0 else x) - ramp.zone
    top, slow, up, down = ramp.target, ramp.slow, ramp.acceleration, ramp.deceleration
    speeds, cruise = [top if top < slow else slow], 0.0
    if free > 0 and top > slow:
        # The speed at which speeding up from w and slowing to the creep speed at the zone's beginning meet.
        square = (2 * up * down * free + down * w * w + up * slow * slow) / (up + down)
        if square > w * w and square > slow * slow:
            if square > top * top:
                peak = top  # no root where none is needed
                rate = up if top > w else down
                cruise = (free - abs(top * top - w * w) / (2 * rate) - (top * top - slow * slow) / (2 * down))
            else:
                peak = sqrt(square)
            speeds = [peak, slow]
    made: list[Piece] = []
    for number, speed in enumerate(speeds):
        ramped, t, x = _to_speed(t, x, w, sign, speed, up if speed > w else down)
        made += ramped
        w = speed
        if number == 0 and cruise > 0:
            made.append(Piece(t, x, w * sign, 0.0))
            t, x = t + cruise / w, x + sign * cruise
    return (*made, Piece(t, x, w * sign, 0.0))


def stop(t: float, x: float, v: float, delay: float, deceleration: float) -> Pieces:
    """Coming to rest: speed v for `delay`, then constant deceleration; distance v d + v^2 / 2a.

    Without any deceleration the leaf runs on.
    """
    if v == 0:
        return rest(t, x)
    sign = 1 if v > 0 else -1
    made: list[Piece] = []
    if delay > 0 or deceleration <= 0:
        made.append(Piece(t, x, v, 0.0))
        t, x = t + delay, x + v * delay
    if deceleration <= 0:
        return tuple(made)
    made.append(Piece(t, x, v, -sign * deceleration))
    return (*made, Piece(t + v * sign / deceleration, x + sign * v * v / (2 * deceleration), 0.0, 0.0))


def push(t: float, x: float, sign: int, distance: float, speed: float, rate: float) -> Pieces:
    """From rest to rest over `distance`, not faster than `speed`, with +-rate."""
    if distance <= 0 or speed <= 0:
        return rest(t, x)
    end = x + sign * distance
    cruise = distance - speed * speed / rate
    if cruise <= 0:
        speed = sqrt(rate * distance)
    ramp, way = speed / rate, speed * speed / (2 * rate)
    made = [Piece(t, x, 0.0, sign * rate)]
    t, x = t + ramp, x + sign * way
    if cruise > 0:
        made.append(Piece(t, x, sign * speed, 0.0))
        t, x = t + cruise / speed, x + sign * cruise
    made.append(Piece(t, x, sign * speed, -sign * rate))
    return (*made, Piece(t + ramp, end, 0.0, 0.0))


def cut(pieces: Pieces, x: float, sign: int) -> Pieces:
    """The plan, but moving with `sign` the leaf stands at once at x (where it is, if it is past x already)."""
    t = first_crossing(pieces, x, pieces[0].t, sign)
    if not t < FOREVER:
        return pieces
    before, here = _before(pieces, t, x, sign)
    return _stand(before, t, here)


def _before(pieces: Pieces, t: float, x: float, sign: int) -> tuple[Pieces, float]:
    """The pieces begun before t, and the place then: exactly x, unless the leaf only starts there, past x."""
    before = tuple([piece for piece in pieces if piece.t < t])
    if before and heading(before[-1]) == sign:
        return before, x
    here = at(pieces, t)[0]
    return before, here if (here - x) * sign > 0 else x


def _stand(before: Pieces, t: float, x: float) -> Pieces:
    return before if before and heading(before[-1]) == 0 else (*before, Piece(t, x, 0.0, 0.0))


def halt(pieces: Pieces, begin: float, sign: int, give: float,
         stand: float | None = None) -> tuple[Pieces, Piece | None]:
    """The plan, but from `begin` on, moving with `sign`, brought to rest with constant deceleration.

    Over the distance `give` (us) times the speed there, or at `stand`.  A plan that stops by itself no later holds.
    Returns the plan and its piece of bringing up (None where there is none).
    """
    t = first_crossing(pieces, begin, pieces[0].t, sign)
    if not t < FOREVER:
        return pieces, None
    before, x = _before(pieces, t, begin, sign)
    v = at(pieces, t)[1]
    way = v * sign * give if stand is None else (stand - x) * sign
    if v == 0 or not way > 0:
        return _stand(before, t, x), None
    end = x + way * sign if stand is None else stand
    brought = Piece(t + 2 * way / (v * sign), end, 0.0, 0.0)
    if heading(pieces[-1]) == 0 and pieces[-1].t <= brought.t:
        return pieces, None
    slowing = Piece(t, x, v, -sign * v * v / (2 * way))
    return (*before, slowing, brought), slowing
