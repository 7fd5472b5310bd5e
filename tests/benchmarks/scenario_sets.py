"""A set of many scenarios, by `gatesim check` and by pytest, in one process and in two.  Run by hand; never judged.

Aims: pytest at most 2 times as long as `check` on the same files; two processes at least 1.6 times as fast as one, on
500 scenarios of 40 ms.  `python tests/benchmarks/scenario_sets.py [COUNT]`.

Beside the wall clock, processor time is given: all of it, and that of the longest way through (the first process, and
the busiest of the others).  On a machine that has other things to do, only the second says how two processes scale.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from importlib.metadata import entry_points
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
TICKS = os.sysconf("SC_CLK_TCK")
EVERY = 0.05
LISTED = 3
"""Requirements that a scenario lists: as many as those that ship list in the mean; each is an item of pytest's."""
OURS = () if "gatesim" in entry_points(group="pytest11").names else ("-p", "gatesim.pytest_plugin")
PLUGINS = (*OURS, "-p", "no:pytest_cov", "-p", "no:hypothesispytest")
"""Ours, and no other that would have to be loaded."""


class Took(NamedTuple):
    """Seconds: by the clock, of all processors, of the first process, of the busiest other one."""

    wall: float
    work: float
    first: float
    busiest: float

    @property
    def longest(self) -> float:
        """The longest way through."""
        return self.first + self.busiest


def took(*command: str, folder: Path) -> Took:
    """Run a command of this Python there, looking at what each of its processes has used (Linux only)."""
    used: dict[int, float] = {}
    env = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1"}
    begun = time.perf_counter()
    with subprocess.Popen([sys.executable, *command], cwd=folder, env=env, stdout=subprocess.DEVNULL,
                          stderr=subprocess.DEVNULL) as process:
        while process.poll() is None:
            for pid in _family(process.pid):
                used[pid] = max(used.get(pid, 0.0), _used(pid))
            with suppress(subprocess.TimeoutExpired):
                process.wait(EVERY)
    wall = time.perf_counter() - begun
    if process.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)} ended with {process.returncode}")
    first = used.pop(process.pid, 0.0)
    return Took(wall, first + sum(used.values()), first, max(used.values(), default=0.0))


def _family(pid: int) -> list[int]:
    """A process and its descendants."""
    try:
        said = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    except OSError:
        return []
    return [pid, *(below for child in said.split() for below in _family(int(child)))]


def _used(pid: int) -> float:
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / TICKS


def a_set(folder: Path, count: int) -> None:
    """As many scenarios of some 40 ms: the one that the README's readers see first, each with a seed of its own."""
    (folder / "sites").mkdir()
    site = "sites/mill-lane.site.yaml"
    (folder / site).write_text((ROOT / "scenarios" / site).read_text())
    text, head, listed = (ROOT / "scenarios/first-look.scenario.yaml").read_text().partition("expect:\n")
    text += head + "".join(listed.splitlines(keepends=True)[:LISTED])
    for number in range(count):
        (folder / f"s{number:04}.scenario.yaml").write_text(text.replace("seed: 11", f"seed: {number}"))


def main() -> None:
    """Print every figure."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    pytest = ("-m", "pytest", "-q", "-p", "no:cacheprovider", *PLUGINS)
    check = ("-m", "gatesim", "check", ".", "-q")
    ways = {
        "check": check, "check --jobs 2": (*check, "--jobs", "2"),
        "pytest": (*pytest, "-p", "no:xdist"),
        "pytest -n 2 --dist loadfile": (*pytest, "-n", "2", "--dist", "loadfile"),
    }
    with tempfile.TemporaryDirectory() as name:
        a_set(Path(name), count)
        found = {way: took(*command, folder=Path(name)) for way, command in ways.items()}
    print(f"{count} scenarios, load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors; seconds")
    for way, one in found.items():
        print(f"{way:<28} wall {one.wall:7.2f}   processors {one.work:7.2f}   longest way {one.longest:7.2f}")
    print(f"pytest / check               {found['pytest'].work / found['check'].work:5.2f}   aim 2 at most")
    for one, two in (("check", "check --jobs 2"), ("pytest", "pytest -n 2 --dist loadfile")):
        ratio = found[one].longest / found[two].longest
        clock = found[one].wall / found[two].wall
        print(f"{one} / {two:<26} {ratio:5.2f} by the longest way, {clock:.2f} by the clock; aim 1.6 at least")


if __name__ == "__main__":
    main()
