"""The fixed scan: when the logic is called, what it sees, and when its outputs appear."""

from __future__ import annotations

from typing import Any

import pytest

from gatesim.bench.scan import FixedScan, ScanSettings
from gatesim.bench.shapes import nothing_done
from gatesim.events import Command, Direction, Level, Origin, ReportChanged
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, Frame, ReceiverDo, ReceiverSeen, Report
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.requirements.verdict import Outcome
from gatesim.run import default_roles

REST = Report("front edge", Level.REST, True, True, False, False, 0)
SEEN = ControllerSeen(frozenset(), True, False, (REST,), False, True, 0.0, True, None, False, False, False, False)
OPEN = frozenset({(Command.OPEN, Origin.WIRED)})


class Notes:
    """Notes each call and orders what the open control says; `calls` is of the test, not of the logic."""

    class Nothing:
        def copy(self) -> Any:
            return self

    wants = "scan"

    def __init__(self, role: str = "controller") -> None:
        self.calls: list[tuple[float, Any]] = []
        self.role = role

    def start(self, settings: Any, kept: bytes | None) -> tuple[Any, Any]:
        return self.Nothing(), ReceiverDo((), (), None) if self.role == "receiver" else nothing_done("controller", None)

    def step(self, state: Any, seen: Any, now: float) -> tuple[Any, Any]:
        self.calls.append((now, seen))
        if self.role == "receiver":
            return state, ReceiverDo((), (), 5.0)
        order = Direction.OPENING if seen.controls else None
        do: ControllerDo = nothing_done("controller", None)
        return state, do._replace(order=order, wake=now + 1, watch=7.0, notices=((f"at {now}", ""),))


def drive(scan: FixedScan, images: list[tuple[float, Any]], until: float) -> list[tuple[float, Any]]:
    """Call as a host does: at each image and at each wake; the outputs with their instants."""
    state, do = scan.start(None, None)
    out, coming, seen, wake = [(0.0, do)], list(images), images[0][1], None
    while True:
        now = min(coming[0][0] if coming else until, until if wake is None else wake)
        if now >= until:
            return out
        if coming and coming[0][0] <= now:
            seen = coming.pop(0)[1]
        state, do = scan.step(state, seen, now)
        seen = seen._replace(frames=()) if hasattr(seen, "frames") else seen
        wake = do.wake
        out.append((now, do))


def test_called_at_its_scans_and_never_else() -> None:
    logic = Notes()
    drive(FixedScan("controller", logic, ScanSettings(10_000, phase=250)),
          [(100, SEEN), (3_000, SEEN._replace(force=True)), (3_500, SEEN)], 40_000)
    assert [now for now, _ in logic.calls] == [350, 10_350, 20_350, 30_350]
    # A pulse between two scans is not seen.
    assert not any(seen.force for _, seen in logic.calls)


def test_a_change_exactly_at_a_scan_is_seen_by_it() -> None:
    logic = Notes()
    drive(FixedScan("controller", logic, ScanSettings(10_000)), [(0, SEEN), (10_000, SEEN._replace(force=True))],
          15_000)
    assert [seen.force for _, seen in logic.calls] == [False, True]


@pytest.mark.parametrize(("given", "counts"), [(15_000, 20_000), (15_001, 30_000)])
def test_an_input_counts_once_it_has_lasted(given, counts) -> None:
    logic = Notes()
    drive(FixedScan("controller", logic, ScanSettings(10_000, input_filter=5_000)),
          [(0, SEEN), (given, SEEN._replace(controls=OPEN))], 50_000)
    assert next(now for now, seen in logic.calls if seen.controls) == counts


def test_a_bounce_starts_the_filter_anew_for_that_input_alone() -> None:
    logic = Notes()
    shut = SEEN._replace(at_closed=False)
    drive(FixedScan("controller", logic, ScanSettings(10_000, input_filter=9_000)),
          [(0, SEEN), (1_000, shut._replace(force=True)), (4_000, shut), (5_000, shut._replace(force=True))], 25_000)
    assert [(now, seen.at_closed, seen.force) for now, seen in logic.calls] == [
        (0, True, False), (10_000, False, False), (20_000, False, True)]


def test_position_is_not_filtered_and_the_level_of_a_report_is() -> None:
    logic = Notes()
    pressed = SEEN._replace(position=42.0, reports=(REST._replace(level=Level.PRESSED, answered=3),))
    drive(FixedScan("controller", logic, ScanSettings(10_000, input_filter=9_000)), [(0, SEEN), (5_000, pressed)],
          25_000)
    assert [(seen.position, seen.reports[0].level, seen.reports[0].answered) for _, seen in logic.calls] == [
        (0.0, Level.REST, 0), (42.0, Level.REST, 0), (42.0, Level.PRESSED, 3)]


def test_outputs_appear_after_their_delay_and_notices_once() -> None:
    out = drive(FixedScan("controller", Notes(), ScanSettings(10_000, output_delay=23_000)),
                [(0, SEEN), (5_000, SEEN._replace(controls=OPEN))], 60_000)
    first = next(now for now, do in out if do.order is Direction.OPENING)
    assert first == 33_000
    assert [text for _, do in out for text, _ in do.notices] == ["at 0", "at 10000", "at 20000", "at 30000"]
    assert {do.watch for _, do in out[1:]} == {7.0}


def test_a_receiver_gets_at_its_scan_the_frames_that_came_since() -> None:
    logic = Notes("receiver")
    frames = [Frame(1, 1, n, n, (Level.REST,), False, False, 0) for n in range(4)]
    seen = [ReceiverSeen((frame,), False, 0) for frame in frames]
    drive(FixedScan("receiver", logic, ScanSettings(10_000)),
          [(0, seen[0]), (2_000, seen[1]), (3_000, seen[2]), (12_000, seen[3])], 35_000)
    assert [[frame.counter for frame in given.frames] for _, given in logic.calls] == [[0], [1, 2], [3], []]


def test_a_copy_goes_its_own_way() -> None:
    scan = FixedScan("controller", Notes(), ScanSettings(10_000, input_filter=2_000, output_delay=15_000))
    state, _ = scan.start(None, None)
    state, _ = scan.step(state, SEEN, 0)
    fork = state.copy()
    assert fork == state
    scan.step(state, SEEN._replace(force=True), 5_000)
    assert fork != state
    assert fork.raw != state.raw


class EveryScan(ReferenceController):
    """The reference, called at scans that see nothing new as well."""

    wants = "scan"


@pytest.mark.slow
@pytest.mark.parametrize("settings", [ScanSettings(10_000), ScanSettings(20_000, 15_000, 7_000, 3_300)])
@pytest.mark.parametrize("name", ["first-look", "second-demand", "power-back-in-mid-travel", "hold-to-run"])
def test_scans_that_see_nothing_new_change_nothing(run, name, settings) -> None:
    few, every = [run(name, keep=True, controller=FixedScan("controller", inner, settings))
                  for inner in (ReferenceController(by_library=False), EveryScan(by_library=False))]
    # (A fork is looked at until the instant after its verdict is settled, and every scan is an instant.)
    assert list(few.sections[0].events) == list(every.sections[0].events)
    assert few.rows == every.rows


def reversal(result: Any) -> int:
    (row,) = [row for row in result.rows if row.requirement == "reversal-begun"]
    assert row.verdict.outcome is Outcome.PASS
    return row.verdict.figures.measured


def test_the_reference_on_a_fast_scan_reacts_hardly_later(run) -> None:
    fast = FixedScan("controller", ReferenceController(), ScanSettings(500))
    # Three steps on the way wait for a scan: end of the order, standstill, reverse order.
    assert 0 <= reversal(run("first-look", controller=fast)) - reversal(run("first-look")) <= 3 * 500


def test_late_outputs_cost_what_they_should(run) -> None:
    measured = [
        reversal(run("first-look", controller=FixedScan("controller", ReferenceController(), settings)))
        for settings in (ScanSettings(20_000), ScanSettings(20_000, output_delay=40_000))]
    # Stop and reverse order are both late; between them stands the wait for standstill, on the grid of scans.
    assert 2 * 40_000 - 20_000 <= measured[1] - measured[0] <= 2 * 40_000 + 20_000


def test_a_receiver_on_a_scan_reports_a_lost_link_on_the_grid(run) -> None:
    scan = FixedScan("receiver", default_roles().receiver, ScanSettings(100_000))
    lost = [at for at, event in run("lost-link-closing", keep=True, receiver=scan).sections[0].events
            if type(event) is ReportChanged and event.heard and not event.fresh]
    assert lost
    assert all(at % 100_000 == 0 for at in lost)
