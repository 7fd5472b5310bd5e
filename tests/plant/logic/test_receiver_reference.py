"""The reference receiver: which frames are good, and the watchdog's bounds.

Watchdog bounds: own derivation, checked with an SMT solver and an explicit-state checker.
Jitter model: an absolute grid; the lateness of one check-in does not move the next.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.events import Level
from gatesim.plant.logic.contract import Frame, Paired, ReceiverSeen, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReferenceReceiver, newer

SETTINGS = ReceiverSettings((Paired("tx", 7, ("edge",), True),), 33_000, 3_200, 8)
GOOD = Frame(7, 1, 0, 10, (Level.REST,), False, False, 0)


class Rig:
    """A receiver fed by hand."""

    def __init__(self, settings: ReceiverSettings = SETTINGS) -> None:
        self.logic = ReferenceReceiver()
        self.state, self.do = self.logic.start(settings, None)
        self.moving, self.ask = False, 0

    def at(self, t: float, *frames: Frame) -> Any:
        self.state, self.do = self.logic.step(self.state, ReceiverSeen(frames, self.moving, self.ask), t)
        return self.do.reports[0]


def after_first() -> Rig:
    rig = Rig()
    report = rig.at(1000, GOOD)
    assert report.heard
    assert report.fresh
    assert rig.do.wake == 34_000
    return rig


def test_nothing_is_healthy_before_the_first_frame() -> None:
    rig = Rig()
    report = rig.at(0)
    assert (report.heard, report.fresh, report.level) == (False, False, Level.INVALID)
    assert rig.do.wake is None


BAD = {
    "wrong sum": GOOD._replace(counter=1, samples=11, sound=False),
    "stranger": GOOD._replace(counter=1, samples=11, sender=8),
    "repetition": GOOD,
    "older counter": GOOD._replace(counter=250, samples=11),
    "half way round": GOOD._replace(counter=128, samples=11),
    "same scan": GOOD._replace(counter=1),
    "older scan": GOOD._replace(counter=1, samples=9),
    "another number of loops": GOOD._replace(counter=1, samples=11, levels=(Level.REST, Level.REST)),
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_frame_does_not_re_arm(kind: str) -> None:
    rig = after_first()
    rig.at(20_000, BAD[kind])
    assert rig.do.wake == 34_000
    assert rig.at(34_000).fresh is False


@pytest.mark.parametrize("kind", [kind for kind in BAD if kind != "same scan"])
def test_bad_frame_does_not_change_a_level(kind: str) -> None:
    rig = after_first()
    bad = BAD[kind]
    assert rig.at(20_000, bad._replace(levels=(Level.PRESSED,) * len(bad.levels))).level is Level.REST


def test_good_frame_re_arms() -> None:
    rig = after_first()
    assert rig.at(20_000, GOOD._replace(counter=1, samples=11)).fresh
    assert rig.do.wake == 53_000


def test_frame_without_a_new_scan_can_only_make_levels_worse() -> None:
    rig = after_first()
    assert rig.at(2000, GOOD._replace(counter=1, levels=(Level.PRESSED,))).level is Level.PRESSED
    assert rig.at(3000, GOOD._replace(counter=2)).level is Level.PRESSED
    assert rig.at(4000, GOOD._replace(counter=3, samples=11)).level is Level.REST


def test_frame_at_the_expiry_instant_counts() -> None:
    rig = after_first()
    assert rig.at(34_000, GOOD._replace(counter=1, samples=11)).fresh


def test_new_session_is_not_fresh_until_its_second_frame() -> None:
    rig = after_first()
    report = rig.at(2000, GOOD._replace(session=2, counter=0, samples=1, levels=(Level.PRESSED,)))
    assert (report.heard, report.fresh, report.level) == (True, False, Level.PRESSED)
    assert rig.at(3000, GOOD._replace(session=2, counter=1, samples=2)).fresh


def test_two_transmitters_of_one_identity_are_never_fresh() -> None:
    rig = after_first()
    for k in range(1, 20):
        frame = GOOD._replace(session=1 + k % 2, counter=k, samples=10 + k)
        assert not rig.at(1000 + k, frame).fresh or frame.session == 1 == k


@given(st.integers(0, 255), st.integers(1, 255))
def test_newer_modulo_two_to_the_bits(counter: int, ahead: int) -> None:
    assert newer((counter + ahead) % 256, counter, 8) == (ahead <= 127)
    assert not newer(counter, counter, 8)


def test_counter_wrap_is_no_event() -> None:
    rig = Rig()
    for n in range(600):
        assert rig.at(n * 1000, GOOD._replace(counter=n % 256, samples=n + 1)).fresh


def test_backlog_is_drained_and_the_newest_stands() -> None:
    rig = after_first()
    frames = [GOOD._replace(counter=k, samples=10 + k, levels=(level,))
              for k, level in ((1, Level.REST), (2, Level.OPEN), (3, Level.PRESSED))]
    assert rig.at(2000, *frames).level is Level.PRESSED
    assert rig.at(2000, *frames).level is Level.PRESSED


def test_order_shortens_the_watchdog_and_its_end_lengthens_it() -> None:
    rig = after_first()
    rig.moving = True
    rig.at(10_000)
    assert rig.do.wake == 13_200
    rig.at(12_000, GOOD._replace(counter=1, samples=11))
    assert rig.do.wake == 15_200
    rig.moving = False
    rig.at(13_000)
    assert rig.do.wake == 45_000


def test_order_just_before_the_end_does_not_lengthen() -> None:
    rig = after_first()
    rig.moving = True
    rig.at(33_500)
    assert rig.do.wake == 34_000


def test_end_of_an_order_never_shortens() -> None:
    rig = Rig(SETTINGS._replace(watchdog_at_rest=1000))
    rig.moving = True
    rig.at(0, GOOD)
    assert rig.do.wake == 3200
    rig.moving = False
    rig.at(500)
    assert rig.do.wake == 3200


def test_answer_counts_by_number_and_only_in_a_good_frame() -> None:
    rig = after_first()
    rig.ask = 4
    assert rig.at(2000).answered == 0
    assert rig.do.tell == (("tx", False, 4),)
    assert rig.at(3000, GOOD._replace(counter=1, answer=4)).answered == 0
    assert rig.at(4000, GOOD._replace(counter=2, samples=11, answer=3)).answered == 0
    assert rig.at(5000, GOOD._replace(counter=3, samples=12, answer=4)).answered == 4
    rig.ask = 5
    assert rig.at(6000).answered == 0


def test_echo_older_than_its_request_proves_nothing() -> None:
    rig = Rig()
    rig.at(1000, GOOD._replace(answer=1))
    rig.ask = 1
    assert rig.at(2000, GOOD._replace(counter=1, samples=11, answer=1)).answered == 0
    rig.at(2500, GOOD._replace(counter=2, samples=12, answer=0))
    assert rig.at(3000, GOOD._replace(counter=3, samples=13, answer=1)).answered == 1


def test_copy_is_independent() -> None:
    rig = after_first()
    twin = rig.state.copy()
    assert twin == rig.state
    rig.at(2000, GOOD._replace(counter=1, samples=11))
    assert twin != rig.state


# P 1000, J 50, D 20, k 3 (ms): T = kP + J + D = 3070 is enough, 3069 is not.
P, J, D, K = 1000, 50, 20, 3


def trips(limit: int, arrivals: list[tuple[int, int]]) -> bool:
    """Whether the watchdog trips while these (number, arrival) frames come."""
    rig = Rig(ReceiverSettings(SETTINGS.paired, limit, limit, 8))
    for n, t in arrivals:
        while rig.do.wake is not None and rig.do.wake < t:
            rig.at(rig.do.wake)
        if rig.do.reports[0].heard and not rig.do.reports[0].fresh:
            return True
        rig.at(t, GOOD._replace(counter=n % 256, samples=n + 1))
    return False


@pytest.mark.parametrize(("limit", "nuisance"), [(3070, False), (3069, True)])
def test_no_nuisance_bound_is_tight(limit: int, nuisance: bool) -> None:
    assert trips(limit, [(0, 0), (3, 3 * P + J + D), (4, 4 * P)]) is nuisance


@given(st.lists(st.tuples(st.integers(0, J), st.integers(0, D), st.booleans()), min_size=1, max_size=40))
def test_no_nuisance_with_at_most_two_losses_in_a_row(raw: list[tuple[int, int, bool]]) -> None:
    arrivals, lost = [], 0
    for n, (late, delay, loss) in enumerate(raw):
        lost = lost + 1 if loss and lost < K - 1 else 0
        if not lost:
            arrivals.append((n, n * P + late + delay))
    assert not trips(K * P + J + D, arrivals)
