"""The receiver: hosts the receiver role with its watchdog (docs/timing.md, section 7).

Without supply it is dead: its reports fall to "not heard", frames are lost, and it starts anew when the supply returns.
A start sends nothing; a transmitter goes on with the motion it was told last until an order or a request reaches it.
On air, a test request's number is joined by the number of the receiver's start, so that the echo of a request from
before a power loss never passes for an answer, though the controller numbers its requests from 1 again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant import wires
from gatesim.plant.clocks import error_at, stretched
from gatesim.plant.edges.scanner import NoLogic
from gatesim.plant.logic.contract import Paired, Receiver, ReceiverDo, ReceiverSeen, ReceiverSettings, Report
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, owned, state
from gatesim.plant.report_line import tell, unheard
from gatesim.plant.site import LearnsMotion, Monitoring, Site, Transmitter
from gatesim.units import FOREVER

START = 1 << 20
"""What one start of the receiver adds to the numbers of its requests on air."""

Tell = tuple[tuple[str, bool, int], ...]


@state
class ReceiverState:
    """What changes in a receiver."""

    logic: Any = owned()
    powered: bool
    starts: int
    stale: int
    """Request number that stood on its wire when it started: not a request made of it."""
    given: tuple[Report, ...] | None
    """What the logic gave last, of this start; None before it gave anything."""
    reports: tuple[Report, ...]
    told: Tell
    """What was last sent to each transmitter."""


@dataclass(frozen=True, slots=True)
class ReceiverPart:
    """The receiver of a site; it hears every transmitter, paired or not."""

    settings: ReceiverSettings
    receiver: Receiver
    transmitters: tuple[str, ...]
    listening: tuple[str, ...]
    """Those that hear a downlink message."""
    unheard: tuple[Report, ...]
    """A report per edge of every transmitter, in the order of the output wires."""
    name: str = ""

    phase: ClassVar[Phase] = Phase.EXPIRE
    rank: ClassVar[int] = 10
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (wires.Order(), wires.Ask(), wires.Supply(), *[wires.Heard(name) for name in self.transmitters])

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        lines = [(wires.ReportLine(report.edge), report) for report in self.unheard]
        return (*lines, *[(wires.Downlink(name), ()) for name in self.transmitters])

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> ReceiverState:
        return ReceiverState(NoLogic(), False, -1, 0, None, self.unheard, ())

    def react(self, state: ReceiverState, now: float, seen: list[Any], out: Out) -> float:
        (order, _), ask, supply, *heard = seen
        if not supply:
            state.powered = False
            self._report(state, (), out)
            return FOREVER
        if not state.powered:
            state.powered, state.starts, state.stale = True, state.starts + 1, ask
            state.told = tuple([(pair.transmitter, False, 0) for pair in self.settings.paired])
            state.given = None
            state.logic, _ = self.receiver.start(self.settings, None)
        if ask != state.stale:
            state.stale = 0
        on_air = ask + state.starts * START if ask > 0 and ask != state.stale else 0
        frames: tuple[Any, ...] = ()
        for each in heard:
            frames += each
        state.logic, do = self.receiver.step(state.logic, ReceiverSeen(frames, order is not None, on_air), now)
        if do.reports is not state.given:
            self._report(state, do.reports, out)
        if do.tell is not state.told:
            self._send(state, do, out)
        return FOREVER if do.wake is None else do.wake

    def _report(self, state: ReceiverState, reports: tuple[Report, ...], out: Out) -> None:
        state.given = reports
        before_start = state.starts * START
        by_edge = {
            report.edge: report._replace(answered=max(0, report.answered - before_start)) if before_start else report
            for report in reports
        }
        before = state.reports
        state.reports = tuple([by_edge.get(report.edge, report) for report in self.unheard])
        tell(out, before, state.reports)

    def _send(self, state: ReceiverState, do: ReceiverDo, out: Out) -> None:
        for message in do.tell if do.tell != state.told else ():
            name, moving, ask = message
            if name in self.listening and message not in state.told:
                out.put(len(self.unheard) + self.transmitters.index(name), wires.Told(moving, ask))
        state.told = do.tell


def can_be_asked(node: Transmitter) -> bool:
    """Whether a transmitter is tested before each move (else its maximum age is the only test)."""
    return node.monitoring is Monitoring.BEFORE_EACH_MOVE


def paired(site: Site) -> tuple[Paired, ...]:
    """The paired transmitters as the receiver knows them."""
    assert site.receiver is not None
    by_name = {node.name: node for node in site.transmitters}
    return tuple([
        Paired(name, by_name[name].identity, edges_of(site, name), can_be_asked(by_name[name]))
        for name in site.receiver.pairs
        if name in by_name
    ])


def edges_of(site: Site, node: str) -> tuple[str, ...]:
    """Names of the edges that hang on a node, in the order of its frames."""
    return tuple([edge.name for edge in site.edges if edge.input == node])


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The receiver, where the site has one."""
    table = site.receiver
    if table is None:
        return
    errs = error_at(table.clock, site.coldest)
    settings = ReceiverSettings(paired(site), stretched(table.watchdog_at_rest, errs),
                                stretched(table.watchdog_in_motion, errs), table.counter_bits)
    listening = tuple([
        node.name for node in site.transmitters if can_be_asked(node) or node.learns_motion is LearnsMotion.TOLD
    ])
    lines = tuple([
        unheard(edge, can_be_asked(node)) for node in site.transmitters for edge in edges_of(site, node.name)
    ])
    yield ReceiverPart(settings, bench.receiver, tuple([node.name for node in site.transmitters]), listening, lines)
