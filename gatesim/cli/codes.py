"""Exit codes, and the one place that says which failure has which."""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntEnum

from gatesim.errors import GatesimError


class Exit(IntEnum):
    """What the program tells the shell."""

    AS_EXPECTED = 0
    DIFFERS = 1
    BAD_INPUT = 2
    OUR_FAULT = 3
    NOTHING_FOUND = 5
    INTERRUPTED = 130


_GRAVITY = (Exit.INTERRUPTED, Exit.OUR_FAULT, Exit.BAD_INPUT, Exit.DIFFERS, Exit.NOTHING_FOUND, Exit.AS_EXPECTED)


def worst(codes: Iterable[Exit]) -> Exit:
    """Several outcomes in one call: 3 before 2 before 1."""
    return min(codes, key=_GRAVITY.index, default=Exit.AS_EXPECTED)


def code_of(error: BaseException) -> Exit:
    """The code of a failure: whose fault it is stands in the error's class."""
    if isinstance(error, KeyboardInterrupt):
        return Exit.INTERRUPTED
    if isinstance(error, GatesimError):
        return Exit(error.exit_code)
    return Exit.OUR_FAULT
