"""The chain from a cause to the reaction: every delay between them by name, as the trace has it.

The delays of a chain are the differences of instants of one and the same section of the trace, each beginning where the
one before ends.  So they add up to what the requirement measured, to the microsecond.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.events import LeafName, Level, Stamped
from gatesim.plant.site import Site
from gatesim.report.judged import JudgedRow
from gatesim.report.words import tell
from gatesim.requirements.verdict import Measure
from gatesim.units import us

CAUSES = (e.WireDisturbed, e.ContactBegan, e.EdgeActuated, e.BeamInterrupted, e.PowerLost, e.CellFell, e.BatteryFlagged,
          e.CommandPressed, e.CommandReleased)
Instants = Sequence[tuple[int, Any]]


class Delay(NamedTuple):
    """One delay (us), what it is, and what happened at its end."""

    name: str
    since: int
    until: int
    who: str
    sentence: str

    @property
    def lasts(self) -> int:
        """us."""
        return self.until - self.since


class Chain(NamedTuple):
    """From a cause at `at` (us) to the reaction; the delays add up to `measured`."""

    requirements: tuple[str, ...]
    quantity: str
    outcome: str
    at: int
    measured: int
    limit: int
    cause: str
    delays: tuple[Delay, ...]


def whole_us(events: Iterable[Stamped]) -> Instants:
    """Events with their instants as the trace file has them."""
    return [(us(at), event) for at, event in events]


def chain_of(events: Instants, row: JudgedRow, site: Site) -> Chain | None:
    """The chain of a verdict that measured the time from a cause; None for any other."""
    got = row.verdict
    measured, limit, at = got.figures.measured, got.figures.limit, got.at
    if row.requirement.measure is not Measure.US or row.requirement.least:
        return None
    if measured is None or limit is None or at is None or measured <= 0:
        return None
    first = next((k for k, (t, event) in enumerate(events) if t == at and isinstance(event, CAUSES)), None)
    if first is None:
        return None
    span = [one for one in events[first:] if one[0] <= at + measured]
    alone = "" if row.requirement.run is e.Run.WHOLE else f" ({row.requirement.run.value})"
    delays = _delays(span, at, at + measured, site)
    return Chain((row.requirement.id + alone,), row.requirement.quantity, got.outcome.value, at, measured, limit,
                 tell(span[0][1])[1], delays)


def together(chains: Iterable[Chain]) -> tuple[Chain, ...]:
    """Chains with the same delays and limit as one, that with the least share of its limit left first."""
    found: dict[Chain, list[str]] = {}
    for one in chains:
        found.setdefault(one._replace(requirements=()), []).extend(one.requirements)
    made = [one._replace(requirements=tuple(names)) for one, names in found.items()]
    return tuple(sorted(made, key=lambda one: -one.measured / max(1, one.limit)))


class _Walk:
    """Goes through the span, and keeps the links that were found."""

    def __init__(self, span: Instants) -> None:
        self.span, self.place = span, 0
        self.links: list[tuple[int, str, Any]] = []

    def find(self, fits: Callable[[Any], bool], before: int | None = None) -> int | None:
        """The place of the next event that fits; None where none comes before `before`."""
        end = len(self.span) if before is None else before
        return next((k for k in range(self.place + 1, end) if fits(self.span[k][1])), None)

    def go(self, name: str, place: int | None) -> bool:
        """Go on to a place; whether there is one."""
        if place is None:
            return False
        self.links.append((self.span[place][0], name, self.span[place][1]))
        self.place = place
        return True


def _delays(span: Instants, begins: int, ends: int, site: Site) -> tuple[Delay, ...]:
    walk = _Walk(span)
    if _to_the_order(walk, site):
        _to_the_reaction(walk, _leaf(span))
    delays, since = [], begins
    for at, name, event in walk.links:
        delays.append(Delay(name, since, at, *tell(event)))
        since = at
    if since < ends:
        last = next((event for at, event in reversed(span) if at == ends), None)
        said = ("", "the end of what is measured") if last is None else tell(last)
        delays.append(Delay("until what is measured has come", since, ends, *said))
    return tuple(delays)


def _leaf(span: Instants) -> LeafName:
    """The leaf of the cause, else that of the last motion, which is the reaction."""
    of_cause = getattr(span[0][1], "leaf", None)
    if of_cause is not None:
        return LeafName(of_cause)
    moved = [event.leaf for _, event in span if isinstance(event, e.LeafStopped | e.LeafStarted)]
    return moved[-1] if moved else LeafName.FIRST


def _to_the_order(walk: _Walk, site: Site) -> bool:
    """From the cause to the controller's order, by the edge's path, a beam's, or the force sensing; whether it orders
    the drive off."""
    order = walk.find(lambda v: isinstance(v, e.OrdersChanged) and v.order is None)
    report = walk.find(_bad, order)
    trip = walk.find(lambda v: isinstance(v, e.ForceTripped), order)
    if report is not None and (trip is None or report > trip or order is None):
        _to_the_report(walk, report, site)
    else:
        walk.go("force rises until its sensing trips", trip)
    return walk.go("the controller answers", order)


def _bad(event: Any) -> bool:
    return isinstance(event, e.ReportChanged) and (
        event.level is not Level.REST or not (event.heard and event.fresh) or event.low or event.critical)


def _to_the_report(walk: _Walk, report: int, site: Site) -> None:
    told = walk.span[report][1]
    node = next((one.input for one in site.edges if one.name == told.edge), "")
    if told.heard and told.fresh:
        walk.go("travel until the contact strip closes", walk.find(lambda v: isinstance(v, e.EdgeActuated), report))
        walk.go("sampling and debounce until classified", walk.find(
            lambda v: isinstance(v, e.LevelChanged) and v.level is not Level.REST and v.edge in (told.edge, node),
            report))
        _on_the_air(walk, report, node)
        walk.go("until the receiver reports it", report)
    else:
        walk.go("supervision: silence until the receiver reports it", report)


def _on_the_air(walk: _Walk, report: int, node: str) -> None:
    """The frame that told: the last that was heard before the report, and the frames before it that were not."""
    heard = next((k for k in range(report - 1, walk.place, -1)
                  if isinstance(walk.span[k][1], e.FrameArrived) and walk.span[k][1].transmitter == node), None)
    if heard is None:
        return
    counter = walk.span[heard][1].counter
    mine = [k for k in range(walk.place + 1, heard)
            if isinstance(walk.span[k][1], e.FrameSent) and walk.span[k][1].transmitter == node]
    sent = next((k for k in mine if walk.span[k][1].counter == counter), None)
    if sent is not None:
        lost = mine.index(sent)
        many = "1 frame that is not heard, then" if lost == 1 else f"{lost} frames that are not heard, then"
        walk.go("until the frame is sent" if lost == 0 else f"{many} one that is", sent)
        walk.go("the frame's way to the receiver", heard)


def _to_the_reaction(walk: _Walk, leaf: LeafName) -> None:
    """From the order to the leaf: it slows, stands, and goes the other way."""
    def mine(kind: type, fits: Callable[[Any], bool] = lambda _: True) -> Callable[[Any], bool]:
        return lambda v: isinstance(v, kind) and getattr(v, "leaf", leaf) is leaf and fits(v)

    steps = (
        ("contactor opens", mine(e.ContactorsChanged, lambda v: not v.opening and not v.closing)),
        ("the leaf runs on until it slows", mine(e.MotionChanged, lambda v: v.v * v.a < 0)),
        ("braking until the leaf stands", mine(e.LeafStopped)),
        ("pause before the reversal", mine(e.OrdersChanged, lambda v: v.order is not None)),
        ("contactor closes", mine(e.ContactorsChanged, lambda v: v.opening or v.closing)),
        ("until the leaf moves the other way", mine(e.LeafStarted)),
    )
    for name, fits in steps:
        walk.go(name, walk.find(fits))
