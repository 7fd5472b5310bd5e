"""What physically is, as far as events tell, and the laws that must hold in every instant.

Nothing here asks what the controller believes: energised is what reaches the drive, a demand is a closed strip.
"""

from __future__ import annotations

from typing import Any

from gatesim import events as e
from gatesim.events import Command, Direction, Event, Lockout, Origin, Side
from gatesim.plant.site import Site, Transmitter
from gatesim.requirements.driving import END, WAY
from gatesim.units import FOREVER

HOLDS = (Command.HOLD_OPEN, Command.HOLD_CLOSE)
RESET = (Command.RESET, Origin.WIRED)
READ_BACK = 100_000
"""A welded contactor is found so long after the order's end, and the main shut-off opens (docs/timing.md, 8), us."""


class Truth:
    """Follows a run and raises AssertionError at the first broken law."""

    def __init__(self, site: Site) -> None:
        self.site = site
        ways = {zone.name: zone.direction for zone in site.zones}
        self.guards = {edge.name: ways[edge.zone] for edge in site.edges}
        self.nodes: dict[str, Transmitter] = {node.name: node for node in site.transmitters}
        self.node_of = {edge.name: self.nodes[edge.input] for edge in site.edges}
        drive = site.drive
        fastest = max(drive.speed_opening, drive.speed_closing)
        self.stop_time = drive.stopping_delay + fastest / drive.stopping_deceleration + 1_000
        self.run_out = fastest * drive.stopping_delay + fastest**2 / (2 * drive.stopping_deceleration)
        self.asked_lasts = site.controller.test_time + site.controller.stop_limit + 500_000
        self.energised: Direction | None = None
        self.kind = ""
        self.since: float = -FOREVER
        self.ended: float = -FOREVER
        self.last: Direction | None = None
        self.asked: dict[Direction, float] = {}
        self.held: set[tuple[Command, Origin]] = set()
        self.back_until: float = -FOREVER
        self.stopped_at: float = -FOREVER
        self.felt = dict.fromkeys(Direction, -FOREVER)
        """When an edge or the force sensing last felt anything on each side."""
        self.actuated: dict[str, float] = {}
        self.frames = dict.fromkeys(self.nodes, 0)
        self.healthy_from = dict.fromkeys(self.guards, FOREVER)
        self.active: dict[str, tuple[str, float]] = {}
        """Fault key -> (kind's id, since)."""
        self.devices: dict[str, str] = {}
        self.locked = ""
        self.locked_at: float = 0
        self.stored = False
        self.relief_from: float | None = None
        self.relieved = False
        self.interrupted: Direction | None = None
        self.interrupted_at: float = -FOREVER
        self.reset_at: float = -FOREVER
        self.x = site.leaf_at

    # --- the limits -----------------------------------------------------------------------------------------

    def cut_off(self) -> float:
        """From the order's end to nothing energised: at once, or over the main shut-off."""
        return READ_BACK if any(kind == "contactor-welded" for kind, _ in self.active.values()) else 0

    def press_limit(self, edge: str) -> float:
        """From a closed strip to the order's end: the scans, then the longest way of the first frame.

        No repeats: in these runs the radio loses nothing of its own accord.
        """
        node = self.node_of[edge]
        return node.debounce * node.sampling + node.latency + node.latency_spread

    def open_limit(self, edge: str) -> float:
        """From an open loop to the order's end."""
        node = self.node_of[edge]
        return node.fault_debounce * node.sampling + node.latency + node.latency_spread

    def silence_limit(self, edge: str) -> float:
        """From the cut of the path (or the order, if later) to the order's end: frames in flight, then the watchdog."""
        node = self.node_of[edge]
        receiver = self.site.receiver
        assert receiver is not None
        return node.latency + node.latency_spread + receiver.watchdog_in_motion

    # --- what the machine does itself -----------------------------------------------------------------------

    def fault(self, key: str, kind: str, device: str, now: float) -> None:
        """A fault begins."""
        self.active[key], self.devices[key] = (kind, now), device
        for edge in self._behind(device):
            self.healthy_from[edge] = FOREVER
            self.frames[self.node_of[edge].name] = -(10**9)

    def heal(self, key: str) -> None:
        """A fault ends; its devices count as healthy after two more frames."""
        del self.active[key]
        self.devices.pop(key)
        self._renew()

    def _behind(self, device: str) -> list[str]:
        """The edges whose reports pass through a device (all, unless it belongs to some)."""
        own = [edge for edge, node in self.node_of.items() if device in (edge, node.name)]
        drive = device in ("force sensing", *(way.value for way in Direction), *(side.value for side in Side))
        return own or ([] if drive else list(self.guards))

    def _renew(self) -> None:
        ill = {self.node_of[edge].name for device in self.devices.values() for edge in self._behind(device)}
        self.frames = {name: count if count >= 0 and name not in ill else -(10**9) if name in ill else 0
                       for name, count in self.frames.items()}

    # --- events ---------------------------------------------------------------------------------------------

    def see(self, now: float, events: list[Event]) -> None:
        """Take everything that happened in one instant, then hold the laws."""
        kinds = {type(event) for event in events}
        refused_reset = any(type(event) is e.CommandRefused and event.command is Command.RESET for event in events)
        for event in events:
            self._one(now, event, kinds, refused_reset)
        for edge, since in self.actuated.items():
            if self.energised is self.guards[edge]:
                start = max(since, self.healthy_from[edge], self.since)
                late = now - start - self.cut_off()
                assert late <= self.press_limit(edge), f"ordered on against {edge!r}, pressed since {since}"
        for key, (kind, since) in self.active.items():
            limit = {"loop-open": self.open_limit, "lost-link": self.silence_limit}.get(kind)
            if limit is None or self.kind != "start" or self.energised is None:
                continue
            for edge in self._behind(self.devices[key]):
                if self.guards[edge] is self.energised:
                    late = now - max(since, self.since) - self.cut_off()
                    assert late <= limit(edge), f"ordered on with {kind} at {edge!r} since {since}"

    def _one(self, now: float, event: Any, kinds: set[type], refused_reset: bool) -> None:
        match event:
            case e.EdgeActuated():
                self.actuated[event.edge] = self.felt[event.direction] = now
            case e.ForceTripped():
                self.felt[event.direction] = now
            case e.EdgeReleased():
                self.felt[event.direction] = now
                self.actuated.pop(event.edge, None)
            case e.FrameSent():
                self._frame(now, event.transmitter)
            case e.ContactorsChanged():
                self._contactors(now, event, kinds)
            case e.CommandPressed():
                self._pressed(now, event)
            case e.CommandReleased():
                self.held.discard((event.command, event.origin))
                if (event.command, event.origin) == RESET:
                    self._reset(now, refused_reset)
            case e.CommandRefused():
                if event.command in WAY:
                    self.asked.pop(WAY[event.command], None)
            case e.PowerLost() | e.PowerReturned():
                self._power(now)
            case e.OrdersChanged():
                if event.lockout in (Lockout.ENTRAPMENT, Lockout.DRIVE) and not self.locked:
                    self._lock(now, event.lockout.value)
            case e.StoreWritten():
                self.stored = self.stored or event.lockout in (Lockout.ENTRAPMENT, Lockout.DRIVE)
            case e.LimitReached():
                if self.interrupted is not None and END[self.interrupted] is event.side:
                    self.interrupted = None
            case e.MotionChanged():
                self.x = event.x
            case _:
                pass

    def _frame(self, now: float, transmitter: str) -> None:
        self.frames[transmitter] += 1
        if self.frames[transmitter] == 2:
            for edge, node in self.node_of.items():
                if node.name == transmitter:
                    self.healthy_from[edge] = now + node.latency + node.latency_spread

    def _pressed(self, now: float, event: e.CommandPressed) -> None:
        self.held.add((event.command, event.origin))
        if (event.command, event.origin) == RESET:
            self.reset_at = now
        elif event.command is Command.STOP:
            self.asked, self.stopped_at = {}, now
        elif event.command in WAY:
            self.asked[WAY[event.command]] = now

    def _power(self, now: float) -> None:
        self.asked, self.back_until = {}, -FOREVER
        written = self.site.controller.store_write
        if self.locked and not self.stored and now - self.locked_at <= written:
            self.locked = ""
        if now - self.interrupted_at <= written:
            self.interrupted = None
        self.frames = {name: min(count, 0) for name, count in self.frames.items()}
        self.healthy_from = dict.fromkeys(self.guards, FOREVER)
        self._renew()

    def _lock(self, now: float, why: str) -> None:
        self.locked, self.locked_at, self.stored, self.relieved = why, now, False, False

    def _reset(self, now: float, refused: bool) -> None:
        self.interrupted = None
        if now - self.reset_at <= self.site.controller.reset_window:
            self.locked = ""
        if not refused:
            self.asked, self.back_until = {}, -FOREVER

    # --- energised ------------------------------------------------------------------------------------------

    def _contactors(self, now: float, event: e.ContactorsChanged, kinds: set[type]) -> None:
        if event.opening and event.closing:
            welded = any(kind == "contactor-welded" for kind, _ in self.active.values())
            assert welded, "both directions are energised"
        was = self.energised
        way = (None if event.opening is event.closing
               else Direction.OPENING if event.opening else Direction.CLOSING)
        if way is was:
            return
        self.energised = way
        if was is not None:
            self._ends(now, was, kinds)
        if way is not None:
            self._begins(now, way)

    def _begins(self, now: float, way: Direction) -> None:
        hold = Command.HOLD_OPEN if way is Direction.OPENING else Command.HOLD_CLOSE
        if self.locked:
            relief = not self.relieved and self.locked != Lockout.DRIVE.value and self._may_go_back(now, way)
            assert relief, f"driven in a lockout ({self.locked}) without a reset"
            self.relieved, self.kind, self.relief_from = True, "relief", self.x
        elif (hold, Origin.WIRED) in self.held and now - self.asked.pop(way, -FOREVER) <= self.asked_lasts:
            self.kind = "hold"
        elif now - self.asked.get(way, -FOREVER) <= self.asked_lasts:
            self.kind = "either" if self._may_go_back(now, way) else "start"
        else:
            assert self._may_go_back(now, way), f"{way.value} without a command"
            self.kind = "reversal"
        self.asked.pop(way, None)
        self.since, self.last, self.back_until = now, way, -FOREVER

    def _ends(self, now: float, was: Direction, kinds: set[type]) -> None:
        self.ended = now
        by_itself = not kinds & {e.CommandPressed, e.LimitReached, e.PowerLost}
        if not kinds & {e.LimitReached, e.PowerLost} and self.kind != "hold":
            self.back_until = now + self.stop_time + self.site.controller.reversal_dwell + 5_000
        if self.kind in ("start", "either", "reversal") and by_itself and not self.active and self._sure(now, was):
            if self.interrupted is not None and not self.locked:
                self._lock(now, "second demand")
            self.interrupted, self.interrupted_at = was, now

    def _may_go_back(self, now: float, way: Direction) -> bool:
        """Whether this can be the way back from what ended the last order: after a stop, only if something was felt."""
        if self.last is None or way is self.last or now > self.back_until:
            return False
        pressed = any(self.guards[edge] is self.last for edge in self.actuated)
        return self.stopped_at < self.ended or pressed or self.felt[self.last] > self.ended - 100_000

    def _sure(self, now: float, was: Direction) -> bool:
        """Whether an edge ahead has been closed for so long that its report has stopped the leaf."""
        for edge, since in self.actuated.items():
            node = self.node_of[edge]
            least = (node.debounce - 1) * node.sampling + node.latency
            if self.guards[edge] is was and now - max(since, self.healthy_from[edge]) >= least:
                return True
        return False
