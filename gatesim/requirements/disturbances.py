"""Which wires are disturbed now, whom they guard, and how old a disturbance may be before it must be known."""

from __future__ import annotations

from typing import NamedTuple

from gatesim import events as e
from gatesim.events import Direction, Event, FoundBy, Guard, LeafName
from gatesim.plant.clocks import slowest
from gatesim.plant.leaves import leaves_of_beam
from gatesim.plant.part import state
from gatesim.plant.site import Beam, Monitoring, Site, Transmitter, WiredInput

SEES: tuple[type, ...] = (e.WireDisturbed, e.WireRestored, e.CellFell, e.CellRenewed)
RUNNING = (FoundBy.CONTINUOUSLY, FoundBy.NEXT_CHECK_IN)
"""What must be found while it is there."""
BY_START = (*RUNNING, FoundBy.NEXT_START)
"""What must be found at the next start at the latest."""
_CELL = "cell "


class Disturbed(NamedTuple):
    """A wire that is disturbed, since when, and the event that says so."""

    at: int
    number: int
    wire: str
    device: str
    guard: Guard
    found: FoundBy

    def guards(self, direction: Direction) -> bool:
        """Whether its device guards a direction."""
        return self.guard is Guard.BOTH or self.guard.value == direction.value

    def carrier(self, site: Site) -> str:
        """Whose limits count: the device, or, where it is the radio channel as such, the transmitter of the wire."""
        sender = self.wire.partition(" of ")[2]
        shared = self.wire.startswith("radio path") and input_of(site, self.device) is None
        return sender if shared and input_of(site, sender) is not None else self.device


_TELL = frozenset({e.WireDisturbed, e.CellFell, e.WireRestored, e.CellRenewed})


@state
class Disturbances:
    """The disturbances that are there now.

    A cell's voltage may sink without being a fault; what counts of a cell is that it is critical.
    """

    site: Site
    active: tuple[Disturbed, ...] = ()

    def see(self, number: int, at: int, event: Event) -> Disturbed | None:
        """Take over an event; the disturbance that it begins, if any."""
        if type(event) not in _TELL:
            return None
        begun = None
        if isinstance(event, e.WireDisturbed) and not event.wire.startswith(_CELL):
            begun = Disturbed(at, number, event.wire, event.device, event.guard, event.found)
        elif isinstance(event, e.CellFell) and event.figure == "critical":
            begun = Disturbed(
                at,
                number,
                _CELL + "critical",
                event.transmitter,
                guard_of(self.site, event.transmitter),
                FoundBy.CONTINUOUSLY,
            )
        elif isinstance(event, e.WireRestored):
            self.active = tuple(one for one in self.active if (one.wire, one.device) != (event.wire, event.device))
        elif isinstance(event, e.CellRenewed):
            gone = (_CELL + "critical", event.transmitter)
            self.active = tuple(one for one in self.active if (one.wire, one.device) != gone)
        if begun is not None:
            self.active += (begun,)
        return begun


def edges_on(site: Site, device: str) -> tuple[str, ...]:
    """The edges that a device carries: those of a transmitter or wired input, or the edge itself and all that share
    its loop."""
    loops = {edge.joined_to or edge.name for edge in site.edges if edge.name == device}
    return tuple(edge.name for edge in site.edges if edge.input == device or (edge.joined_to or edge.name) in loops)


def guarding(site: Site, direction: Direction, leaf: LeafName | None = None) -> tuple[str, ...]:
    """The edges that guard a direction (of one leaf)."""
    zones = {zone.name: zone for zone in site.zones if leaf in (None, zone.leaf)}
    return tuple(edge.name for edge in site.edges if edge.zone in zones and zones[edge.zone].direction is direction)


def beams_guarding(site: Site, direction: Direction, leaf: LeafName | None = None) -> tuple[str, ...]:
    """The beams that guard a direction (of one leaf)."""
    zones = {zone.name: zone.direction for zone in site.zones}
    found = [beam for beam in site.beams if zones[beam.zones[0]] is direction]
    return tuple(beam.name for beam in found if leaf is None or leaf in leaves_of_beam(site, beam))


def beam_of(site: Site, device: str) -> Beam | None:
    """The beam of this name, if it is one."""
    return next((beam for beam in site.beams if beam.name == device), None)


def seen_by(beam: Beam) -> int:
    """From a ray interrupted to the report of it, at the worst (us): in a test the report is held."""
    return beam.test_pulse + beam.response_time


def guard_of(site: Site, device: str) -> Guard:
    """What a device guards, by its edges' zones."""
    sides = [way for way in Direction if set(edges_on(site, device)) & set(guarding(site, way))]
    return Guard.BOTH if len(sides) != 1 else Guard(sides[0].value)


def input_of(site: Site, device: str) -> Transmitter | WiredInput | None:
    """The transmitter or wired input that carries a device; None for what is neither (the force sensing, a
    contactor)."""
    names = {edge.name: edge.input for edge in site.edges}
    wanted = names.get(device, device)
    carriers: tuple[Transmitter | WiredInput, ...] = (*site.transmitters, *site.wired_inputs)
    return next((one for one in carriers if one.name == wanted), None)


def _classified(one: Transmitter | WiredInput) -> int:
    """From a change of the loop to its report at the controller, at the worst (us)."""
    scans = max(one.fault_debounce, one.chatter_limit) + 1
    if isinstance(one, WiredInput):
        return scans * one.sampling
    heard = one.event_repeats * one.event_spacing + one.latency + one.latency_spread
    return scans * slowest(one.sampling, one.clock) + heard


def known_at_start(site: Site, device: str, found: FoundBy) -> int:
    """The age (us) from which a disturbance must be known when the leaf starts: the device's detection limit."""
    table, one = site.controller, input_of(site, device)
    tested = table.test_time + site.drive.start_delay
    beam = beam_of(site, device)
    if beam is not None and found is FoundBy.CONTINUOUSLY:
        return seen_by(beam) + site.drive.start_delay
    if beam is not None and beam.monitoring is Monitoring.CONTINUOUSLY:
        return beam.test_period + seen_by(beam) + site.drive.start_delay
    if one is None:
        return tested
    if found is FoundBy.CONTINUOUSLY:
        return _classified(one) + site.drive.start_delay
    if isinstance(one, Transmitter) and one.monitoring is not Monitoring.BEFORE_EACH_MOVE and site.receiver is not None:
        watchdog = slowest(site.receiver.watchdog_at_rest, site.receiver.clock)
        return watchdog + one.latency + one.latency_spread + site.drive.start_delay
    return tested


def known_in_motion(site: Site, device: str, found: FoundBy) -> int:
    """The same while the leaf moves."""
    one = input_of(site, device)
    if one is None:
        return 0
    lost = 0
    if site.receiver is not None and isinstance(one, Transmitter):
        lost = slowest(site.receiver.watchdog_in_motion, site.receiver.clock)
    return max(_classified(one), lost if found is FoundBy.NEXT_CHECK_IN else 0)


def of_link(site: Site, wire: str, device: str) -> tuple[str, ...]:
    """The edges that hang on a radio link whose wire is disturbed; none for any other wire."""
    if not wire.startswith(("radio path", "receiver input")):
        return ()
    return edges_on(site, device) or edges_on(site, wire.partition(" of ")[2])
