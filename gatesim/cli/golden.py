"""Golden traces beside their scenarios: read, compared, accepted."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from gatesim.cli.codes import Exit, worst
from gatesim.cli.talk import Talk, write_whole
from gatesim.errors import BadInput, BadUsage
from gatesim.report import told
from gatesim.report.assemble import story_of
from gatesim.report.golden_text import Beside, State
from gatesim.report.told import Golden, beside
from gatesim.report.trace_diff import difference
from gatesim.run import RunResult

LARGEST = 64 * 2**20
"""Bytes of a golden trace at most."""


def read_golden(file: str) -> Golden:
    """A golden trace.  BadInput with its faults, BadUsage where it can't be read."""
    try:
        with open(file, "rb") as opened:
            data = opened.read(LARGEST + 1)
    except OSError as error:
        raise BadUsage(f"cannot read {file}: {error.strerror}") from None
    if len(data) > LARGEST:
        raise BadUsage(f"cannot read {file}: it is longer than {LARGEST} bytes")
    return told.read(data.decode("utf-8", "replace"), file)


def compare(scenario: str, run: RunResult) -> Beside:
    """The run against the golden trace beside the scenario."""
    golden = beside(scenario)
    if not Path(golden).exists():
        return Beside(scenario, golden, State.NONE)
    try:
        found = difference(read_golden(golden), story_of(run))
    except (BadInput, BadUsage) as error:
        return Beside(scenario, golden, State.BROKEN, why=str(error))
    return Beside(scenario, golden, State.AGREES if found.same else State.DIFFERS, found)


def accept(talk: Talk, scenario: str, run: RunResult) -> None:
    """Write the run's golden trace beside the scenario, where it is not there as it is."""
    file, text = beside(scenario), told.written(told.golden_of(run.sections[0], run.seed)).encode()
    if _holds(Path(file), text):
        return
    write_whole(file, text)
    talk.note(f"written: {file}")


def _holds(path: Path, text: bytes) -> bool:
    try:
        return path.read_bytes() == text
    except OSError:  # it is not there, or `write_whole` says what is wrong with it
        return False


def code_of(compared: Sequence[Beside]) -> Exit:
    """What the golden traces mean for the shell: with none at all there was nothing to compare."""
    codes = {State.AGREES: Exit.AS_EXPECTED, State.NONE: Exit.AS_EXPECTED, State.DIFFERS: Exit.DIFFERS,
             State.BROKEN: Exit.BAD_INPUT}
    if compared and all(one.state is State.NONE for one in compared):
        return Exit.NOTHING_FOUND
    return worst(codes[one.state] for one in compared)
