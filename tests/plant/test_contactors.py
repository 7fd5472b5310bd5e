"""Contactors, main shut-off and read-backs, and what is physically energised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import pytest

from gatesim.events import ContactorsChanged, Direction, FoundBy, Guard, MainChanged
from gatesim.plant import contactors
from gatesim.plant.fault import FaultBegins, FaultEnds, Steady
from gatesim.plant.site import Site
from gatesim.plant.wires import (
    Contactor,
    ContactorReadBack,
    Load,
    MainContact,
    MainOrder,
    MainReadBack,
    Order,
    Supply,
)

CLOSING = (Direction.CLOSING, False)
NONE = (None, False)


@dataclass(frozen=True, slots=True)
class Keeps(Steady):
    """A contact that stays closed once it is."""

    id: ClassVar[str] = "keeps"
    title: ClassVar[str] = "keeps"
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY

    def places(self, site: Any) -> tuple[Any, ...]:
        return ()

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return True


@pytest.fixture
def box(site: Site, bench: Any) -> Any:
    """All parts of the file."""
    made = bench(contactors.parts(site, None))
    made.at(0)
    return made


def energised(box: Any) -> list[tuple[float, bool, bool]]:
    """What was recorded of it."""
    return [(e.at, *e.event[:2]) for e in box.all(ContactorsChanged)]


def test_an_order_energises_in_the_same_instant(box: Any, feed: Any) -> None:
    box.at(10, feed(Order(), CLOSING))
    box.at(20, feed(Order(), NONE))
    assert energised(box) == [(10, False, True), (20, False, False)]
    assert [(e.at, e.event.closed) for e in box.all(MainChanged)] == [(0, True)]


@pytest.mark.parametrize(("wire", "level"), [(MainOrder(), False), (Supply(), False)], ids=["main", "supply"])
def test_main_and_supply_take_the_thrust_away(box: Any, feed: Any, wire: Any, level: Any) -> None:
    box.at(10, feed(Order(), CLOSING))
    box.at(20, feed(wire, level))
    assert energised(box)[-1] == (20, False, False)
    assert box.all(MainChanged)[-1].event == MainChanged(False)
    assert box.level(MainReadBack()) is False


def test_read_backs_follow_the_contacts(box: Any, feed: Any) -> None:
    box.at(10, feed(Order(), CLOSING))
    assert box.level(ContactorReadBack("closing"))
    assert not box.level(ContactorReadBack("opening"))
    assert box.level(MainReadBack())
    box.at(20, feed(Order(), (Direction.OPENING, True)))
    assert box.level(ContactorReadBack("opening"))
    assert not box.level(ContactorReadBack("closing"))


def test_of_a_welded_contactor_only_the_main_takes_the_thrust(box: Any, feed: Any) -> None:
    box.at(10, feed(Order(), CLOSING))
    box.at(15, FaultBegins("k", Keeps(), Contactor("closing"), "closing", Guard.DRIVE))
    box.at(20, feed(Order(), NONE))
    assert energised(box) == [(10, False, True)]
    assert box.level(ContactorReadBack("closing")) is True
    box.at(25, feed(Order(), (Direction.OPENING, False)))
    assert energised(box)[-1] == (25, True, True)
    box.at(30, feed(MainOrder(), False))
    assert energised(box)[-1] == (30, False, False)
    box.at(40, FaultEnds("k"), feed(Order(), NONE))
    assert box.level(ContactorReadBack("closing")) is False


def test_a_welded_main_is_read_back_closed(box: Any, feed: Any) -> None:
    box.at(10, FaultBegins("k", Keeps(), MainContact(), "", Guard.DRIVE), feed(MainOrder(), False))
    assert box.level(MainReadBack()) is True
    assert [e.event.closed for e in box.all(MainChanged)] == [True]


def test_a_start_loads_the_supply_until_the_start_delay_has_passed(box: Any, feed: Any) -> None:
    box.at(10, feed(Order(), CLOSING))
    # 400 kg at 0.5 m/s2, and 100 N of running resistance: 300 N
    assert box.level(Load()) == pytest.approx(300_000.0)
    box.until(100_009)
    assert box.level(Load()) > 0
    box.until(100_010)
    assert box.level(Load()) == 0


def test_the_load_goes_with_the_order(box: Any, feed: Any) -> None:
    box.at(10, feed(Order(), CLOSING))
    box.at(20, feed(Order(), NONE))
    assert box.level(Load()) == 0
    assert box.world.deadline() == float("inf")
