"""Exit codes."""

from __future__ import annotations

import pytest

from gatesim.cli.codes import Exit, code_of, worst
from gatesim.errors import BadInput, BadUsage, LogicError, ModelError, NothingFound


@pytest.mark.parametrize(
    ("codes", "code"),
    [
        ((), Exit.AS_EXPECTED),
        ((Exit.AS_EXPECTED, Exit.DIFFERS), Exit.DIFFERS),
        ((Exit.DIFFERS, Exit.BAD_INPUT, Exit.AS_EXPECTED), Exit.BAD_INPUT),
        ((Exit.BAD_INPUT, Exit.OUR_FAULT, Exit.DIFFERS), Exit.OUR_FAULT),
    ],
)
def test_three_before_two_before_one(codes, code) -> None:
    assert worst(codes) is code


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (BadInput(()), 2),
        (BadUsage(""), 2),
        (NothingFound(""), 5),
        (ModelError(""), 3),
        (LogicError(""), 3),
        (KeyError(), 3),
        (KeyboardInterrupt(), 130),
    ],
)
def test_the_class_of_a_failure_says_whose_fault_it_is(error, code) -> None:
    assert code_of(error) == code
