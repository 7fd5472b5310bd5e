"""Which means protect each zone, and what guards the way back."""

from __future__ import annotations

from dataclasses import replace

from field_site import MM, a_drive, a_site, a_transmitter, an_edge

from gatesim.events import Direction
from gatesim.field.means import EDGE, FORCE, back_guarded_without, ways_back, zone_plan
from gatesim.plant.site import LearnsMotion, Monitoring, Profile, ReceiverTable, Site, Zone

S = 1_000_000


def test_edge_and_force_sensing_are_two_kinds(site: Site) -> None:
    made = zone_plan(site, site.zones[0])
    assert made.kinds == (EDGE, FORCE)
    assert (made.needed, made.missing) == (2, 0)


def test_two_edges_are_one_kind(site: Site) -> None:
    # Trade magazine, Nov-Dec 2015, p. 77: the same type of device may not serve as both.
    zone = replace(site.zones[0], force_sensing=False)
    two = replace(site, zones=(zone,), edges=(*site.edges, an_edge("second edge", "gap", "rear node")))
    made = zone_plan(two, zone)
    assert len(made.means) == 2
    assert made.missing == 1


def test_bare_zone_misses_both_and_one_is_enough_where_the_force_is_proved(site: Site) -> None:
    bare = replace(site.zones[0], name="hinge side", force_sensing=False)
    assert zone_plan(site, bare).missing == 2
    proved = replace(site, limits=Profile.PROVED_FORCE)
    assert zone_plan(proved, bare).missing == 1
    assert zone_plan(proved, replace(bare, force_sensing=True)).missing == 0


def test_edge_without_a_node_or_a_pairing_is_not_counted(site: Site) -> None:
    lost = replace(site, edges=(an_edge("front edge", "gap", "nowhere"),))
    assert zone_plan(lost, site.zones[0]).missing == 1
    assert "nowhere" in zone_plan(lost, site.zones[0]).means[0].why_not
    assert site.receiver is not None
    unpaired = replace(site, receiver=replace(site.receiver, pairs=("rear node",)))
    assert zone_plan(unpaired, site.zones[0]).missing == 1
    assert zone_plan(unpaired, site.zones[1]).missing == 0


def test_force_sensing_is_no_means_where_it_is_blind_or_stalls_first(site: Site) -> None:
    end = Zone("last hand's breadth", Direction.CLOSING, 0, 15 * MM)
    assert zone_plan(site, end).kinds == ()
    wider = replace(end, end=25 * MM)
    assert zone_plan(site, wider).kinds == (FORCE,)
    # Opening from closed: blind for 500 ms, 61.6 mm.
    start = Zone("start", Direction.OPENING, 0, 61 * MM)
    assert zone_plan(site, start).kinds == ()
    assert zone_plan(site, replace(start, end=62 * MM)).kinds == (FORCE,)
    weak = replace(site, drive=a_drive(force_limit=800_000))
    assert zone_plan(weak, site.zones[0]).kinds == (EDGE,)


def test_blind_parts_are_said(site: Site) -> None:
    gap = zone_plan(site, site.zones[0])
    assert len(gap.uncovered) == 2
    middle = replace(site.zones[0], start=1_000 * MM, end=2_000 * MM)
    assert len(zone_plan(site, middle).uncovered) == 1


def test_a_device_that_is_not_asked_is_told_so(site: Site) -> None:
    node = replace(site.transmitters[0], monitoring=Monitoring.CONTINUOUSLY, learns_motion=LearnsMotion.FELT)
    one_way = replace(site, transmitters=(node, site.transmitters[1]))
    assert "greatest age" in zone_plan(one_way, site.zones[0]).means[0].monitoring


def test_way_back_on_own_transmitters_is_lost_with_the_receiver_only(site: Site) -> None:
    closing, opening = ways_back(site)
    assert (closing.moving, closing.edges) == (Direction.CLOSING, ("rear edge",))
    assert (opening.moving, opening.edges) == (Direction.OPENING, ("front edge",))
    assert [device for device, _ in closing.shared] == ["the receiver"]
    assert back_guarded_without(site, Direction.CLOSING, "front node")
    assert not back_guarded_without(site, Direction.OPENING, "front node")


def test_two_edges_on_one_transmitter_leave_the_way_back_unguarded() -> None:
    shared = a_site(
        edges=(an_edge("front edge", "gap", "node"), an_edge("rear edge", "pocket", "node")),
        transmitters=(a_transmitter("node"),), receiver=ReceiverTable(("node",), 70 * S, 900_000))
    closing, _ = ways_back(shared)
    assert closing.shared[0] == ("node", ("front edge", "rear edge"))
    assert not back_guarded_without(shared, Direction.CLOSING, "node")


def test_without_an_edge_the_way_back_is_under_force_sensing(wired_site: Site) -> None:
    closing, _ = ways_back(wired_site)
    assert closing.force
    assert closing.edges == ()
    assert closing.shared == ()
    assert back_guarded_without(wired_site, Direction.CLOSING, "closing input")
