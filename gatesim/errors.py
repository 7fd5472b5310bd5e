"""Errors: whose fault it is decides the class, and the class decides the exit code."""

from __future__ import annotations

from typing import NamedTuple


class Trouble(NamedTuple):
    """One fault of a file: where, what, and what would be legal."""

    file: str
    line: int
    column: int
    message: str
    hint: str = ""

    def __str__(self) -> str:
        said = f"{self.file}:{self.line}:{self.column}: {self.message}"
        return f"{said}; {self.hint}" if self.hint else said


class GatesimError(Exception):
    """Base of all that gatesim raises on purpose."""

    exit_code = 3


class BadInput(GatesimError):
    """The user's files: all their faults at once."""

    exit_code = 2

    def __init__(self, troubles: tuple[Trouble, ...]) -> None:
        super().__init__(troubles)
        self.troubles = troubles

    def __str__(self) -> str:
        return "\n".join(str(trouble) for trouble in self.troubles)


class BadUsage(GatesimError):
    """The command line or a call asks for something that does not exist."""

    exit_code = 2


class NothingFound(GatesimError):
    """There was nothing to work on."""

    exit_code = 5


class ModelError(GatesimError):
    """The model contradicts itself (our fault, or a part's from outside)."""


class LogicError(GatesimError):
    """Logic under test died or answered outside its contract."""
