"""How fast lock-step is, there and back and in a sweep.  By hand: `.venv/bin/python tests/benchmarks/lockstep.py`.

Compiles docs/examples/lockstep/gate.c with gcc.  Prints medians; nothing is judged here.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from gatesim.bench.child import Child, Command
from gatesim.bench.codec import changes, codec
from gatesim.bench.remote import Remote, line_of
from gatesim.cli import known
from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen, ControllerSettings, Report
from gatesim.plant.operator import controller_settings
from gatesim.run import default_roles
from gatesim.search.ground import Phase
from gatesim.search.sweep import Bench

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "docs" / "examples" / "lockstep"
SITE = known.site(ROOT / "scenarios" / "sites" / "mill-lane.site.yaml")
ROUNDS = 20_000


def round_trip(words: tuple[str, ...]) -> tuple[float, int]:
    """Median of a step there and back (us), and the bytes of the request."""
    settings = controller_settings(SITE)
    reports = tuple(Report(edge.edge, Level.REST, True, True, False, False, 0) for edge in settings.edges)
    seen = ControllerSeen(frozenset(), True, False, reports, False, True, 0.0, True, None, False, False, False, False)
    child = Child(Command(words, "the example", 20.0))
    hello = {"gatesim-logic": 1, "role": "controller", "settings": codec(ControllerSettings).dump(settings)}
    child.ask(line_of({"hello": hello}), "hello")
    child.ask(line_of({"start": {"kept": None}}), "start")
    whole = changes(ControllerSeen, None, seen)
    whole["reports"] = whole["reports"][:1]
    child.ask(line_of({"step": {"now": 0, "seen": changes(ControllerSeen, None, seen)}}), "step")
    took = []
    for k in range(ROUNDS):
        line = line_of({"step": {"now": k + 1, "seen": whole}})
        begun = time.perf_counter()
        child.ask(line, "step")
        took.append(time.perf_counter() - begun)
    child.leave()
    return statistics.median(took) * 1e6, len(line)


def floor() -> float:
    """Median of a line to `cat` and back (us): what two processes cost on this machine whatever they say."""
    process = subprocess.Popen(["cat"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0)
    assert process.stdin is not None
    assert process.stdout is not None
    line, took = b"x" * 400 + b"\n", []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        process.stdin.write(line)
        process.stdout.read(1 << 16)
        took.append(time.perf_counter() - begun)
    process.stdin.close()
    process.wait()
    process.stdout.close()
    return statistics.median(took) * 1e6


def sweep(words: tuple[str, ...] | None) -> float:
    """Runs a second of processor time, the program's own among it, of two faults' rows."""
    roles = default_roles()
    remote = None
    if words is not None:
        remote = Remote("controller", Command(words, "the example", 20.0))
        roles = roles._replace(controller=remote)
    bench = Bench(SITE, roles, 1, (Phase.TRAVEL,))
    runs, begun = 0, _processor()
    for task in bench.tasks(("lost-link", "loop-short")):
        runs += bench.row(task, 2.0).runs
    if remote is not None:
        remote.close()  # only then its processor time is known
    return runs / (_processor() - begun)


def _processor() -> float:
    """Processor seconds of this process and of all that it has ended."""
    mine, children = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return mine.ru_utime + mine.ru_stime + children.ru_utime + children.ru_stime


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        gate = f"{folder}/gate"
        subprocess.run(["gcc", "-O2", "-o", gate, str(EXAMPLES / "gate.c"), "-lm"], check=True)
        print(f"{'(cat)':12} {floor():6.1f} us there and back (401 bytes)")
        for name, words in (("C", (gate,)), ("Python", (sys.executable, str(EXAMPLES / "gate.py"))),
                            ("JavaScript", ("node", str(EXAMPLES / "gate.js")))):
            median, size = round_trip(words)
            rate = sweep(words)
            print(f"{name:12} {median:6.1f} us there and back ({size} bytes), {rate:6.0f} runs/s in a sweep")
        print(f"{'(no program)':12} {sweep(None):.0f} runs/s in a sweep")


if __name__ == "__main__":
    main()
