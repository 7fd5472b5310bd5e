"""Run every command of an installed gatesim on copied scenarios, with nothing of the checkout in reach.

    python .ci/every_command.py PROGRAM SCENARIOS

PROGRAM is the installed `gatesim`, SCENARIOS the folder to copy.  Exit code 1 where a command is missing in the table
below, or does not end as it says there.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SITE, FILE = "scenarios/sites/mill-lane.site.yaml", "scenarios/first-look.scenario.yaml"
FEW = ["scenarios/first-look.scenario.yaml", "scenarios/bad-watchdog-too-long.scenario.yaml", SITE]
REFERENCE = "gatesim.plant.logic.controller_reference:ReferenceController"
RUNS: dict[str, list[tuple[int, list[str]]]] = {
    "band": [(0, [SITE])],
    "bench": [(3, ["scenarios/brief/stop.scenario.yaml", "--listen", "127.0.0.1:0", "--ready-within", "300 ms"])],
    "check": [(0, [*FEW, "--format", "json", "-o", "check.json"])],
    "compare": [(0, [SITE, "--controller", REFERENCE, "--stories", "2", "--budget", "5"])],
    "completion": [(0, ["bash"])],
    "conform": [(0, [SITE, "--controller", REFERENCE, "--scenarios", FILE, "--stories", "0", "--no-sweep"])],
    "coverage": [(0, [FILE])],
    "diagram": [(0, [FILE, "--run", FILE, "-o", "states.svg"])],
    "diff": [(0, ["trace.jsonl", "trace.jsonl"])],
    "doubles": [(1, [FILE, "--double", "watchdog-wraps", "--jobs", "1"])],
    "explain": [(0, ["reversal-begun"]), (0, ["loop-open"])],
    "fmt": [(0, ["--check", "scenarios"])],
    "history": [(0, ["--store", "kept.sqlite"])],
    "init": [(0, ["new"])],
    "judge": [(0, ["trace.jsonl", "--site", SITE])],
    "list": [(0, [what]) for what in ("faults", "requirements", "controllers", "doubles")],
    "losses": [(0, [SITE, "--loss", "1 %", "--at", "5 s"])],
    "plan": [(0, [SITE])],
    "replay": [(0, [FILE])],
    "run": [(0, [FILE, "--trace", "trace.jsonl"])],
    "schema": [(0, [kind]) for kind in ("site", "scenario", "check")],
    "settings": [(0, [])],
    "shorten": [(5, [FILE])],
    "sweep": [(0, [SITE, "--fault", "sounder-dead", "--budget", "0.5", "--save", "one", "--store", "kept.sqlite",
                   "--jobs", "1"])],
    "upgrade": [(0, ["--check", "scenarios"])],
    "watch": [(130, [FILE])],
    "wiring": [(0, [SITE])],
}
"""Of each command, what it is run with, and how that ends.  Nobody drives the bench; `shorten` finds nothing in a
scenario that passes, and one scenario alone misses the double."""
FIRST = ("run", "sweep", "init")
"""What the others need."""


def main(program: str, scenarios: str) -> int:
    """Run them all; how many went wrong."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(scenarios, Path(folder, "scenarios"))
        there = commands(program, folder)
        for name in sorted(there ^ set(RUNS)):
            print(f"{name}: {'no run for it here' if name in there else 'is no command'}")
            wrong += 1
        for name in (*FIRST, *(name for name in sorted(there & set(RUNS)) if name not in FIRST)):
            for expected, args in RUNS[name]:
                wrong += not ends(program, folder, name, args, expected)
        made = subprocess.run([program, "check", "new"], cwd=folder, capture_output=True, check=False)
        wrong += made.returncode != 0
    return wrong


def commands(program: str, folder: str) -> set[str]:
    """What `--help` lists."""
    said = subprocess.run([program, "--help"], cwd=folder, capture_output=True, text=True, check=True).stdout
    listed = said.partition("\nCommands:\n")[2].partition("\n\n")[0]
    return {line.split()[0] for line in listed.splitlines() if line[:3].startswith("  ") and line[2] != " "}


def ends(program: str, folder: str, name: str, args: list[str], expected: int) -> bool:
    """Run one, and say whether it ended as expected."""
    begun = time.monotonic()
    run = subprocess.Popen([program, name, *args], cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                           stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": ""})
    if name == "watch":
        assert run.stderr is not None
        run.stderr.readline()  # it has judged once
        run.send_signal(signal.SIGINT)
    try:
        out, err = run.communicate(timeout=60)
    except subprocess.TimeoutExpired:
        run.terminate()  # it ends what it has started, too
        out, err = run.communicate()
    good = run.returncode == expected and "Traceback" not in err
    print(f"{'as expected' if good else 'WRONG'}: {name} {' '.join(args)} ({run.returncode}, "
          f"{time.monotonic() - begun:.1f} s)")
    if not good:
        print(out[-2000:], err[-2000:])
    return good


if __name__ == "__main__":
    sys.exit(min(main(*sys.argv[1:]), 1))
