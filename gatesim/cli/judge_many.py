"""Judging many scenario files, in turn or by several processes at once, with the same results in the same order."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import NamedTuple

from gatesim.cli.judge_file import Ran, judge_file
from gatesim.cli.roles import load_roles
from gatesim.cli.wanted import Wanted
from gatesim.errors import LogicError
from gatesim.plant.logic.contract import Roles

Say = Callable[[str], None]
AT_A_TIME = 4
"""Files that a process is given at once (ours): few enough that all end together."""


def judge_many(files: Sequence[str], logic: Wanted, seed: int | None, jobs: int, say: Say) -> Iterator[Ran]:
    """Judge files in their order, with this logic, by so many processes (1: by this one).

    Other processes keep the runs, with their traces, to themselves: then `run` is None in all.

    `say` is told what a user should know of how the logic is run.  Leaving the loop early ends the processes.
    """
    alone = jobs == 1 or len(files) < 2
    # What is wrong with the logic is said here, once, before anything is judged.
    roles = load_roles(logic, say if alone else None)
    if alone:
        return (judge_file(file, roles, seed) for file in files)
    return _side_by_side(files, logic, seed, min(jobs, len(files)), say)


def _side_by_side(files: Sequence[str], logic: Wanted, seed: int | None, jobs: int, say: Say) -> Iterator[Ran]:
    pool = ProcessPoolExecutor(jobs, initializer=_begin, initargs=(logic, seed))
    try:
        for ran, notes in pool.map(_judge, files, chunksize=AT_A_TIME):
            for note in notes:
                say(note)
            yield ran
    except BrokenProcessPool:
        raise LogicError("a process that judged has died, and the logic under test with it; --jobs 1 shows where"
                         ) from None
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


class _Bench(NamedTuple):
    """What a process judges with."""

    roles: Roles
    seed: int | None
    notes: list[str]


_bench: _Bench | None = None


def _begin(logic: Wanted, seed: int | None) -> None:
    global _bench
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent says when to end
    notes: list[str] = []
    _bench = _Bench(load_roles(logic, notes.append), seed, notes)


def _judge(file: str) -> tuple[Ran, tuple[str, ...]]:
    """A file's result, and what is to be known of how the logic was run."""
    assert _bench is not None
    ran = judge_file(file, _bench.roles, _bench.seed)
    notes = tuple(_bench.notes)
    _bench.notes.clear()
    return ran._replace(run=None), notes
