"""--units and the lanes of `gatesim run`, as a user meets them: in a pipe, on a terminal, without colour."""

from __future__ import annotations

import io
import json
import os
import re
import sys

import pytest


def test_a_run_shows_its_lanes_in_plain_marks_in_a_pipe(gatesim, scenario) -> None:
    out = gatesim("run", scenario).out
    assert out.isascii()
    for lane in ("seconds", "position", "speed opening >", "speed closing <", "force", "loop front edge"):
        assert re.search(rf"^{lane} +\S", out, re.MULTILINE), lane
    for said in ("0 to 4.60 m\n", "0.20 m/s\n", "234 N\n", "kohm\n"):
        assert said in out


def test_us_units_on_all_that_a_run_says(gatesim, scenario) -> None:
    out = gatesim("run", scenario, "--units", "us").out
    for said in ("0 to 15 ft 1.1 in", "ft/s", "lbf", "7 ft"):
        assert said in out
    assert not re.search(r"\d (mm|m|m/s|N)\b(?! \()", out)


@pytest.mark.parametrize("command", ["check", "run"])
def test_both_systems_say_the_same_figures(gatesim, scenario, command) -> None:
    said = {units: gatesim(command, scenario, "--units", units, "-v").out for units in ("si", "us")}
    assert gatesim(command, scenario, "-v").out == said["si"]
    si = re.findall(r"travel after the edge actuated: measured (\S+) mm, limit (\S+) mm", said["si"])
    us = re.findall(r"travel after the edge actuated: measured (\S+) in, limit (\S+) in", said["us"])
    assert si
    for ours, theirs in zip(si, us, strict=True):
        for mm, inch in zip(ours, theirs, strict=True):
            assert float(inch) * 25.4 == pytest.approx(float(mm), abs=0.05 + 0.0127)


def test_the_choice_does_not_outlast_the_call(gatesim, scenario) -> None:
    before = gatesim("run", scenario).out
    gatesim("run", scenario, "--units", "us")
    assert gatesim("run", scenario).out == before


def test_a_plan_in_us_units(gatesim, site) -> None:
    out = gatesim("plan", site, "--units", "us").out
    for said in ("0.0 in to 15 ft 1.1 in", "ft/s", "must be less than 1.000 in", "-4 degF"):
        assert said in out
    assert "mm/s" not in out
    # The fixing schedule has both columns in either system.
    holes = re.findall(r"^  hole .*", out, re.MULTILINE)
    assert holes
    assert all(re.search(r"hole +\d+ +\S+ mm +\S+ in  ", hole) for hole in holes)


@pytest.mark.parametrize("command", ["run", "check", "plan"])
def test_json_is_for_programs_and_knows_one_system(gatesim, scenario, site, command) -> None:
    file = site if command == "plan" else scenario
    said = gatesim(command, file, "--units", "us", "--format", "json")
    assert said.code == 2
    assert "--units us is for text" in said.err
    assert not said.out
    assert json.loads(gatesim(command, file, "--units", "si", "--format", "json").out)


class _Screen(io.TextIOWrapper):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("term", "encoding", "blocks"), [
    ("xterm", "utf-8", True), ("dumb", "utf-8", False), ("xterm", "ascii", False)])
def test_blocks_where_a_terminal_shows_them(monkeypatch, term, encoding, blocks) -> None:
    from gatesim.cli.talk import Talk

    monkeypatch.setenv("TERM", term)
    monkeypatch.setattr(sys, "stdout", _Screen(io.BytesIO(), encoding=encoding))
    assert Talk().blocks(None) is blocks
    assert Talk().blocks("-") is blocks
    assert not Talk().blocks("file.txt")


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo terminal on this system")
def test_a_terminal_gets_colour_unless_it_is_unwanted(scenario) -> None:
    import subprocess

    def seen(**environment: str) -> str:
        master, slave = os.openpty()
        with subprocess.Popen(
            [sys.executable, "-m", "gatesim", "run", str(scenario)], stdout=slave, stderr=slave,
            env={"PATH": os.environ["PATH"], "PYTHONPATH": os.pathsep.join(sys.path), "TERM": "xterm-256color",
                 "PYTHONUTF8": "1", **environment},
        ) as process:
            os.close(slave)
            said = b""
            while True:
                try:
                    part = os.read(master, 65536)
                except OSError:
                    break
                if not part:
                    break
                said += part
            process.wait()
        os.close(master)
        return said.decode()

    with_colour, without = seen(), seen(NO_COLOR="1")
    assert "\x1b[36m" in with_colour
    assert "\x1b[36m" not in without
    assert "\u2588" in without
