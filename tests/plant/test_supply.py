"""The operator's supply."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from gatesim.events import ContactorsChanged, Direction, LosePower, PowerLost, PowerReturned, ReturnPower
from gatesim.plant import contactors, supply
from gatesim.plant.site import Site
from gatesim.plant.wires import Load, Order, Supply


def test_lost_and_returned(site: Site, bench: Any) -> None:
    box = bench(supply.parts(site, None))
    box.at(0)
    assert box.level(Supply()) is True
    box.at(10, LosePower())
    assert box.level(Supply()) is False
    box.at(15, LosePower())
    box.at(20, ReturnPower())
    assert box.level(Supply()) is True
    assert box.instants(PowerLost) == [10]
    assert box.instants(PowerReturned) == [20]


def test_dips_once_under_too_much_load(site: Site, bench: Any, feed: Any) -> None:
    weak = replace(site, drive=replace(site.drive, supply_capacity=250_000.0, supply_dip=300))
    box = bench(supply.parts(weak, None))
    box.at(10, feed(Load(), 250_000.0))
    assert box.level(Supply()) is True
    box.at(20, feed(Load(), 250_001.0))
    assert box.level(Supply()) is False
    box.until(319)
    assert box.level(Supply()) is False
    box.until(1000)
    assert (box.instants(PowerLost), box.instants(PowerReturned)) == ([20], [320])


def test_power_that_is_gone_does_not_come_back_with_the_end_of_a_dip(site: Site, bench: Any, feed: Any) -> None:
    weak = replace(site, drive=replace(site.drive, supply_capacity=1.0, supply_dip=300))
    box = bench(supply.parts(weak, None))
    box.at(10, feed(Load(), 2.0))
    box.at(50, LosePower())
    box.at(400, ReturnPower())
    assert (box.instants(PowerLost), box.instants(PowerReturned)) == ([10], [400])


def test_a_start_dips_a_supply_that_is_too_weak_for_it(site: Site, bench: Any, feed: Any) -> None:
    weak = replace(site, drive=replace(site.drive, supply_capacity=299_000.0))
    box = bench([*supply.parts(weak, None), *contactors.parts(weak, None)])
    box.at(0)
    box.at(10, feed(Order(), (Direction.CLOSING, False)))
    assert box.instants(PowerLost) == [10]
    assert box.all(ContactorsChanged)[-1].event == ContactorsChanged(False, False)
    box.at(20, feed(Order(), (None, False)))
    box.until(1_000_000)
    assert box.instants(PowerReturned) == [10 + site.drive.supply_dip]
    enough = bench([*supply.parts(site, None), *contactors.parts(site, None)])
    enough.at(0)
    enough.at(10, feed(Order(), (Direction.CLOSING, False)))
    assert enough.instants(PowerLost) == []
