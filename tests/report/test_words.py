"""Every event kind has its own words, and they never say less than the event."""

from __future__ import annotations

from typing import Any, NamedTuple, get_type_hints

import pytest

from gatesim import events as e
from gatesim.report.words import LANES, tell
from gatesim.trace import kinds

_VALUES: dict[str, Any] = {
    "command": e.Command.OPEN,
    "origin": e.Origin.WIRED,
    "direction": e.Direction.CLOSING,
    "side": e.Side.OPEN,
    "guard": e.Guard.CLOSING,
    "found": e.FoundBy.NEVER,
    "level": e.Level.PRESSED,
    "levels": (e.Level.REST,),
    "lockout": e.Lockout.BOTH,
    "brake": e.Brake.HOLD,
    "order": e.Direction.OPENING,
    "x": 1e6,
    "v": -0.2,
    "a": 0.0,
    "counter": 3,
    "samples": 4,
    "blind": True,
    "ohm": 8200.0,
    "force": 1e5,
    "gap": 1e5,
    "overtravel": 1.0,
}


def _made(kind: Any) -> Any:
    text: dict[Any, Any] = {str: "name", bool: True}
    hints = get_type_hints(kind)
    return kind(
        *(
            _VALUES[f] if f in _VALUES and not (f == "level" and hints[f] is float) else text.get(hints[f], 1.0)
            for f in kind._fields
        )
    )


@pytest.mark.parametrize(
    "kind", [kind for kind in kinds().values() if kind.__module__ == "gatesim.events"], ids=lambda kind: kind.__name__
)
def test_every_common_kind_has_words(kind) -> None:
    who, sentence = tell(_made(kind))
    assert who in LANES
    assert sentence
    assert kind.__name__ not in sentence
    assert "<" not in sentence, "an enum or object shows its insides"


def test_a_kind_from_elsewhere_is_told_by_its_name() -> None:
    class BeamBroken(NamedTuple):
        beam: str
        direction: e.Direction

    assert tell(BeamBroken("front", e.Direction.CLOSING)) == ("gate", "beam broken: beam front, direction closing")


def test_orders_tell_what_changed() -> None:
    rest = e.OrdersChanged(None, False, True, e.Brake.HOLD, False, e.Lockout.NONE, False, "at rest")
    locked = rest._replace(lockout=e.Lockout.ENTRAPMENT, alarm=True)
    assert tell(locked, rest) == ("controller", "sounds the alarm, LOCKS OUT: entrapment")
    assert tell(rest, locked) == ("controller", "ends the alarm, lifts the lockout")


def test_a_lost_link_is_never_told_as_fresh() -> None:
    assert "NOT FRESH" in tell(e.ReportChanged("front", e.Level.REST, True, False, False, False))[1]
    assert "not yet heard" in tell(e.ReportChanged("front", e.Level.REST, False, False, False, False))[1]
