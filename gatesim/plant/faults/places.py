"""Where faults can sit: devices of a site with their wires and what they guard."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from gatesim.events import Direction, Guard, Side
from gatesim.plant.fault import Fault, Place
from gatesim.plant.leaves import leaf_of_edge, leaves, named
from gatesim.plant.loop_tables import StripKind
from gatesim.plant.nets import host_of, hosts, members, rest_ohm
from gatesim.plant.part import Wire
from gatesim.plant.site import Beam, Edge, Monitoring, Site, Transmitter, WiredInput, guarded
from gatesim.plant.wires import Blocks, LimitSwitch

Node = Transmitter | WiredInput


def guard_of(site: Site, edges: Iterable[Edge], beams: Iterable[Beam] = ()) -> Guard:
    """What these edges and beams guard together (both directions where there is none to tell by)."""
    zones = {zone.name: zone.direction for zone in site.zones}
    sides = {zones[edge.zone] for edge in edges} | {guarded(site, beam) for beam in beams}
    if len(sides) != 1:
        return Guard.BOTH
    return Guard.OPENING if Direction.OPENING in sides else Guard.CLOSING


def all_nodes(site: Site) -> tuple[Node, ...]:
    """The transmitters and wired inputs."""
    return (*site.transmitters, *site.wired_inputs)


def edges_of(site: Site, node: str) -> tuple[Edge, ...]:
    """The edges that hang on a transmitter or wired input, in the order of its channels."""
    return tuple(edge for edge in site.edges if edge.input == node)


def can_be_asked(node: Node) -> bool:
    """Whether a node answers a test before each move."""
    return node.monitoring is Monitoring.BEFORE_EACH_MOVE


def at_edges(site: Site, wires: Callable[[Edge], tuple[Wire, ...]],
             fitted: Callable[[Edge], Fault | None] | None = None,
             which: Callable[[Edge], bool] = lambda edge: True) -> tuple[Place, ...]:
    """A place at each edge for which `which` holds; `fitted` gives the fault with figures that suit the edge."""
    return tuple(Place(edge.name, wires(edge), guard_of(site, [edge]), fitted(edge) if fitted else None)
                 for edge in site.edges if which(edge))


def at_loops(site: Site, wires: Callable[[Edge], tuple[Wire, ...]],
             fitted: Callable[[Edge], Fault | None] | None = None) -> tuple[Place, ...]:
    """A place at each loop, under the name of the edge that has it; it guards what all edges on it guard."""
    return tuple(Place(edge.name, wires(edge), guard_of(site, members(site, edge.name)),
                       fitted(edge) if fitted else None) for edge in hosts(site))


def closes(edge: Edge) -> bool:
    """Whether a press closes the edge's strip."""
    return edge.strip is StripKind.CLOSES


def in_the_way(site: Site, edge: Edge) -> Wire:
    """The wire that carries the obstructions in the way of the leaf of an edge."""
    return Blocks(leaf_of_edge(site, edge.name).of)


def at_beams(site: Site, wire: Callable[[str], Wire]) -> tuple[Place, ...]:
    """A place at each beam."""
    return tuple(Place(beam.name, (wire(beam.name),), Guard(guarded(site, beam).value)) for beam in site.beams)


def at_transmitters(site: Site, wires: Callable[[Transmitter], tuple[Wire, ...]],
                    fitted: Callable[[Transmitter], Fault | None] | None = None,
                    which: Callable[[Transmitter], bool] = lambda node: True) -> tuple[Place, ...]:
    """A place at each transmitter that carries an edge, and for which `which` holds."""
    return tuple(Place(node.name, wires(node), guard_of(site, edges_of(site, node.name)),
                       fitted(node) if fitted else None)
                 for node in site.transmitters if edges_of(site, node.name) and which(node))


def at_nodes(site: Site, wires: Callable[[Node, tuple[Edge, ...]], tuple[Wire, ...]],
             fitted: Callable[[Node], Fault | None] | None = None, least: int = 1) -> tuple[Place, ...]:
    """A place at each transmitter and wired input with at least so many loops; `wires` is given the edges that have
    them."""
    return tuple(
        Place(node.name, wires(node, own), guard_of(site, edges_of(site, node.name)), fitted(node) if fitted else None)
        for node in all_nodes(site)
        if len(own := tuple(edge for edge in hosts(site) if edge.input == node.name)) >= least)


def at_drive(device: str, *wires: Wire) -> tuple[Place, ...]:
    """One place in the drive or its electronics."""
    return (Place(device, wires, Guard.DRIVE),)


def at_each_drive(site: Site, device: str, *kinds: Callable[[str], Wire]) -> tuple[Place, ...]:
    """One place in the drive of each leaf; that of the second is "second" and the device."""
    return tuple(Place(named(one.of, device), tuple(kind(one.of) for kind in kinds), Guard.DRIVE)
                 for one in leaves(site))


def _of(kind: Callable[[str], Wire], what: str) -> Callable[[str], Wire]:
    """The wire of a leaf that also names a direction or a side."""
    return lambda of: kind(named(of, what))


def at_force(site: Site, *kinds: Callable[[str], Wire]) -> tuple[Place, ...]:
    """The force sensing of each leaf's drive: it guards both directions."""
    return tuple(place._replace(guard=Guard.BOTH) for place in at_each_drive(site, "force sensing", *kinds))


def at_contactors(site: Site, wire: Callable[[str], Wire]) -> tuple[Place, ...]:
    """The contactor of each direction, of each leaf."""
    return tuple(place for way in Direction for place in at_each_drive(site, way.value, _of(wire, way.value)))


def at_limit_switches(site: Site) -> tuple[Place, ...]:
    """The limit switch of each side, of each leaf."""
    return tuple(place for side in Side for place in at_each_drive(site, side.value, _of(LimitSwitch, side.value)))


def resting(site: Site, edge: Edge) -> float:
    """What the healthy loop of an edge reads at rest (ohm), with all edges on it."""
    return rest_ohm(members(site, host_of(edge)))
