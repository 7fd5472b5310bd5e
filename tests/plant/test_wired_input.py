"""An edge on a wired input."""

from __future__ import annotations

import sys
from pathlib import Path

from gatesim.events import Level, LevelChanged, ReportChanged
from gatesim.plant import wires
from gatesim.plant.nets import OPEN_WIRE
from gatesim.plant.site import Monitoring
from gatesim.plant.wires import Loop, ReferenceCode, ReportLine, ScanClock, StripPressed

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import MS, Run, S, Set, begins, pull, wired_site


def said(run: Run) -> list[tuple[float, Level, bool, bool]]:
    return [(at / MS, event.level, event.heard, event.fresh) for at, event in run.all(ReportChanged)]


def test_reports_in_the_instant_of_the_scan() -> None:
    run = Run(wired_site()).at(0).at(5000 * MS, pull(StripPressed("edge"), True)).at(6 * S)
    assert said(run) == [(3, Level.REST, True, True), (5013, Level.PRESSED, True, True)]


def test_broken_wire_and_drifted_reference() -> None:
    run = Run(wired_site()).at(0).at(5000 * MS, begins(Set(OPEN_WIRE), Loop("edge"))).at(6 * S)
    assert said(run)[-1] == (5033, Level.OPEN, True, True)
    run = Run(wired_site()).at(0).at(5000 * MS, begins(Set(520), ReferenceCode("in"))).at(6 * S)
    assert said(run)[-1] == (5033, Level.INVALID, True, True)


def test_request_is_answered_at_the_first_scan_strictly_later() -> None:
    run = Run(wired_site()).at(0).at(5003 * MS, pull(wires.Ask(), 1))
    assert run.level(ReportLine("edge")).answered == 0
    assert run.at(5012 * MS).level(ReportLine("edge")).answered == 0
    assert run.at(5013 * MS).level(ReportLine("edge")).answered == 1
    assert len(said(run)) == 1  # an answer is no change of the report


def test_dead_scanner_does_not_answer() -> None:
    run = Run(wired_site()).at(0).at(4 * S, begins(Set(False), ScanClock("in")))
    run.at(5 * S, pull(wires.Ask(), 1)).at(9 * S)
    assert run.level(ReportLine("edge")).answered == 0


def test_starts_anew_when_the_supply_returns() -> None:
    run = Run(wired_site()).at(0).at(5 * S, pull(wires.Supply(), False)).at(6 * S, pull(StripPressed("edge"), True))
    run.at(7000 * MS, pull(wires.Supply(), True)).at(8 * S)
    assert said(run)[1:] == [(5000, Level.INVALID, False, False), (7003, Level.PRESSED, True, True)]
    assert run.all(LevelChanged)[-1] == (7003 * MS, LevelChanged("edge", Level.PRESSED))


def test_monitoring_says_whether_it_can_be_asked() -> None:
    assert Run(wired_site()).at(0).level(ReportLine("edge")).asked
    assert not Run(wired_site(monitoring=Monitoring.CONTINUOUSLY)).at(0).level(ReportLine("edge")).asked


def test_fork_has_the_same_future() -> None:
    run = Run(wired_site()).at(0).at(5 * S, pull(StripPressed("edge"), True)).at(5004 * MS)
    fork = run.fork()
    run.at(6 * S)
    assert run.all(LevelChanged)[1:] == [(5013 * MS, LevelChanged("edge", Level.PRESSED))]
    assert fork.world != run.world
    assert fork.at(6 * S).world == run.world
    assert fork.trace == run.trace


def test_request_with_an_old_number_is_not_answered_in_advance() -> None:
    run = Run(wired_site()).at(0).at(S, pull(wires.Ask(), 5)).at(2 * S)
    assert run.level(ReportLine("edge")).answered == 5
    run.at(2500 * MS, begins(Set(False), ScanClock("in"))).at(3 * S, pull(wires.Ask(), 1)).at(4 * S)
    assert run.level(ReportLine("edge")).answered == 0
