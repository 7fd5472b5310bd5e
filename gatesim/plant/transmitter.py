"""A battery transmitter on the moving leaf: scans its loops, sends frames (docs/timing.md, sections 5 and 6).

What the specification leaves open is settled here and nowhere else:

- Nothing is sent before the first scan since power-up; a frame that falls due earlier goes out with that scan.
- The draw of a check-in's lateness is made when the one before it is sent (the first at power-up).
- A stretched check-in clock counts from the next period that begins.
- A request counts as heard, and is echoed, from the scan that answers it.  A request numbered 0 takes it back.
- The loaded voltage is measured in each frame's burst; the classifier sees it at the first scan strictly later.
- A cell whose voltage without load is under the dead voltage leaves the node without power: no scans, nothing heard.
  (A loaded voltage under it only keeps frames from being sent.)
- A fresh cell, or power that comes back, starts the node anew: new session, counters from 0, standstill believed.
  Scans and check-ins keep their absolute grids.  The battery flags are kept and handed to the classifier's `start`,
  which alone may let them go, at a press seen.
- A check-in due in the instant in which standstill is learnt is dropped: the grid restarts there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import BatteryFlagged, CellFell, FrameSent, Level, LevelChanged, Stimulus
from gatesim.plant import wires
from gatesim.plant.cell import CellFitted, Drain, loaded, mean_current
from gatesim.plant.clocks import error_at
from gatesim.plant.edges.scanner import Image, Scanner, ScannerState, kept_flags, scanner_of
from gatesim.plant.given import Given
from gatesim.plant.logic.contract import Frame
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, owned, state
from gatesim.plant.radio_tables import JitterReading
from gatesim.plant.site import LearnsMotion, Site, Transmitter
from gatesim.units import FOREVER

JITTER, SESSION = 0, 1
"""Streams."""

UPLINK, DRAIN = 0, 1
"""Output wires."""

SESSIONS = 1 << 16


@state
class TransmitterState:
    """What changes in a transmitter."""

    scan: ScannerState = owned()
    fitted: int
    """Cells fitted when it last started; -1 before the first start."""
    alive: bool
    """Whether the cell keeps it running."""
    session: int
    counter: int
    """Of the next frame."""
    moving: bool
    """What it believes."""
    clock: float
    """Stretch of the check-in clock."""
    grid: float
    """When the next check-in is due."""
    send: float
    """When it is sent."""
    repeats: int
    repeat: float
    """When the next repeat of a change is due."""
    asked: int
    """The last request that arrived."""
    answer: int
    """The last request answered by a scan."""
    cell_mv: float | None
    """Loaded voltage, as measured in the last burst."""
    sent: float
    """When the last frame was sent."""
    fell_low: bool
    fell_critical: bool
    still: tuple[Any, ...] | None
    """The inputs with which nothing but check-ins is left to be done; None where there is more, or was."""


@dataclass(frozen=True, slots=True)
class TransmitterPart:
    """One transmitter."""

    node: Transmitter
    scanner: Scanner
    counter_bits: int

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 40
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.node.name

    def reads(self) -> tuple[Wire, ...]:
        name = self.node.name
        motion = (wires.MotionFelt(name),) if self.node.learns_motion is LearnsMotion.FELT else ()
        loops = tuple([wires.Code(band.edge) for band in self.scanner.settings.bands])
        return (wires.ReferenceCode(name), wires.ScanClock(name), wires.CheckInClock(name), wires.CellTerminals(name),
                CellFitted(name), wires.ToldMotion(name), *loops, *motion)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        rest = mean_current(self.node, self.node.checkin_at_rest)
        return ((wires.Uplink(self.node.name), ()), (Drain(self.node.name), rest))

    def streams(self) -> tuple[str, ...]:
        return (f"check-in jitter of {self.node.name}", f"session of {self.node.name}")

    def initial(self) -> TransmitterState:
        return TransmitterState(
            scan=self.scanner.initial(), fitted=-1, alive=True, session=0, counter=0, moving=False, clock=1.0, grid=0.0,
            send=0.0, repeats=0, repeat=FOREVER, asked=0, answer=0, cell_mv=None, sent=-1.0, fell_low=False,
            fell_critical=False, still=None,
        )

    def react(self, state: TransmitterState, now: float, seen: tuple[Any, ...], out: Out) -> float:
        if seen == state.still:
            measured = state.cell_mv
            self._frames(state, now, False, False, state.send <= now, seen[3], out)
            if state.cell_mv == measured:
                return state.send if state.send < state.repeat else state.repeat
        else:
            self._live(state, now, seen, out)
            if not state.alive:
                return FOREVER
        scan = self.scanner.due(state.scan, now, (self._codes(seen), seen[0], state.cell_mv))
        if not state.scan.ready:
            return scan
        state.still = seen if scan == FOREVER and not seen[5] else None
        return min(scan, state.send, state.repeat)

    def _codes(self, seen: tuple[Any, ...]) -> tuple[int, ...]:
        return seen[6:6 + len(self.scanner.settings.bands)]

    def _live(self, state: TransmitterState, now: float, seen: tuple[Any, ...], out: Out) -> None:
        """All that there can be to do in an instant."""
        reference, running, clock, cell, fitted, told = seen[:6]
        self._watch_cell(state, cell, out)
        if cell.open_voltage < self.node.cell.dead_voltage:
            state.alive, state.still = False, None
            return
        if fitted != state.fitted or not state.alive:
            self._power_up(state, now, fitted, out)
        self._learn(state, now, clock, told, seen[-1], out)
        due = state.send <= now
        self.scanner.run(state.scan, now, running)
        changed = self._scan(state, now, (self._codes(seen), reference, state.cell_mv), out)
        answers = self.scanner.answered(state.scan)
        if answers:
            state.answer = state.asked
        if state.scan.ready:
            self._frames(state, now, changed, answers, due, cell, out)

    def _power_up(self, s: TransmitterState, now: float, fitted: int, out: Out) -> None:
        again = s.fitted >= 0
        kept = kept_flags(s.scan) if again else None
        # Never the session before: a counter that starts at 0 would else look like a very old one.
        s.session = (s.session + 1 + out.draw(SESSION, SESSIONS - 1)) % SESSIONS
        self.scanner.power_up(s.scan, now, kept)
        if again:
            self._pass_over(s, now, out)
        else:
            self._regrid(s, self.node.checkin_phase, out)
        # `asked` stays: a motion message that repeats a request's number is not that request.
        s.fitted, s.alive, s.counter, s.moving, s.answer = fitted, True, 0, False, 0
        s.repeats, s.repeat, s.cell_mv, s.sent = 0, FOREVER, None, -1.0
        out.put(DRAIN, mean_current(self.node, self._period(s)))

    def _watch_cell(self, s: TransmitterState, cell: wires.Cell, out: Out) -> None:
        """Say when the cell's loaded voltage falls under a figure: a physical fact, whatever the node makes of it."""
        voltage = loaded(cell, self.node.burst_current)
        low, critical = voltage < self.node.cell.low_voltage, voltage < self.node.cell.critical_voltage
        if low and not s.fell_low:
            out.event(CellFell(self.node.name, "low"))
        if critical and not s.fell_critical:
            out.event(CellFell(self.node.name, "critical"))
        s.fell_low, s.fell_critical = low, critical

    def _period(self, s: TransmitterState) -> float:
        period = self.node.checkin_in_motion if s.moving else self.node.checkin_at_rest
        return period if s.clock == 1.0 else period * s.clock

    def _regrid(self, s: TransmitterState, due: float, out: Out) -> None:
        """The next check-in is due at this instant, and sent up to the jitter later."""
        s.grid = due
        jitter = self.node.checkin_jitter
        s.send = due + out.draw(JITTER, jitter + 1) if jitter > 0 else due

    def _pass_over(self, s: TransmitterState, now: float, out: Out) -> None:
        """Go on along the grid to the first check-in that lies ahead."""
        adds_up = self.node.jitter_reading is JitterReading.ADDS_UP
        while s.send <= now:
            self._regrid(s, (s.send if adds_up else s.grid) + self._period(s), out)

    def _learn(
        self, s: TransmitterState, now: float, clock: float, told: tuple[wires.Told, ...], felt: Any, out: Out
    ) -> None:
        """Hear what was told, feel what is felt; motion learnt moves the check-in grid."""
        moving = felt if self.node.learns_motion is LearnsMotion.FELT else s.moving
        for message in told:
            if self.node.learns_motion is LearnsMotion.TOLD:
                moving = message.moving
            if message.ask != s.asked:
                s.asked = message.ask
                if message.ask > 0:
                    self.scanner.force(s.scan, now)
                else:
                    s.answer = 0
        if moving == s.moving and clock == s.clock:
            return
        begins = moving and not s.moving
        ends = s.moving and not moving
        s.moving, s.clock = moving, clock
        if begins:
            s.grid = s.send = now
        elif ends:
            self._regrid(s, now + self._period(s), out)
        out.put(DRAIN, mean_current(self.node, self._period(s)))

    def _scan(self, s: TransmitterState, now: float, image: Image, out: Out) -> bool:
        """Make the scan of this instant, if it matters; whether a frame must say what came of it."""
        was_ready, levels, low, critical = s.scan.ready, s.scan.levels, s.scan.low, s.scan.critical
        if not self.scanner.scan(s.scan, now, image):
            return False
        say_levels(self.scanner, levels, s.scan.levels, out)
        flagged = False
        for flag, was, is_now in (("low", low, s.scan.low), ("critical", critical, s.scan.critical)):
            if is_now and not was:
                out.event(BatteryFlagged(self.node.name, flag))
                flagged = True
        return flagged or not was_ready or levels != s.scan.levels

    def _frames(
        self, s: TransmitterState, now: float, changed: bool, answers: bool, due: bool, cell: wires.Cell, out: Out
    ) -> None:
        """Send the frame of this instant, if there is a reason; one frame for all reasons."""
        why = ""
        if due:
            why = "check-in" if s.sent < now else ""
            self._pass_over(s, now, out)
        if s.repeat <= now:
            why = "repeat"
            s.repeats -= 1
            s.repeat = s.repeat + self.node.event_spacing if s.repeats > 0 else FOREVER
        if answers:
            why = "answer"
        if changed:
            why = "change"
            s.repeats = self.node.event_repeats - 1
            s.repeat = now + self.node.event_spacing if s.repeats > 0 else FOREVER
        if why:
            self._send(s, now, why, cell, out)

    def _send(self, s: TransmitterState, now: float, why: str, cell: wires.Cell, out: Out) -> None:
        node, scan = self.node, s.scan
        s.cell_mv = loaded(cell, node.burst_current)
        s.sent = now
        samples = self.scanner.sent(scan, now)
        if s.cell_mv < node.cell.dead_voltage:
            return
        out.event(FrameSent(node.name, s.counter, samples, scan.levels, why))
        out.put(UPLINK, Frame(node.identity, s.session, s.counter, samples, scan.levels, scan.low, scan.critical,
                              s.answer))
        s.counter = (s.counter + 1) % (1 << self.counter_bits)


def say_levels(scanner: Scanner, before: tuple[Level, ...], after: tuple[Level, ...], out: Out) -> None:
    """Record every level that was taken over."""
    for k, edge in enumerate(scanner.edges):
        if after[k] is not before[k]:
            out.event(LevelChanged(edge, after[k]))


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A transmitter each, with its two clocks."""
    bits = site.receiver.counter_bits if site.receiver is not None else 8
    for node in site.transmitters:
        edges = [edge for edge in site.edges if edge.input == node.name]
        scanner = scanner_of(node, edges, node.cell.low_voltage, node.cell.critical_voltage, bench.classifier,
                             error_at(node.clock, site.coldest))
        yield Given(wires.ScanClock(node.name), True, node.name)
        if node.clock is None:
            yield Given(wires.CheckInClock(node.name), 1.0, node.name)
        yield TransmitterPart(node, scanner, bits)
