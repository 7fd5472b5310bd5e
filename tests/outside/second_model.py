"""Second simulator, part two: loops, transmitters, radio, receiver, wired inputs, supply, faults, and the run.

Written from docs/timing.md and the controller's rules alone.  `second_simulator.py` (A) makes every scan an event;
`second_simulator_on_change.py` (B) computes scans only when something changes; all else is shared by both, so that
A and B check the scans against each other and nothing more.

Names in the trace (time in us unrounded, name, device):
    touch, left                  device: the obstruction
    actuated, released           the edge (its contact strip, pressed by an obstruction or a hand)
    level <text>                 the edge; taken over by the transmitter's or wired input's classifier
    fresh, not fresh             the transmitter; at the receiver
    beam <text>                  the beam; what its input reports (see `second_beam.py`)
    force trip                   the direction
    order opening | closing | none, started opening | closing, stopped, limit closed, limit open,
    lockout <text>, alarm, main open, main closed       device ""
    refused                      the command ("automatic" for an automatic closing)

Not modelled: draws (jitter, spread and loss must be 0, else NotImplementedError), a new cell as a step, batteries
that run down (no flags; a dead cell is a fault), pairing (ignored), a dip of the operator's own supply, faults of
limit switches, travel sensor, force sensing and receiver.

Readings: where the specification was open
 1  A check-in, and any frame, is sent after a scan of the same instant and carries its number and levels.
 2  A check-in due before the first scan is not sent: there is nothing to say.
 3  The first scan is "a level taken over": it sends event frames (and shows `level ...`).
 4  Where debounce and chatter limit are met by one scan, the debounced level is taken.
 5  A check-in due in the very instant in which standstill is learnt is dropped (the grid restarts there).
 6  "Learns" what it already knows: nothing happens.
 7  A cut path cuts what the transmitter sends; what the receiver sends still arrives.  No motion message is sent as
    the power goes.
 8  Frames carry the number of a request only from the scan that answers it on, so a check-in between does not answer.
 9  The first frame heard after the receiver started makes the device heard and fresh; a change of session does not.
10  The first frame of a new session gives its levels, arms nothing.
11  A wired input that powers up again keeps the absolute grid of its scans; so does a transmitter with a new cell.
12  An obstruction counts only for the direction in which its zone closes.
13  "If an already ordered slowing would stop it sooner": the earlier standstill, delay included.  De-energised while
    being brought up: likewise.
14  Energised against an obstruction that it cannot move: counts as brought up from the moment of energising.
15  Several obstructions at once: the force sensing feels each alone (no sum).
16  At the run's start position is known, nothing is heard, no limit switch "closes" by being closed.
17  An obstruction that leaves a stalled leaf: the leaf starts as from standstill (start delay).
18  A push back by a released brake counts as a start in that direction and as standstill after.
19  A coasting leaf coasts from the loss of supply on, even where it was stopping already, and on after its return.
20  Frame levels with an unchanged scan number: the worse of old and new.
21  A loss of power says no "not fresh"; the first frame heard after its return says "fresh" anew.
22  A push of a leaf that moves already has no effect; at an obstruction it ends at first touch.
23  A dead cell stops scans and check-ins; with a new one the levels start anew and are those of a new session.
For the controller's readings see `second_controller.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from math import ceil, floor
from typing import Any, NamedTuple

import second_beam
import simpy
from second_controller import Controller
from second_leaf import DELIVER, DRIVE, EXPIRE, HEAR, SCAN, SEND, STIMULUS, Clock, Leaf, Process, Say

Trace = list[tuple[float, str, str]]
SEVERITY = {"at rest": 0, "pressed": 1, "above band": 2, "open": 3, "reading invalid": 4}
FAULTS = {
    name: name
    for name in (
        "loop open", "loop short", "link lost", "cell dead", "sampler dead", "converter frozen", "contactor welded",
        *second_beam.FAULTS,
    )
}  # fmt: skip
"""The fault kinds; `simulate(faults=...)` maps a file's own words to these.  A welded contactor's device is its
direction."""


class Loop:
    """An edge's loop at a converter, and its classifier (sections 4 and 5)."""

    def __init__(self, edge: Any, device: Any, say: Say) -> None:
        self.edge, self.device, self.say = edge, device, say
        self.pressed_by: set[str] = set()
        self.fault: str | None = None
        self.frozen: int | None = None
        self.restart()
        self.low, self.high, self.open = (self.code(r) for r in (edge.band_low, edge.band_high, edge.open_above))

    def restart(self) -> None:
        self.level: str | None = None
        self.last: str | None = None
        self.row = 0
        self.score = 0

    def code(self, ohm: float) -> int:
        top: int = 2**self.device.converter_bits - 1
        return floor(top * ohm / (ohm + float(self.device.pull_up)) + 0.5)

    def ohm(self) -> float:
        e = self.edge
        if self.fault is not None:
            return 1e9 if self.fault == "loop open" else 0.0
        parallel = e.termination * e.contact_resistance / (e.termination + e.contact_resistance)
        return float(e.wire_resistance + (parallel if self.pressed_by else e.termination))

    def reading(self) -> str:
        code = self.code(self.ohm()) if self.frozen is None else self.frozen
        if code < self.low:
            return "pressed"
        if code >= self.open:
            return "open"
        return "above band" if code > self.high else "at rest"

    def scan(self) -> bool:
        """One scan; whether a level was taken over."""
        reads = self.reading()
        self.row = self.row + 1 if reads == self.last else 1
        self.last = reads
        if reads == "at rest":
            self.score = max(0, self.score - 1)
        elif self.level == "at rest":
            self.score += 2
        needed = self.device.debounce if reads in ("at rest", "pressed") else self.device.fault_debounce
        takes: str | None = None
        if reads != self.level and (self.level is None or self.row >= needed):
            takes = reads
        elif self.level == "at rest" and self.score >= self.device.chatter_limit:
            takes = "reading invalid"
        if takes is None:
            return False
        if self.level == "reading invalid":
            self.score = 0
        self.level = takes
        self.say(f"level {takes}", self.edge.name)
        return True

    def skip(self, scans: int) -> None:
        """Scans that were not computed because they read what the level already is."""
        if self.last == "at rest":
            self.score = max(0, self.score - scans)

    @property
    def settled(self) -> bool:
        return self.reading() == self.level


class Device:
    """What a transmitter and a wired input have in common: loops and scans."""

    def __init__(self, env: Clock, site: Any, table: Any, say: Say) -> None:
        self.env, self.table, self.name, self.say = env, table, table.name, say
        self.loops = [Loop(e, table, say) for e in site.edges if e.input == table.name]
        self.phase: int = table.sampling_phase
        self.sampling: int = table.sampling
        self.running = True
        self.sampler = True
        self.lazy = False
        self.number = 0
        """Number of the last scan."""
        self.asked: tuple[int, float] | None = None
        self.woken: simpy.Event = env.event()

    def time_of(self, n: int) -> int:
        return self.phase + n * self.sampling

    @property
    def scanning(self) -> bool:
        return self.running and self.sampler

    @property
    def settled(self) -> bool:
        return self.asked is None and all(loop.settled for loop in self.loops)

    def _before(self) -> int:
        """How many scans of the grid lie before this instant."""
        return max(0, ceil((self.env.now - self.phase) / self.sampling))

    def scans_done(self) -> int:
        """The number of the last scan by now, for a sender that stands after the scan in the instant."""
        if self.lazy and self.scanning:
            return max(0, floor((self.env.now - self.phase) / self.sampling) + 1)
        return self.number

    def stir(self) -> None:
        """Something changed that the next scan may see."""
        if not self.woken.triggered:
            self.woken.succeed()

    def catch_up(self, number: int) -> None:
        """B only: the scans up to that number read what the levels already were."""
        if number > self.number:
            for loop in self.loops:
                loop.skip(number - self.number)
            self.number = number

    def set_scanning(self, *, sampler: bool | None = None, running: bool | None = None) -> None:
        before = self.scanning
        if self.lazy and before:
            self.catch_up(self._before())
        self.sampler = self.sampler if sampler is None else sampler
        self.running = self.running if running is None else running
        if self.lazy and not before and self.scanning:
            self.number = self._before()
        self.stir()

    def restart(self) -> None:
        self.set_scanning(running=True)
        self.asked = None
        for loop in self.loops:
            loop.restart()

    def scan(self, number: int) -> None:
        self.number = number
        taken = [loop for loop in self.loops if loop.scan()]
        answers = self.asked is not None and self.env.now > self.asked[1]
        self.scanned(bool(taken), answers)
        if answers:
            self.asked = None

    def scanned(self, taken: bool, answers: bool) -> None:
        raise NotImplementedError


def scans_each(device: Device) -> Process:
    """A: every scan is an event."""
    n = 0
    while True:
        yield device.env.at(device.time_of(n), SCAN)
        n += 1
        if device.scanning:
            device.scan(n)


def scans_on_change(device: Device) -> Process:
    """B: scans are computed from a change until every level is what is read."""
    env = device.env
    device.lazy = True
    while True:
        n = max(device.number, ceil((env.now - device.phase) / device.sampling))
        yield env.at(device.time_of(n), SCAN)
        if device.scanning:
            device.catch_up(n)
            device.scan(n + 1)
        if device.settled or not device.scanning:
            device.woken = env.event()
            yield device.woken


class Frame(NamedTuple):
    """What a transmitter sends."""

    sender: Transmitter
    session: int
    counter: int
    scans: int
    levels: tuple[str, ...]
    request: int


class Transmitter(Device):
    """A battery transmitter and its radio path (section 6)."""

    def __init__(self, env: Clock, site: Any, table: Any, say: Say, receiver: Receiver, leaf: Leaf) -> None:
        if table.checkin_jitter or table.latency_spread or table.loss:
            raise NotImplementedError("draws: jitter, spread and loss must be 0")
        super().__init__(env, site, table, say)
        self.receiver = receiver
        self.session, self.counter, self.request = 1, 0, 0
        self.heard = 0
        """The last request heard."""
        self.cut = False
        self.sent_at = -1.0
        self.in_motion = False
        self.change = 0
        self.feeling = 0
        self.checkins = env.process(self._checkins())
        if table.learns_motion.value == "felt by the transmitter":
            leaf.felt.append(self._feels)

    def _checkins(self) -> Process:
        due: float = self.table.checkin_phase
        while True:
            try:
                yield self.env.at(due, SEND)
            except simpy.Interrupt as restart:
                due = float(restart.cause or 0.0)
                continue
            self.send()
            due += self.table.checkin_in_motion if self.in_motion else self.table.checkin_at_rest

    def learns(self, moving: bool) -> None:
        if moving == self.in_motion or not self.running:
            return
        self.in_motion = moving
        self.checkins.interrupt(self.env.now if moving else self.env.now + self.table.checkin_at_rest)

    def _feels(self, moving: bool) -> None:
        self.feeling += 1
        mine = self.feeling

        def known() -> None:
            if mine == self.feeling:
                self.learns(moving)

        self.env.then(self.env.now + self.table.feel_delay, DELIVER, known)

    def downlink(self, message: Callable[[], None]) -> None:
        self.env.then(self.env.now + self.table.latency, DELIVER, message)

    def hear(self, moving: bool, request: int) -> None:
        """A message of the receiver."""
        told = self.table.learns_motion.value == "told by the receiver"
        if not self.running or not (told or self.table.monitoring.value == "before each move"):
            return
        if told:
            self.learns(moving)
        if request != self.heard:
            self.heard = request
            if request:
                self.asked = (request, self.env.now)
                self.stir()
            else:
                self.request = 0

    def scanned(self, taken: bool, answers: bool) -> None:
        if answers and self.asked is not None:
            self.request = self.asked[0]
        if taken:
            self.change += 1
            self.env.process(self._events(self.change))
        if taken or answers:
            self.send()

    def _events(self, change: int) -> Process:
        at = int(self.env.now)
        for _ in range(1, self.table.event_repeats):
            at += self.table.event_spacing
            yield self.env.at(at, SEND)
            if change != self.change:
                return
            self.send()

    def restart(self) -> None:
        super().restart()
        self.session += 1
        self.counter = self.request = 0
        self.change += 1
        self.in_motion = False

    def send(self) -> None:
        now = self.env.now
        if not self.running or self.sent_at == now or any(loop.level is None for loop in self.loops):
            return
        self.sent_at = now
        self.counter = (self.counter + 1) % 2**self.receiver.table.counter_bits
        levels = tuple(loop.level or "" for loop in self.loops)
        frame = Frame(self, self.session, self.counter, self.scans_done(), levels, self.request)
        if not self.cut:
            self.env.then(now + self.table.latency, HEAR, lambda: self.receiver.hear(frame))


class Report:
    """What the controller is told of an edge."""

    def __init__(self, edge: Any, direction: str, device: str) -> None:
        self.edge, self.direction, self.device = edge.name, direction, device
        self.level = "at rest"
        self.heard = self.fresh = False
        self.answered = 0


class Paired:
    """What the receiver keeps of a transmitter."""

    def __init__(self) -> None:
        self.session: int | None = None
        self.counter = self.scans = 0
        self.last_good = self.expiry = 0.0
        self.fresh = False


class Receiver:
    """The receiver with its watchdogs (section 7)."""

    def __init__(self, env: Clock, site: Any, say: Say) -> None:
        self.env, self.table, self.say = env, site.receiver, say
        self.reports: dict[str, list[Report]] = {}
        self.poke: Callable[[], None] = lambda: None
        self.ordered = False
        self.powered = True
        self.transmitters: list[Transmitter] = []
        self.start()

    def start(self) -> None:
        self.ordered = False
        self.request = 0
        self.known = {name: Paired() for name in (self.table.pairs if self.table else ())}

    def hear(self, frame: Frame) -> None:
        sender = frame.sender
        if not self.powered or sender.name not in self.known:
            return
        of = self.known[sender.name]
        first = of.session is None
        if not first and frame.session != of.session:
            of.session, of.counter, of.scans = frame.session, frame.counter, frame.scans
            self._levels(frame, worse=False)
            self._freshness(sender.name, False)
            return
        size = 2**self.table.counter_bits
        ahead = (frame.counter - of.counter) % size
        if not first and not 1 <= ahead <= size // 2 - 1:
            return
        if not first and frame.scans <= of.scans:
            if frame.scans == of.scans:
                of.counter = frame.counter
                self._levels(frame, worse=True)
            return
        of.session, of.counter, of.scans = frame.session, frame.counter, frame.scans
        of.last_good = self.env.now
        period = self.table.watchdog_in_motion if self.ordered else self.table.watchdog_at_rest
        self._arm(sender.name, of.last_good + period)
        for report in self.reports[sender.name]:
            report.heard = True
            report.answered = frame.request
        self._levels(frame, worse=False)
        self._freshness(sender.name, True)

    def _levels(self, frame: Frame, *, worse: bool) -> None:
        for report, level in zip(self.reports[frame.sender.name], frame.levels, strict=True):
            if not worse or SEVERITY[level] > SEVERITY[report.level]:
                report.level = level
        self.poke()

    def _freshness(self, name: str, fresh: bool) -> None:
        of = self.known[name]
        if fresh != of.fresh:
            of.fresh = fresh
            self.say("fresh" if fresh else "not fresh", name)
            for report in self.reports[name]:
                report.fresh = fresh
            self.poke()

    def _arm(self, name: str, expiry: float) -> None:
        self.known[name].expiry = expiry
        of = self.known[name]
        self.env.then(expiry, EXPIRE, lambda: self._expire(name, of))

    def _expire(self, name: str, of: Paired) -> None:
        if self.powered and self.known[name] is of and of.fresh and self.env.now >= of.expiry:
            self._freshness(name, False)

    def order(self, begins: bool) -> None:
        """The controller's order began or ended."""
        self.ordered = begins
        now = self.env.now
        for name, of in self.known.items():
            if not of.fresh:
                continue
            if begins and now + self.table.watchdog_in_motion < of.expiry:
                self._arm(name, now + self.table.watchdog_in_motion)
            elif not begins and of.last_good + self.table.watchdog_at_rest > of.expiry:
                self._arm(name, of.last_good + self.table.watchdog_at_rest)
        for sender in self.transmitters:
            self._tell(sender)

    def _tell(self, sender: Transmitter) -> None:
        sender.downlink(partial(sender.hear, self.ordered, self.request))

    def ask(self, number: int) -> None:
        """To every transmitter that listens; each message says as well whether motion is ordered."""
        self.request = number
        for sender in self.transmitters:
            self._tell(sender)


class Wired(Device):
    """An edge's wire at the operator itself."""

    reports: list[Report]
    poke: Callable[[], None]

    def scanned(self, taken: bool, answers: bool) -> None:
        for report, loop in zip(self.reports, self.loops, strict=True):
            if answers and self.asked is not None:
                report.answered = self.asked[0]
            report.level, report.heard, report.fresh = loop.level or "", True, True
        if taken or answers:
            self.poke()


class World:
    """Everything put together, and the stimuli that act on it."""

    def __init__(self, env: Clock, site: Any, trace: Trace, words: dict[str, str]) -> None:
        self.env, self.site, self.words = env, site, words
        say: Say = lambda name, device: trace.append((env.now, name, device))  # noqa: E731
        self.leaf = Leaf(env, site, say, self._strip)
        self.receiver = Receiver(env, site, say)
        self.transmitters = [Transmitter(env, site, t, say, self.receiver, self.leaf) for t in site.transmitters]
        self.wired = [Wired(env, site, w, say) for w in site.wired_inputs]
        self.devices: dict[str, Device] = {d.name: d for d in (*self.transmitters, *self.wired)}
        self.loops = {loop.edge.name: (loop, d) for d in self.devices.values() for loop in d.loops}
        ways = {z.name: z.direction.value for z in site.zones}
        reports = {
            d.name: [Report(loop.edge, ways[loop.edge.zone], d.name) for loop in d.loops] for d in self.devices.values()
        }
        self.receiver.reports, self.receiver.transmitters = reports, self.transmitters
        for w in self.wired:
            w.reports = reports[w.name]
        can_ask = {d.name for d in self.devices.values() if d.table.monitoring.value == "before each move"}
        self.beams = {b.name: second_beam.Beam(env, b, Report(b, ways[b.zones[0]], b.name), say) for b in site.beams}
        can_ask |= {name for name, b in self.beams.items() if b.asked_for}
        seen = [r for rs in reports.values() for r in rs] + [b.report for b in self.beams.values()]
        self.control = Controller(env, site, say, self.leaf, seen, can_ask)
        self.control.ask, self.control.ordered, self.control.drive = self._ask, self.receiver.order, self._drive
        self.control.contactors = self._closed
        self.leaf.changed = self.receiver.poke = self.control.poke
        for w in self.wired:
            w.poke = self.control.poke
        for b in self.beams.values():
            b.poke = self.control.poke
        self.powered = True
        self.welding: set[str] = set()
        self.welded: set[str] = set()

    def _strip(self, edge: str, by: str, on: bool) -> None:
        loop, device = self.loops[edge]
        before = bool(loop.pressed_by)
        (loop.pressed_by.add if on else loop.pressed_by.discard)(by)
        if before != bool(loop.pressed_by):
            self.leaf.say("released" if before else "actuated", edge)
            device.stir()

    def _ask(self, names: set[str], number: int) -> None:
        self.receiver.ask(number)
        for w in self.wired:
            if w.name in names:
                w.asked = (number, self.env.now)
                w.stir()
        for b in self.beams.values():
            b.ask(number)

    def _drive(self) -> None:
        """Contactors and brake follow the controller, in the drive's turn of the instant."""
        self.env.then(self.env.now, DRIVE, self._contactors)

    def _closed(self) -> set[str]:
        order = self.control.order
        return self.welded | ({order} if order is not None and self.powered and self.control.main else set())

    def _contactors(self) -> None:
        control = self.control
        if self.powered and control.order in self.welding:
            self.welded.add(control.order)
        closed = sorted(self._closed()) if self.powered and control.main else []
        way = closed[0] if len(closed) == 1 else None
        coast = not self.powered and self.site.drive.without_power.value == "coasting"
        if way != self.leaf.energised or coast:
            self.leaf.drive(way, control.slow, coast)
        if control.brake_released != self.leaf.brake_released:
            self.leaf.release_brake(control.brake_released)
        control.poke()

    # --- stimuli ---------------------------------------------------------------------------------------------

    def fault(self, kind: str, name: str, begins: bool) -> None:
        if kind == "contactor welded":
            (self.welding.add if begins else self.welding.discard)(name)
            self.welded.discard(name)
            self._drive()
        elif kind in second_beam.FAULTS:
            self.beams[name].breaks(kind, begins)
        elif kind in ("loop open", "loop short"):
            loop, device = self.loops[name]
            loop.fault = kind if begins else None
            device.stir()
        elif kind == "link lost":
            self._transmitter(name).cut = begins
        elif kind == "converter frozen":
            for loop in self.devices[name].loops:
                loop.frozen = loop.code(loop.ohm()) if begins else None
            self.devices[name].stir()
        elif kind == "sampler dead":
            self.devices[name].set_scanning(sampler=not begins)
        elif begins:
            self.devices[name].set_scanning(running=False)
        else:
            self._transmitter(name).restart()

    def _transmitter(self, name: str) -> Transmitter:
        return next(t for t in self.transmitters if t.name == name)

    def power(self, good: bool) -> None:
        self.powered = self.receiver.powered = good
        self.receiver.start()
        for report in self.control.reports:
            report.level, report.heard, report.fresh, report.answered = "at rest", False, False, 0
        for w in self.wired:
            w.restart() if good else w.set_scanning(running=False)
        for b in self.beams.values():
            b.start() if good else b.stop()
        (self.control.power_returns if good else self.control.power_goes)()
        self._drive()

    def obstruct(self, step: Any) -> None:
        zone = next(z for z in self.site.zones if z.name == step.zone)
        edges = [e for e in self.site.edges if e.zone == step.zone and step.touches.value == "the edge"]
        self.leaf.obstruct(
            step.obstruction, zone.direction.value, step.position, step.stiffness, edges[0] if edges else None
        )

    def _leaves(self, name: str) -> None:
        self.leaf.clear(name)
        for b in self.beams.values():
            b.stands(name, False)

    def act(self, step: Any, at: int) -> list[tuple[int, Callable[[], None]]]:
        """What a step does, and when."""
        do = step.do
        if do == "command":
            word, origin = step.command.value, step.origin.value
            return [
                (at, lambda: self.control.press(word, origin)),
                (at + step.held, lambda: self.control.release(word, origin)),
            ]
        if do == "obstruct":
            enters: list[tuple[int, Callable[[], None]]] = [(at, lambda: self.obstruct(step))]
            enters += [(at, partial(self.beams[b].stands, step.obstruction, True)) for b in step.interrupts]
            leaves = [] if step.stays is None else [(at + step.stays, lambda: self._leaves(step.obstruction))]
            return enters + leaves
        if do == "clear":
            return [(at, lambda: self._leaves(step.obstruction))]
        if do == "interrupt":
            ray = self.beams[step.beam]
            goes = [] if step.lasts is None else [(at + step.lasts, partial(ray.stands, step.by, False))]
            return [(at, partial(ray.stands, step.by, True)), *goes]
        if do == "clear beam":
            return [(at, partial(self.beams[step.beam].stands, step.by, False))]
        if do == "press":
            return [(at, partial(self._strip, step.edge, "a hand", True)),
                    (at + step.held, partial(self._strip, step.edge, "a hand", False))]
        if do == "lose power":
            return [(at, lambda: self.power(False)), (at + step.lasts, lambda: self.power(True))]
        if do == "push leaf":
            return [(at, lambda: self.leaf.moved(step.direction.value, step.distance, step.speed))]
        if do == "fault":
            kind = self.words[step.fault]
            begins, ends = partial(self.fault, kind, step.device, True), partial(self.fault, kind, step.device, False)
            if step.lasts is None:
                return [(at, begins)]
            starts = [at + i * (step.lasts + (step.gap or 0)) for i in range(step.flickers)]
            return [pair for s in starts for pair in ((s, begins), (s + step.lasts, ends))]
        raise NotImplementedError(do)


def run(site: Any, scenario: Any, scans: Callable[[Device], Process], faults: dict[str, str] | None = None) -> Trace:
    """Simulate with that way of scanning; the trace up to and including the scenario's end."""
    env, trace = Clock(), Trace()
    world = World(env, site, trace, FAULTS | (faults or {}))
    for device in world.devices.values():
        env.process(scans(device))
    stimuli: list[tuple[int, int, Callable[[], None]]] = []
    for step in scenario.steps:
        for i in range(step.times if step.every is not None else 1):
            for when, do in world.act(step, step.at + i * (step.every or 0)):
                stimuli.append((when, len(stimuli), do))
    for when, _, do in sorted(stimuli, key=lambda s: s[:2]):
        env.then(when, STIMULUS, do)
    env.run(until=env.at(scenario.ends, DRIVE + 1))
    return trace


def instants(trace: Trace) -> dict[str, list[tuple[float, int]]]:
    """Every instant of each name (with its device), unrounded and rounded half up to whole us."""
    found: dict[str, list[tuple[float, int]]] = {}
    for at, name, device in trace:
        found.setdefault(f"{name} {device}".strip(), []).append((at, floor(at + 0.5)))
    return found
