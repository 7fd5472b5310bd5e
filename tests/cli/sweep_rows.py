"""A sweep's rows by hand: one of each sort that a format must tell apart."""

from __future__ import annotations

from typing import Any

from gatesim.events import Direction, FoundBy
from gatesim.search.classes import Class
from gatesim.search.ground import Phase
from gatesim.search.moments import Coverage, Worst
from gatesim.search.pairs import Paired, PairRow, When
from gatesim.search.sweep import Latent, Row
from gatesim.search.ways import Factor, WayRow, Ways


def row(device: str = "front edge", fault: str = "loop-open", **more: Any) -> Row:
    """A row that is as it must be, but for what is said otherwise."""
    usual = Row(fault, device, Direction.CLOSING, None, Phase.TRAVEL, "permanent", FoundBy.CONTINUOUSLY, True, "",
                Class.SAFE, Worst(Class.SAFE, "fault-in-motion", 900_000, 2_000_000, 5_000_000, ""), 900_001, 40,
                Coverage.EXACT, "", (), (1_000, 9_000_000), {Class.SAFE: 8_999_001}, ((1_000, 1_100_000),), None,
                frozenset({1}), 0.1)
    return usual._replace(**more)


def rows(device: str = "front edge") -> list[Row]:
    """Good, late, undetermined, incomplete, sampled, and a residual risk."""
    late = Worst(Class.LATE, "fault-in-motion", 2_500_000, 2_000_000, 4_000_000, "fault-in-motion: too late")
    given_up = Worst(Class.UNDETERMINED, "", None, None, 1_000, "given up")
    quiet = Worst(Class.NO_EFFECT, "", None, None, 1_000, "")
    latent = Latent(8, 8, 3, 2, 7_000, 1_500, 1_000, (("edge-alone-reversal-begun", "no reversal"),), (1_000,),
                    (8, 3, 2), (), 24, Coverage.SAMPLED, "8 contacts tried", ())
    return [
        row(device),
        row(device, "loop-short", outcome=Class.LATE, worst=late),
        row(device, "weak-contact", outcome=Class.UNDETERMINED, worst=given_up),
        row(device, "corroded-joint", coverage=Coverage.INCOMPLETE, bound=None, why="8 us were not reached",
            gaps=((2_000, 2_003), (4_000, 4_003))),
        row(device, "leakage-slow", coverage=Coverage.SAMPLED, bound=None, why="int() was called"),
        row(device, "edge-torn-loose", found=FoundBy.PRESS_TEST, outcome=Class.LATENT, worst=quiet, latent=latent),
    ]


GOOD, BAD = ("loop-open", "leakage-slow", "edge-torn-loose"), ("loop-short", "weak-contact", "corroded-joint")


def paired(device: str = "front edge") -> Paired:
    """One pair that could not be told, one graver than each alone; one was not made."""
    worst = Worst(Class.UNSAFE, "reversal-begun", None, None, 2_000, "reversal-begun: no reversal")
    told = PairRow("loop-open", device, "contact", "", Direction.CLOSING, None, When.LATENT, 1_000, Class.LATENT,
                   Class.SAFE, Class.UNSAFE, worst, None, 4, Coverage.SAMPLED, "a grid", (), (1_000, 2_000), 0.1)
    open_ = told._replace(then="lost-link", then_device=device, outcome=Class.UNDETERMINED)
    return Paired((told, open_), 1)


def combined(device: str = "front edge") -> Ways:
    """One combination answered late, one well."""
    late = WayRow({"device": device, "direction": "closing"}, 1_000, Class.LATE, None, "too late")
    return Ways(2, (Factor("device", (device,)), Factor("direction", ("closing",))),
                (late, late._replace(outcome=Class.SAFE, why="")), 0)
