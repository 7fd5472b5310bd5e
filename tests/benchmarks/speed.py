"""How fast it is on this machine.  Run by hand: `python tests/benchmarks/speed.py`; figures are reported, never judged.

Aims: `gatesim --help` 0.15 s, first verdict 0.5 s, all shipped scenarios 5 s.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]


def seconds(*args: str, times: int = 5) -> float:
    """The best wall-clock time of a command in a process of its own."""
    best = float("inf")
    for _ in range(times):
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-m", "gatesim", *args], cwd=ROOT, capture_output=True, check=False)
        best = min(best, time.perf_counter() - begin)
    return best


def main() -> None:
    """Print every figure."""
    first = str(sorted((ROOT / "scenarios").glob("*.scenario.yaml"))[0])
    for name, aim, args in (
        ("--help", 0.15, ("--help",)),
        ("first verdict", 0.5, ("check", first)),
        ("all shipped scenarios", 5.0, ("check", "scenarios")),
    ):
        print(f"{name:<24} {seconds(*args):7.3f} s   aim {aim} s")
    print(f"{'largest child':<24} {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:7.0f} MB  aim 150 MB")


if __name__ == "__main__":
    main()
