"""The one process image of two leaves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.events import Direction, LeafName
from gatesim.plant import both_leaves
from gatesim.plant.both_leaves import moving, together
from gatesim.plant.motion import at, push, rest
from gatesim.plant.site import SecondLeaf, Site
from gatesim.plant.travel_sensor import Travelled
from gatesim.plant.wires import (
    ContactorReadBack,
    Counts,
    ForceReady,
    ForceTrip,
    LimitSwitch,
    Order,
    Piece,
    Watch,
)

OPEN, SHUT = Direction.OPENING, Direction.CLOSING
TABLE = SecondLeaf(LeafName.FIRST, 600_000, 1_200_000, 300_000.0)


def counted(x: float, way: Direction | None = None, known: bool = True, t: float = 0.0) -> Travelled:
    v = 0.0 if way is None else 0.1 * way.sign
    return Travelled((Piece(t, x, v, 0.0),), known, way, 0)


@pytest.fixture
def fed(site: Site, bench: Any, feed: Any) -> Any:
    """A bench with both leaves in mid-travel, at rest, nothing ordered."""
    made = bench(both_leaves.parts(replace(site, second_leaf=TABLE, leaf_at=0.0), None))
    made.at(0, feed(Counts(), counted(2e6)), feed(Counts("second"), counted(1e6)), feed(ForceReady(), True),
            feed(ForceReady("second"), True))
    return made


def back(box: Any) -> tuple[bool, bool]:
    return box.level(ContactorReadBack("both opening")), box.level(ContactorReadBack("both closing"))


@given(st.floats(0.0, 3e6), st.floats(0.0, 1.0), st.floats(0.0, 9e6))
def test_the_sum_of_two_motions_is_their_sum_at_every_instant(x: float, share: float, t: float) -> None:
    one, two = push(0.0, x, 1, 1e6, 0.3, 0.5e-6), push(500_000.0, 1e6, -1, share * 1e6 + 1_000, 0.2, 0.5e-6)
    both = together(one, two, 500_000.0)
    at_t = 500_000.0 + t
    assert at(both, at_t)[0] == pytest.approx(at(one, at_t)[0] + at(two, at_t)[0], abs=1e-3)
    assert at(both, at_t)[1] == pytest.approx(at(one, at_t)[1] + at(two, at_t)[1], abs=1e-9)


@pytest.mark.parametrize(("ways", "order", "seen"), [
    ((None, None), OPEN, None), ((OPEN, None), OPEN, OPEN), ((None, SHUT), None, SHUT), ((OPEN, OPEN), OPEN, OPEN),
    # Apart: whichever goes against the order; it is a fault of the drive.
    ((OPEN, SHUT), OPEN, SHUT), ((OPEN, SHUT), SHUT, OPEN), ((SHUT, OPEN), None, OPEN),
])
def test_motion_of_both(ways: Any, order: Any, seen: Any) -> None:
    assert moving(ways, order) is seen


def test_the_position_is_the_clear_opening(fed: Any, feed: Any) -> None:
    assert at(fed.level(Counts("both")).pieces, 0)[0] == 3e6
    fed.at(10, feed(Counts(), counted(2e6, OPEN, t=10)))
    assert fed.level(Counts("both")).motion is OPEN
    assert at(fed.level(Counts("both")).pieces, 110)[0] == pytest.approx(3e6 + 10)


def test_the_watched_position_is_crossed_by_the_sum(fed: Any, feed: Any) -> None:
    fed.at(10, feed(Watch(), 3e6 + 2_000))
    fed.at(20, feed(Counts(), counted(2e6, OPEN, t=20)), feed(Counts("second"), counted(1e6, OPEN, t=20)))
    fed.until(20 + 9_999)
    assert fed.level(Counts("both")).crossings == 0
    fed.until(20 + 10_001)  # 2 mm at twice 0.1 m/s
    assert fed.level(Counts("both")).crossings == 1


def test_a_place_is_known_when_both_are(fed: Any, feed: Any) -> None:
    assert fed.level(Counts("both")).known is True
    fed.at(10, feed(Counts("second"), counted(1e6, known=False)))
    assert fed.level(Counts("both")).known is False


@pytest.mark.parametrize("side", ["closed", "open"])
def test_an_end_needs_both(fed: Any, feed: Any, side: str) -> None:
    fed.at(10, feed(LimitSwitch(side), True))
    assert fed.level(LimitSwitch(f"both {side}")) is False
    fed.at(20, feed(LimitSwitch(f"second {side}"), True))
    assert fed.level(LimitSwitch(f"both {side}")) is True


@pytest.mark.parametrize("of", ["", "second"])
def test_force_of_either_trips_and_readiness_needs_both(fed: Any, feed: Any, of: str) -> None:
    assert (fed.level(ForceTrip("both")), fed.level(ForceReady("both"))) == (False, True)
    fed.at(10, feed(ForceTrip(of), True), feed(ForceReady(of), False))
    assert (fed.level(ForceTrip("both")), fed.level(ForceReady("both"))) == (True, False)


# --- read-backs -------------------------------------------------------------------------------------------------


def test_read_backs_say_what_is_ordered_while_each_leaf_follows(fed: Any, feed: Any) -> None:
    assert back(fed) == (False, False)
    fed.at(10, feed(Order(), (OPEN, False)), feed(Order("first"), (OPEN, False)),
           feed(ContactorReadBack("opening"), True))
    assert back(fed) == (True, False)  # the second waits, as ordered
    fed.at(20, feed(Order(), (None, False)), feed(Order("first"), (None, False)),
           feed(ContactorReadBack("opening"), False))
    assert back(fed) == (False, False)


@pytest.mark.parametrize("of", ["", "second "])
def test_a_welded_contactor_of_either_is_seen_at_rest(fed: Any, feed: Any, of: str) -> None:
    fed.at(10, feed(ContactorReadBack(f"{of}closing"), True))
    assert back(fed) == (True, True)


def test_a_contactor_that_stays_open_is_seen(fed: Any, feed: Any) -> None:
    fed.at(10, feed(Order(), (SHUT, False)), feed(Order("first"), (SHUT, False)), feed(Order("second"), (SHUT, False)),
           feed(ContactorReadBack("closing"), True))
    assert back(fed) == (False, False)


def test_a_leaf_that_moves_without_its_own_order_is_seen_after_the_stop_limit(fed: Any, feed: Any, site: Site) -> None:
    """The other one is ordered, so motion alone says nothing."""
    fed.at(10, feed(Order(), (OPEN, False)), feed(Order("first"), (OPEN, False)), feed(Order("second"), (OPEN, False)),
           feed(ContactorReadBack("opening"), True), feed(ContactorReadBack("second opening"), True),
           feed(Counts(), counted(2e6, OPEN, t=10)), feed(Counts("second"), counted(1e6, OPEN, t=10)))
    fed.at(1_000, feed(Order("second"), (None, False)), feed(ContactorReadBack("second opening"), False))
    assert back(fed) == (True, False)
    fed.until(1_000 + site.controller.stop_limit - 1)
    assert back(fed) == (True, False)
    fed.until(1_000 + site.controller.stop_limit)
    assert back(fed) == (False, False)


def test_a_leaf_that_stands_on_its_order_is_seen_after_the_start_limit(fed: Any, feed: Any, site: Site) -> None:
    fed.at(10, feed(Order(), (OPEN, False)), feed(Order("first"), (OPEN, False)), feed(Order("second"), (OPEN, False)),
           feed(ContactorReadBack("opening"), True), feed(ContactorReadBack("second opening"), True),
           feed(Counts(), counted(2e6, OPEN, t=10)))
    fed.until(10 + site.controller.start_limit - 1)
    assert back(fed) == (True, False)
    fed.until(10 + site.controller.start_limit)
    assert back(fed) == (False, False)


def test_a_leaf_that_moves_against_its_order_is_seen_at_once(fed: Any, feed: Any) -> None:
    fed.at(10, feed(Order(), (OPEN, False)), feed(Order("first"), (OPEN, False)),
           feed(ContactorReadBack("opening"), True))
    fed.at(20, feed(Counts(), counted(2e6, SHUT, t=20)))
    assert back(fed) == (False, False)


@pytest.mark.parametrize("switch", ["open", "closed", "second open"])
def test_a_limit_switch_far_from_its_place_is_seen(fed: Any, feed: Any, switch: str) -> None:
    fed.at(10, feed(LimitSwitch(switch), True))
    assert back(fed) == (True, True)


def test_both_switches_of_a_leaf_are_seen_without_a_place(fed: Any, feed: Any) -> None:
    fed.at(10, feed(Counts("second"), counted(1e6, known=False)), feed(LimitSwitch("second open"), True))
    assert back(fed) == (False, False)
    fed.at(20, feed(LimitSwitch("second closed"), True))
    assert back(fed) == (True, True)


def test_a_site_of_one_leaf_has_none(site: Site) -> None:
    assert list(both_leaves.parts(site, None)) == []
    assert rest(0.0, 1.0) == together(rest(0.0, 1.0), rest(0.0, 0.0), 0.0)
