"""What the leaf is doing now, and why, as far as events tell: shared by the monitors."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import Any

from gatesim import events as e
from gatesim.events import Command, Direction, Event, LeafName, Origin, Side
from gatesim.plant.dynamics import weakest_stop
from gatesim.plant.part import state
from gatesim.plant.site import Site
from gatesim.requirements.leaf_view import Elsewhere, Ends, anywhere, reaches_end
from gatesim.units import down, us

END = {Direction.OPENING: Side.OPEN, Direction.CLOSING: Side.CLOSED}
"""The end that a movement of each direction makes for."""
WAY = {
    Command.OPEN: Direction.OPENING,
    Command.HOLD_OPEN: Direction.OPENING,
    Command.CLOSE: Direction.CLOSING,
    Command.HOLD_CLOSE: Direction.CLOSING,
}
"""The direction that a command asks for."""
HOLDS = {Direction.OPENING: Command.HOLD_OPEN, Direction.CLOSING: Command.HOLD_CLOSE}


class Why(Enum):
    """Why the leaf moves."""

    START = "an automatic start"
    REVERSAL = "a reversal or relief"
    RESUMED = "going on after it waited for the other leaf"
    HOLD = "hold-to-run"
    PUSHED = "pushed from outside"
    SPRUNG = "sprung back from an obstruction"
    UNORDERED = "no order"


SEES: tuple[type, ...] = (
    e.MotionChanged,
    e.LeafStarted,
    e.LeafStopped,
    e.LeafPushed,
    e.OrdersChanged,
    e.CommandPressed,
    e.CommandReleased,
    e.CommandRefused,
    e.LimitReached,
    e.LimitLeft,
    e.PowerLost,
    e.ContactBegan,
    e.ContactEnded,
)
"""What `Driving` must be given."""
NEEDS: tuple[type, ...] = (e.LeafStarted, e.LeafStopped, e.OrdersChanged)
"""Those without which it is blind."""


@state
class Driving:
    """The leaf's motion, the controller's order, and the kind of each.

    An order against the last one, without a command for it and before the last one reached its own end, is a reversal;
    one
    that begins while its hold-to-run control is pressed is hold-to-run; any other is an automatic start.
    """

    direction: Direction | None = None
    why: Why | None = None
    """Of the present motion, or of the last one."""
    was: Direction | None = None
    """Direction of the last motion that ended."""
    order: Direction | None = None
    kind: Why | None = None
    """Of the present order, or of the last one."""
    last: Direction | None = None
    commanded: Direction | None = None
    completed: bool = False
    """Whether this leaf reached the last order's own end."""
    ended: bool = False
    """Whether the whole gate did."""
    leaf: LeafName | None = None
    """Which of two leaves this is; None: there is one."""
    ends: Ends | None = None
    """At which end each of two leaves is; None: there is one leaf."""
    other: Direction | None = None
    """Direction in which the other leaf moves."""
    begun: bool = False
    """Whether this leaf has started under the present order."""
    under_way: bool = False
    """Whether either of two leaves has."""
    leads: bool = True
    """Whether the gate's move began with this leaf's last start; a leaf that is alone always leads."""
    held: tuple[tuple[Command, Origin], ...] = ()
    touching: tuple[tuple[str, Direction], ...] = ()
    pushed_at: int = -1
    since: int = 0
    motion: tuple[float, float, float] = (0, 0, 0)
    """Place, speed and acceleration at `since` as they were told; they are rounded when they are asked for."""

    def see(self, at: int, event: Event) -> None:
        """Take over what an event says; events of other kinds say nothing."""
        takes = _TAKES.get(type(event))
        if takes is not None:
            takes(self, at, event)

    def _moves(self, at: int, event: e.MotionChanged) -> None:
        self.since, self.motion = at, (event.x, event.v, event.a)

    def _stopped(self, at: int, event: e.LeafStopped) -> None:
        self.was, self.direction = self.direction, None
        self.since, self.motion = at, (event.x, 0, 0)

    def _reached(self, at: int, event: e.LimitReached) -> None:
        own = self.last is not None and END[self.last] is event.side
        self.completed = self.completed or own
        # Run out past the switch after the order's end is no end reached: a reversal may be due.
        self.ended = self.ended or (own and self.order is not None and reaches_end(self.ends, event))
        if self.ends is not None:
            self.ends = (event.side, self.ends[1])

    def _left(self, at: int, event: e.LimitLeft) -> None:
        if self.ends is not None:
            self.ends = (None, self.ends[1])

    def _elsewhere(self, at: int, event: Elsewhere) -> None:
        """The other leaf: where it is and whether it moves."""
        inside = event.event
        if isinstance(inside, e.LeafStarted):
            self.other = inside.direction
            self.under_way = self.under_way or self.order is not None
        elif isinstance(inside, e.LeafStopped):
            self.other = None
        elif isinstance(inside, (e.LimitReached, e.LimitLeft)) and self.ends is not None:
            if self.order is not None and reaches_end(self.ends, event):
                self.ended = self.ended or (self.last is not None and END[self.last] is inside.side)
            self.ends = (self.ends[0], inside.side if isinstance(inside, e.LimitReached) else None)

    def _pushed(self, at: int, event: e.LeafPushed) -> None:
        self.pushed_at = at

    def _lost_power(self, at: int, event: e.PowerLost) -> None:
        self.order, self.commanded = None, None

    def _touched(self, at: int, event: e.ContactBegan) -> None:
        self.touching += ((event.obstruction, event.direction),)

    def _let_go(self, at: int, event: e.ContactEnded) -> None:
        self.touching = tuple(one for one in self.touching if one[0] != event.obstruction)

    def _pressed(self, at: int, event: e.CommandPressed) -> None:
        self.held += ((event.command, event.origin),)
        self.commanded = WAY.get(event.command, self.commanded)

    def _released(self, at: int, event: e.CommandReleased) -> None:
        self.held = tuple(one for one in self.held if one != (event.command, event.origin))

    def _refused(self, at: int, event: e.CommandRefused) -> None:
        if WAY.get(event.command) is self.commanded:
            self.commanded = None

    def _started(self, at: int, event: e.LeafStarted) -> None:
        direction = event.direction
        if self.direction is not None:
            self.was = self.direction
        self.direction = direction
        self.leads = self.ends is None or not self.under_way
        self.under_way = self.under_way or self.order is not None
        if self.pushed_at == at:
            self.why = Why.PUSHED
        elif self.order is not None:
            resumed = self.begun and self.ends is not None and self.kind is Why.START
            self.why, self.begun = Why.RESUMED if resumed else self.kind, True
        elif any(way is direction.other for _, way in self.touching):
            self.why = Why.SPRUNG
        else:
            self.why = Why.UNORDERED

    def _ordered(self, at: int, event: e.OrdersChanged) -> None:
        order = event.order
        if order is not None and order is not self.order:
            if any(command is HOLDS[order] for command, _ in self.held):
                self.kind = Why.HOLD
            elif self.last is order.other and not self.ended and self.commanded is not order:
                self.kind = Why.REVERSAL
            else:
                self.kind = Why.START
            self.last, self.commanded, self.completed, self.ended = order, None, False, False
            self.begun = self.under_way = False
        self.order = order

    @property
    def x(self) -> int:
        """The leaf's place at `since` (um)."""
        return us(self.motion[0])

    @property
    def v(self) -> int:
        """Its speed then (um/s)."""
        return us(self.motion[1] * 10**6)

    @property
    def a(self) -> int:
        """Its acceleration then (um/s2)."""
        return us(self.motion[2] * 10**12)

    @property
    def automatic(self) -> bool:
        """Whether the leaf moves by itself under an order or its run-out: a start (gone on with) or a reversal."""
        return self.direction is not None and self.why in (Why.START, Why.REVERSAL, Why.RESUMED)

    @property
    def driven(self) -> bool:
        """Whether it moves under an order (or its run-out) at all."""
        return self.automatic or (self.direction is not None and self.why is Why.HOLD)

    @property
    def resting(self) -> bool:
        """Whether the whole gate stands."""
        return self.direction is None and self.other is None

    def goes(self, direction: Direction) -> bool:
        """Whether any leaf moves in a direction by itself."""
        if self.automatic and self.direction is direction:
            return True
        return self.other is direction and self.kind in (Why.START, Why.REVERSAL)

    def holds(self, command: Command) -> tuple[Origin, ...]:
        """The origins from which a control is held."""
        return tuple(origin for one, origin in self.held if one is command)

    def position(self, now: int) -> int:
        """Where the leaf is (um), from whole figures, so that a written trace gives the same."""
        t, x, v, a = now - self.since, self.x, self.v, self.a
        return down(2 * x * 10**12 + 2 * v * t * 10**6 + a * t * t, 2 * 10**12)

    def speed(self, now: int) -> int:
        """How fast the leaf moves either way (um/s), rounded up, from whole figures as well."""
        return -down(-abs(self.v * 10**6 + self.a * (now - self.since)), 10**6)


_TAKES: dict[type, Callable[[Driving, int, Any], None]] = {
    e.MotionChanged: Driving._moves,
    e.LeafStarted: Driving._started,
    e.LeafStopped: Driving._stopped,
    e.OrdersChanged: Driving._ordered,
    e.LimitReached: Driving._reached,
    e.LimitLeft: Driving._left,
    e.LeafPushed: Driving._pushed,
    e.PowerLost: Driving._lost_power,
    e.ContactBegan: Driving._touched,
    e.ContactEnded: Driving._let_go,
    e.CommandPressed: Driving._pressed,
    e.CommandReleased: Driving._released,
    e.CommandRefused: Driving._refused,
    Elsewhere: Driving._elsewhere,
}


def is_fresh(event: Event) -> bool:
    """Whether an event is a command to move that somebody gives."""
    return isinstance(event, e.CommandPressed) and event.command in WAY and event.origin is not Origin.AUTOMATIC


def run_out(site: Site) -> int:
    """The distance in which the leaf stops from its greatest speed after the order's end (um): v d + v² / 2 a.

    Where its motion follows from forces, a is the least that the brake gives anywhere.
    """
    drive = site.drive
    v = max(drive.speed_opening, drive.speed_closing)
    return us(v * drive.stopping_delay + v * v / (2 * weakest_stop(site)))


def _is_reset(event: Event) -> bool:
    return isinstance(event, e.CommandReleased) and (event.command, event.origin) == (Command.RESET, Origin.WIRED)


DEMAND_SEES: tuple[type, ...] = (e.EdgeActuated, e.ForceTripped)
"""What `Demands` needs beside what `Driving` sees."""
_DEMANDS = frozenset({*DEMAND_SEES, e.LeafStarted, e.LimitReached, e.CommandReleased, Elsewhere})


@state
class Demands:
    """First and second demands, as they physically are.

    They are the gate's: of two leaves either will do.

    A demand: an edge ahead of a moving leaf actuated, or the force sensing's trip.  What the same side reports before
    the leaf
    has started the other way belongs to the same obstruction.  A movement is interrupted when it comes to rest after a
    demand, and
    stays so until its own end (`any_end`: any end) is reached, or a wired reset.
    """

    any_end: bool = False
    served: bool = False
    interrupted: Direction | None = None

    def see(self, driving: Driving, event: Event) -> str:
        """ "" or "first" or "second": what an event is, by what was before it.  Call it before `driving.see`."""
        if type(event) not in _DEMANDS:
            return ""
        inside = anywhere(event)
        if isinstance(inside, (e.EdgeActuated, e.ForceTripped)):
            return self._felt(driving, inside.direction)
        if isinstance(inside, e.LeafStarted):
            self.served = False
        elif isinstance(inside, e.LimitReached):
            if (
                self.interrupted is not None
                and not self.served
                and reaches_end(driving.ends, event)
                and (self.any_end or END[self.interrupted] is inside.side)
            ):
                self.interrupted = None
        elif _is_reset(event) and driving.resting:
            self.interrupted = None
        return ""

    def _felt(self, driving: Driving, direction: Direction) -> str:
        if not driving.goes(direction) or self.served:
            return ""
        self.served = True
        if self.interrupted is not None:
            return "second"
        self.interrupted = direction
        return "first"


@state
class Pressed:
    """The edges that are pressed now, with the direction that each guards."""

    edges: tuple[tuple[str, Direction], ...] = ()

    def see(self, event: Event) -> None:
        """Take over an event (`EdgeActuated`, `EdgeReleased`), of either leaf."""
        inside = anywhere(event)
        if isinstance(inside, e.EdgeActuated):
            self.edges += ((inside.edge, inside.direction),)
        elif isinstance(inside, e.EdgeReleased):
            self.edges = tuple(one for one in self.edges if one[0] != inside.edge)

    def on(self, direction: Direction) -> bool:
        """Whether one that guards a direction is."""
        return any(way is direction for _, way in self.edges)
