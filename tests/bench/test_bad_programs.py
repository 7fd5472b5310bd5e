"""Programs that go wrong: each is ended and told as what it did, and nothing is left of it."""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gatesim.bench import child as children
from gatesim.bench.child import Command
from gatesim.bench.remote import FAILURES, Remote
from gatesim.errors import BadUsage, LogicError
from gatesim.requirements.verdict import Outcome

BAD = str(Path(__file__).parent / "programs" / "bad.py")

SHORT = ("silent", "silent at hello", "stops itself", "begins a line")
"""Those that are waited for."""

WAYS = {
    "silent": r"did not answer step at 0 us within 2 s",
    "silent at hello": r"did not answer hello within 2 s",
    "stops itself": r"did not answer step at 0 us within 2 s",
    "begins a line": r"did not answer step at 0 us within 2 s \(it began a line and did not end it\)",
    "dies": r"ended with exit code 1 instead of answering step .*; its last words on stderr: 'RuntimeError: the fuse",
    "exits": r"ended with exit code 0 instead of answering step",
    "crashes": r"was ended by signal 11 \(Segmentation fault\) instead of answering step",
    "dies at hello": r"ended with exit code 7 instead of answering hello",
    "closes its output": r"closed its input or output instead of answering step",
    "closes its input": r"closed its input or output instead of answering step",
    "floods": r"answered step at 0 us with a line of more than 1048576 bytes",
    "huge": r"answered step at 0 us with a line of more than 1048576 bytes",
    "eats memory": r"ended with exit code 1 instead of answering step .*'MemoryError'",
    "banner": r"said something before it was asked hello: 'Welcome'|answered hello with (what is not|more than)",
    "two lines": r"answered step at 0 us with more than one line|said something before it was asked",
    "no UTF-8": r"answered step at 0 us with what is not JSON",
    "zeros": r"answered step at 0 us with what is not JSON",
    "no JSON": r"answered step at 0 us with what is not JSON: 'hello world'",
    "empty line": r"answered step at 0 us with what is not JSON: ' '",
    "half a line": r"""answered step at 0 us with what is not JSON: '\{"do": \{'""",
    "two values": r"answered step at 0 us with what is not JSON",
    "deep": r"answered step at 0 us with what is not JSON",
    "not a number": r"answered step at 0 us with what is not JSON",
    "infinite": r"answered step at 0 us with what is not JSON",
    "too large a number": r"do\.watch must be a number, not inf \(or null\)",
    "an array": r"must answer step at 0 us with an object, not an array",
    "a number": r"must answer step at 0 us with an object, not 5",
    "null": r"must answer step at 0 us with an object, not null",
    "wrong version": r"it speaks version 2 of the protocol; this is version 1",
    "true version": r"it speaks version true of the protocol",
    "hello is no object": r"hello must be an object, not 1",
    "no hello": r"hello must be an object, not null",
    "no name": r"hello\.name must be text, not null",
    "name is no text": r"hello\.name must be text, not 5",
    "odd wants": r"""hello\.wants must be "change" or "scan", not 'often'""",
    "odd snapshots": r"hello\.snapshots must be true or false, not 'yes'",
    "refuses hello": r"refused hello: 'not me'",
    "refuses step": r"refused step at 0 us: 'no'",
    "takes snapshots": r'must answer save 0 with \{"ok": true\}, not false',
    "no do": r"do must be an object, not null",
    "do is an array": r"do must be an object, not an array",
    "odd order": r"""do\.order must be one of "opening", "closing", not 'sideways' \(or null\)""",
    "nearly an order": r"""not 'opning'; did you mean "opening"\?""",
    "one is not true": r"do\.main must be true or false, not 1",
    "half an ask": r"do\.ask must be a whole number, not 1\.5",
    "text to watch": r"do\.watch must be a number, not '2 m'",
    "odd lockout": r'do\.lockout must be one of "none", .* not null',
    "odd brake": r'do\.brake must be one of "hold", "release", not true',
    "odd notice": r"do\.notices\[0\] must be an array of 2, not 'a'",
    "wake in the past": r"wake must lie ahead of now, 0 us, or be null; it is 0",
    "half a wake": r"wake must be a whole number, not 99999999\.5",
    "wake in do": r"wake stands beside do, not in it",
    "number to keep": r"keep must be text, not 5",
    "why is text": r"why must be an array, not 'because'",
    "in circles": r"had itself called more than 1000 times within 1000 us; its wakes lead nowhere",
}


@pytest.fixture
def bad() -> Iterator[Callable[..., Remote]]:
    """The role played by a program that goes wrong in this way."""
    made: list[Remote] = []

    def bad(way: str, role: str = "controller", within: float = 20.0, **more: object) -> Remote:
        words = (sys.executable, "-S", "-E", BAD, way)
        made.append(Remote(role, Command(words, f"{role} run:bad", within), **more))  # type: ignore[arg-type]
        return made[-1]

    yield bad
    for remote in made:
        remote.close()
    assert not children._living


def _gone(pid: int) -> bool:
    """Whether a process that was killed is gone, now or in a moment."""
    ends = time.monotonic() + 10
    while time.monotonic() < ends:
        try:
            with open(f"/proc/{pid}/stat") as status:
                if status.read().rpartition(")")[2].split()[0] == "Z":
                    return True
        except FileNotFoundError:
            return True
        os.sched_yield()
    return False


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
def test_a_bad_program_is_told_as_what_it_did(run, bad, way, monkeypatch) -> None:
    monkeypatch.setattr(children, "MEMORY", 1 << 27)
    with pytest.raises(LogicError) as told:
        run("first-look", controller=bad(way, within=2.0 if way in SHORT else 20.0))
    assert str(told.value).startswith("controller run:bad: it ")
    assert re.search(WAYS[way], str(told.value)), str(told.value)
    assert not children._living


def test_there_are_thirty_of_them_at_least() -> None:
    assert len(WAYS) >= 30


@pytest.mark.slow
def test_what_a_program_has_started_goes_with_it(run, bad) -> None:
    with pytest.raises(LogicError) as told:
        run("first-look", controller=bad("leaves children", within=2.0))
    child, parent = map(int, re.findall(r"child (\d+) of (\d+)", str(told.value))[0])
    assert _gone(child)
    assert _gone(parent)


@pytest.mark.slow
@pytest.mark.parametrize("way", ["talks on stderr", "unknown members", "none of them"])
def test_noise_on_stderr_and_unknown_members_do_no_harm(run, bad, way) -> None:
    result = run("first-look", controller=bad(way))
    # It never moves: nothing fails that needs motion, and nothing of that kind passes.
    assert {row.verdict.outcome for row in result.rows if row.requirement in (
        "reversal-begun", "reversal-distance", "edge-alone-reversal-begun")} == {Outcome.NOT_EXERCISED}
    assert result.differs


@pytest.mark.slow
def test_one_that_answers_by_chance_cannot_be_forked(run, bad, moves_by_chance) -> None:
    with pytest.raises(LogicError, match="can't be forked: asked the same again, it answered otherwise at step at"):
        run("first-look", controller=moves_by_chance)


@pytest.fixture
def moves_by_chance() -> Iterator[Remote]:
    """The reference, whose words are its process's own."""
    script = Path(__file__).parent / "programs" / "by_chance.py"
    root = Path(__file__).parents[2]
    words = ("env", f"PYTHONPATH={root}", sys.executable, str(script))
    remote = Remote("controller", Command(words, "controller run:by chance", 20.0))
    yield remote
    remote.close()


@pytest.mark.slow
def test_one_that_wants_a_scan_must_be_given_one(run, bad) -> None:
    with pytest.raises(BadUsage, match='it works on a fixed scan; say which, such as --scan "10 ms"'):
        run("first-look", controller=bad("wants scan"))
    assert not children._living


@pytest.mark.slow
def test_a_receiver_must_be_able_to_start_anew(run, bad) -> None:
    with pytest.raises(LogicError, match="can't be started anew, which a receiver must"):
        run("first-look", receiver=bad("not started anew", "receiver"))


@pytest.mark.slow
def test_one_that_cannot_be_started_anew_is_not_judged_by_power_losses(run, bad) -> None:
    rows = {row.requirement: row.verdict for row in run("alarm-and-power", controller=bad("not started anew")).rows}
    assert rows["lockout-survives-power-loss"].outcome is Outcome.NOT_EXERCISED
    assert "can't be started anew" in rows["lockout-survives-power-loss"].reason


@pytest.mark.slow
def test_one_that_goes_wrong_again_and_again_is_given_up(run, bad) -> None:
    remote = bad("exits")
    for _ in range(FAILURES):
        with pytest.raises(LogicError, match="ended with exit code 0"):
            run("first-look", controller=remote)
    with pytest.raises(LogicError, match=f"it went wrong {FAILURES} times and is not .* the last time it ended"):
        run("first-look", controller=remote)


def test_nothing_is_inherited_but_a_few_words_of_the_environment(monkeypatch) -> None:
    monkeypatch.setenv("SECRET_OF_THE_TEST", "x")
    read, write = os.pipe()
    os.set_inheritable(write, True)
    say = "import os, sys; sys.stdin.readline(); print(sorted(os.environ), os.listdir('/proc/self/fd'), flush=True)"
    child = children.Child(Command((sys.executable, "-S", "-E", "-c", say), "x", 20.0))
    try:
        said = child.ask(b"?\n", "what it has").decode()
    finally:
        child.end()
        os.close(read)
        os.close(write)
    assert "SECRET" not in said
    assert "PATH" in said
    # stdin, stdout, stderr, and the folder being listed.
    assert "['0', '1', '2', '3']" in said


@pytest.mark.slow
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_no_orphan_when_the_caller_is_ended(number, tmp_path) -> None:
    import subprocess

    root = Path(__file__).parents[2]
    note = tmp_path / "pid"
    logic = tmp_path / "waits.py"
    logic.write_text(f"""
import os, signal
open({str(note)!r}, "w").write(str(os.getpid()))
os.kill(os.getppid(), {int(number)})
signal.pause()
""")
    words = [sys.executable, "-m", "gatesim", "check", str(root / "scenarios" / "first-look.scenario.yaml"),
             "--controller", f"run:{sys.executable} -S -E {logic}"]
    done = subprocess.run(words, cwd=root, capture_output=True, text=True, check=False, timeout=60,
                          env={**os.environ, "PYTHONPATH": str(root)})
    assert done.returncode == (130 if number == signal.SIGINT else 128 + number), done.stderr
    assert _gone(int(note.read_text()))


HALFWAY = """
import os, sys
sys.path.insert(0, {root!r})
from gatesim.bench import serve
from gatesim.plant.logic.controller_reference import ReferenceController
answer, calls = serve.Served.answer, []
def until(self, request):
    calls.append(1)
    if len(calls) > {calls}:
        os._exit(9)
    return answer(self, request)
serve.Served.answer = until
serve.serve("controller", ReferenceController())
"""


@pytest.mark.slow
def test_what_a_sweep_has_found_is_kept_when_the_program_fails(tmp_path, capsys) -> None:
    from gatesim.cli.main import serve

    root = Path(__file__).parents[2]
    logic = tmp_path / "halfway.py"
    logic.write_text(HALFWAY.format(root=str(root), calls=400))
    site = root / "scenarios" / "sites" / "mill-lane.site.yaml"
    code = serve(["sweep", str(site), "--fault", "lost-link", "--fault", "loop-short", "--jobs", "1", "--budget", "8",
                  "--controller", f"run:{sys.executable} {logic}"])
    said = capsys.readouterr()
    assert code == 3
    assert "it ended with exit code 9 instead of answering" in " ".join((said.out + said.err).split())
    assert not children._living
    assert "Sweep of Mill Lane yard" in said.out
