"""A spool gives back what it was given, wherever it keeps it."""

from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim import spool
from gatesim.events import Direction, LeafStarted, LeafStopped, Run, Stamped
from gatesim.trace import Section, Story, digest, sha256, write


def events(count: int) -> list[Stamped]:
    return [Stamped(10 * k, LeafStopped(float(k)) if k % 2 else LeafStarted(Direction.OPENING, float(k)))
            for k in range(count)]


def spooled(given_events: list[Stamped], in_memory: int) -> spool.Spool:
    kept = spool.Spool(in_memory)
    for number, (at, event) in enumerate(given_events):
        kept.take(number, at, event)
    return kept


@settings(deadline=None, derandomize=True, max_examples=12)
@given(count=st.integers(0, 9_000), in_memory=st.integers(0, 5_000), place=st.integers(0, 8_999))
def test_what_comes_back_is_what_was_taken(count: int, in_memory: int, place: int) -> None:
    wanted = events(count)
    kept = spooled(wanted, in_memory)
    assert len(kept) == count
    assert list(kept) == wanted
    assert [type(stamped.event) for stamped in kept] == [type(stamped.event) for stamped in wanted]
    if place < count:
        assert kept[place] == wanted[place]
        assert kept[place - count] == wanted[place]


def test_a_spooled_trace_has_the_same_digest() -> None:
    wanted = events(7_000)
    plain = Story("yard", 1, "a story", (Section(Run.WHOLE, 0, None, tuple(wanted), 70_000),))
    kept = Story("yard", 1, "a story", (Section(Run.WHOLE, 0, None, spooled(wanted, 100), 70_000),))
    assert digest(kept) == digest(plain) == sha256(write(plain))


def test_memory_does_not_grow_with_the_run() -> None:
    kept = spooled(events(20_000), 50)
    assert len(kept._first) == 50
    assert len(kept._tail) < spool._BLOCK
