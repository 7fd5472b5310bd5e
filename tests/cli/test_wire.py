"""`gatesim bench` and `gatesim wiring`: what a user sees of them."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from gatesim.bench.wire.points import Point, Table, Wiring
from gatesim.cli.codes import Exit
from gatesim.cli.main import serve
from gatesim.report.wiring_text import COLUMNS, as_csv

ROOT = Path(__file__).parents[2]
SITE = str(ROOT / "scenarios" / "sites" / "mill-lane.site.yaml")
STOP = str(ROOT / "scenarios" / "brief" / "stop.scenario.yaml")
ANY = ("--listen", "127.0.0.1:0")


@pytest.mark.slow
def test_the_reference_is_shown_on_the_wire(capsys) -> None:
    code = serve(["bench", STOP, *ANY, "--reference", "--speed", "4", "--late", "2 s", "--lost-after", "9 s"])
    said = capsys.readouterr()
    assert code in (Exit.AS_EXPECTED, Exit.DIFFERS), said  # on a busy machine the reference is slow
    assert ("Outcome: as expected." in said.out) is (code == Exit.AS_EXPECTED)
    assert "Reaction times on the wire" in said.out
    assert "uncertain by up to" in said.out
    assert said.err.startswith("serving on 127.0.0.1:")


@pytest.mark.slow
def test_too_late_is_undetermined_and_differs(capsys) -> None:
    code = serve(["bench", STOP, *ANY, "--reference", "--speed", "8", "--late", "1 us", "--lost-after", "9 s",
                  "--format", "json"])
    said = json.loads(capsys.readouterr().out)
    assert (code, said["outcome"], said["timing"]["runs"][0]["too_late"]) == (1, "undetermined", True)
    assert "pass" not in {row["outcome"] for row in said["scenario"]["verdicts"]}
    assert said["reactions"] == []


def test_nobody_comes(capsys) -> None:
    assert serve(["bench", STOP, *ANY, "--ready-within", "20 ms"]) == 3
    assert "no controller was ready within 0.02 s: nobody is connected" in capsys.readouterr().err


@pytest.mark.parametrize(("args", "why"), [
    (("--listen", "0.0.0.0:1502"), "--beyond-loopback"), (("--listen", "here"), "expected ADDRESS:PORT"),
    (("--late", "5"), "--late 5"), (("--speed", "0"), "--speed"), (("--lost-after", "1 mm"), "--lost-after"),
])
def test_what_is_asked_wrongly_is_refused(args, why, capsys) -> None:
    assert serve(["bench", STOP, *args]) == 2
    assert why in capsys.readouterr().err


def test_ctrl_c_ends_it_cleanly() -> None:
    process = subprocess.Popen([sys.executable, "-m", "gatesim", "bench", STOP, *ANY], stderr=subprocess.PIPE,
                               text=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)})
    try:
        assert process.stderr is not None
        assert process.stderr.readline().startswith("serving on")
        process.send_signal(signal.SIGINT)
        rest = process.stderr.read()
        assert (process.wait(10), rest.strip()) == (130, "interrupted")
    finally:
        process.kill()
        process.wait()
        process.stderr.close()


def test_the_wiring_in_all_formats_is_the_same(capsys, tmp_path) -> None:
    assert serve(["wiring", SITE]) == 0
    text = capsys.readouterr().out
    assert serve(["wiring", SITE, "--format", "json"]) == 0
    said = json.loads(capsys.readouterr().out)
    file = tmp_path / "wiring.csv"
    assert serve(["wiring", SITE, "--format", "csv", "--output", str(file)]) == 0
    rows = list(csv.DictReader(file.read_text().splitlines()))
    assert [{**row, "address": int(row["address"]), "count": int(row["count"])} for row in rows] == said["points"]
    assert tuple(rows[0]) == COLUMNS
    assert f"map hash {said['map_hash']}" in text
    assert all(point["name"] in text for point in said["points"])
    assert all(one in {point["name"] for point in said["points"]} for one in ("order open", "at closed", "heartbeat"))


def test_a_name_is_no_formula() -> None:
    point = Point(Table.DISCRETE, 0, 1, "=1+1", "@x")
    assert as_csv(Wiring((point,), (), 1, 1, 0, 0, 0)).splitlines()[1] == "discrete input,0,1,'=1+1,'@x"
