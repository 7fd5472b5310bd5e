"""One leaf or two: names of wires, and whose table is whose."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim.events import Direction, LeafName, LeafStopped
from gatesim.plant import motion_sense, supply
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.leaves import as_leaf, delay_of, leaf_of_edge, leaf_of_input, leaves, named, telling, zones_of
from gatesim.plant.site import Gate, GateKind, SecondLeaf, Site, Zone
from gatesim.plant.wires import Contactor, Load, Motion, Supply

FIRST, SECOND = LeafName.FIRST, LeafName.SECOND
OPENING, CLOSING = Direction.OPENING, Direction.CLOSING
LIGHT = Gate(GateKind.SLIDING, 3_000_000.0, 200.0, 50_000.0)


@pytest.fixture
def pair(site: Site) -> Site:
    """The site with a shorter second leaf that carries the edge "tail"."""
    zones = (site.zones[0], replace(site.zones[1], leaf=SECOND, end=3_000_000.0))
    return replace(site, zones=zones, leaf_at=0.0,
                   second_leaf=SecondLeaf(SECOND, 600_000, 1_200_000, 300_000.0, gate=LIGHT, leaf_at=7.0))


def test_the_second_leaf_has_its_own_table_or_the_first_one_s(site: Site, pair: Site) -> None:
    assert [one.gate for one in leaves(site)] == [site.gate]
    first, second = leaves(pair)
    assert (first.gate, first.drive, first.leaf_at, first.order) == (site.gate, site.drive, 0.0, "first")
    assert (second.gate, second.drive, second.leaf_at, second.order) == (LIGHT, site.drive, 7.0, "second")
    assert leaves(site)[0].order == ""
    assert as_leaf(pair, SECOND).gate == LIGHT
    assert as_leaf(pair, FIRST) is pair
    assert as_leaf(site, SECOND) is site


def test_the_first_leaf_s_wires_carry_no_name() -> None:
    assert [named(leaf.of, "opening") for leaf in LeafName] == ["opening", "second opening"]
    assert str(Motion(named(FIRST.of))) == "leaf motion"
    assert str(Contactor(named(SECOND.of, "closing"))) == "contactor of second closing"


def test_devices_belong_to_the_leaf_of_their_zones(pair: Site) -> None:
    assert leaf_of_edge(pair, "nose") is FIRST
    assert leaf_of_edge(pair, "tail") is SECOND
    assert leaf_of_edge(pair, "no such edge") is FIRST
    assert leaf_of_input(replace(pair, edges=pair.edges[1:]), "in") is SECOND
    assert [zone.name for zone in zones_of(pair, SECOND)] == ["rear"]


@pytest.mark.parametrize(("leaf", "way", "delay"), [
    (SECOND, OPENING, 0), (FIRST, OPENING, 600_000), (SECOND, CLOSING, 1_200_000), (FIRST, CLOSING, 0)])
def test_the_delay_is_that_of_the_leaf_that_follows(pair: Site, site: Site, leaf: Any, way: Any, delay: int) -> None:
    """Here the second leaf lies on top."""
    assert delay_of(pair, leaf, way) == delay
    assert delay_of(site, leaf, way) == 0


class Heard:
    """An outlet that remembers."""

    stimuli = ()

    def __init__(self) -> None:
        self.events: list[Any] = []
        self.puts: list[Any] = []

    def event(self, event: Any) -> None:
        self.events.append(event)

    def put(self, k: int, value: Any) -> None:
        self.puts.append((k, value))

    def draw(self, stream: int, below: int) -> int:
        return stream + below


def test_events_of_the_second_leaf_name_it() -> None:
    heard: Any = Heard()
    assert telling(heard, FIRST) is heard
    out = telling(heard, SECOND)
    out.event(LeafStopped(1.0))
    out.put(3, "x")
    assert heard.events == [LeafStopped(1.0, SECOND)]
    assert heard.puts == [(3, "x")]
    assert out.draw(1, 2) == 3


def test_loads_of_both_drives_add_up(pair: Site, bench: Any, feed: Any) -> None:
    drive = replace(pair.drive, supply_capacity=100.0)
    box = bench(supply.parts(replace(pair, drive=drive), None))
    box.at(10, feed(Load(), 60.0))
    assert box.level(Supply()) is True
    box.at(20, feed(Load("second"), 60.0))
    assert box.level(Supply()) is False


def test_a_felt_motion_is_that_of_the_transmitter_s_leaf(pair: Site) -> None:
    assert motion_sense.MotionSense("tx", 5, SECOND).reads() == (Motion("second"),)
    assert motion_sense.MotionSense("tx", 5).reads() == (Motion(),)


def test_drive_faults_sit_at_either_leaf(site: Site, pair: Site) -> None:
    kinds = faults()
    for name in ("contactor-welded", "limit-switch-stuck-open", "drive-direction-swapped", "force-sensing-dead"):
        one = [place.device for place in kinds[name].places(site)]
        two = [place.device for place in kinds[name].places(pair)]
        assert sorted(two) == sorted([*one, *(f"second {device}" for device in one)])
    torn = {place.device: place.wires[0].of for place in kinds["edge-torn-loose"].places(pair)}
    assert torn == {"nose": "", "tail": "second"}


def test_a_zone_is_the_first_leaf_s_and_not_at_the_hinges_unless_it_says_so() -> None:
    zone = Zone("gap", CLOSING, 0.0, 1.0)
    assert (zone.leaf, zone.hinge_side) == (FIRST, False)
