"""How fast it is on this machine.  Run by hand: `python tests/benchmarks/speed.py`; figures are reported, never judged.

Aims: `gatesim --help` 0.15 s, first verdict 0.5 s, all shipped scenarios 5 s.  Commands: median and best of 15 by the
wall clock, and the median of their processor time, which a busy machine changes less.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]


def seconds(*args: str, times: int = 15) -> tuple[float, float, float]:
    """A command in a process of its own: median and best by the wall clock, median processor time."""
    walls, works = [], []
    for _ in range(times):
        begin, before = time.perf_counter(), _children()
        subprocess.run([sys.executable, "-m", "gatesim", *args], cwd=ROOT, capture_output=True, check=False)
        walls.append(time.perf_counter() - begin)
        works.append(_children() - before)
    return median(walls), min(walls), median(works)


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


DAY = """format: gatesim-scenario/1
title: A day
teaches: Nothing; it is long.
site: {site}
ends: "24 h"
steps:
  - at: "1 s"
    every: "{every} s"
    times: {times}
    do: command
    command: open
    origin: portable radio
  - at: "{half} s"
    every: "{every} s"
    times: {times}
    do: command
    command: close
    origin: portable radio
expect:
  - requirement: no-nuisance-stop
"""


JUDGE = """
import resource, sys
from gatesim.cli.main import serve
code = serve(["check", sys.argv[1], "-q"])
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
sys.exit(code)
"""


def a_day(site: str, every: int) -> tuple[float, float, float]:
    """Seconds, processor seconds and MB of one 24-hour scenario of this site, judged, its trace hashed."""
    with tempfile.TemporaryDirectory(dir=ROOT / "scenarios") as folder:
        file = Path(folder) / "day.scenario.yaml"
        times = 24 * 3600 // every
        file.write_text(DAY.format(site=f"../sites/{site}.site.yaml", every=every, half=every // 2, times=times))
        command = [sys.executable, "-c", JUDGE, str(file)]
        begin, before = time.perf_counter(), _children()
        ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        return time.perf_counter() - begin, _children() - before, float(ran.stdout.split()[-1])


def main() -> None:
    """Print every figure."""
    for site, every in (("orchard-row", 70), ("mill-lane", 60)):
        took, work, memory = a_day(site, every)
        cycles = 24 * 3600 // every
        print(
            f"{'24 h, ' + site:<24} {took:7.1f} s   aim 30 s; processor {work:.1f} s; "
            f"{cycles} cycles, {memory:.0f} MB, aim 150 MB"
        )
    first = str(sorted((ROOT / "scenarios").glob("*.scenario.yaml"))[0])
    for name, aim, args in (
        ("--help", 0.15, ("--help",)),
        ("first verdict", 0.5, ("check", first)),
        ("all shipped scenarios", 5.0, ("check", "scenarios")),
    ):
        middle, best, work = seconds(*args, times=5 if args[-1] == "scenarios" else 15)
        print(f"{name:<24} {middle:7.3f} s   aim {aim} s; best {best:.3f} s, processor {work:.3f} s")
    print(f"{'largest child':<24} {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:7.0f} MB  aim 150 MB")


if __name__ == "__main__":
    main()
