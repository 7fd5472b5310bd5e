"""Logic of one's own, from the command line: fixed scan, forks, what is refused."""

from __future__ import annotations

import pytest


def test_the_scan_shows_in_the_figures(gatesim, scenario) -> None:
    plain = gatesim("run", scenario)
    slow = gatesim("run", scenario, "--scan", "50 ms", "--input-filter", "20 ms", "--output-delay", "10 ms")
    assert plain.code == slow.code == 0
    assert plain.out != slow.out


def test_a_receiver_can_be_on_the_scan(gatesim, scenario) -> None:
    said = gatesim("run", scenario, "--scan", "50 ms", "--scan-role", "receiver")
    assert said.code == 0
    assert said.out != gatesim("run", scenario).out


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--scan", "10"), "--scan 10: '10' needs a unit"),
        (("--scan", "0 s"), "out of range; must be between 10 us and"),
        (("--scan", "10 ms", "--input-filter", "x"), "--input-filter x: 'x' does not start with a number"),
        (("--output-delay", "10 ms"), "--output-delay says more about --scan, which is not given"),
        (("--input-filter", "10 ms"), "--input-filter says more about --scan, which is not given"),
    ],
)
def test_a_bad_scan_is_refused(gatesim, scenario, options, message) -> None:
    said = gatesim("check", scenario, *options)
    assert said.code == 2
    assert message in said.err


LOGIC = """
from gatesim.plant.logic.controller_reference import ReferenceController

class Own:
    def __init__(self):
        self.inner = ReferenceController()
    def start(self, settings, kept):
        self.memory, do = self.inner.start(settings, kept)
        return None, do
    def step(self, state, seen, now):
        self.memory, do = self.inner.step(self.memory, seen, now)
        return None, do

ONE = Own()
"""


@pytest.mark.parametrize("name", ["Own", "ONE"])
def test_a_controller_without_copy_is_replayed_and_that_is_said(gatesim, scenario, tmp_path, name) -> None:
    (tmp_path / "own.py").write_text(LOGIC)
    plain = gatesim("check", scenario, "--format", "json")
    said = gatesim("check", scenario, "--format", "json", "--controller", f"{tmp_path / 'own.py'}:{name}")
    assert said.out == plain.out
    assert said.err.count("forks of it are made by playing all its calls again, which is slower") == 1


def test_a_sweep_forks_it_as_well(gatesim, site, tmp_path) -> None:
    (tmp_path / "own.py").write_text(LOGIC)
    spec = f"{tmp_path / 'own.py'}:Own"
    said = gatesim("sweep", site, "--fault", "loop-short", "--budget", 4, "--jobs", 2, "--controller", spec)
    assert said.code in (0, 1)
    assert "loop-short" in said.out
    assert said.err.count("playing all its calls again") == 1
