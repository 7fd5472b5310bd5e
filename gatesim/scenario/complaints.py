"""What is wrong with a site, collected: each complaint with its place, the reason and a remedy."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from gatesim.scenario.strict import TreePath
from gatesim.units import Dimension, format_quantity


class Complaint(NamedTuple):
    """One thing that does not fit, at a place of the site file."""

    path: TreePath
    message: str
    remedy: str
    warning: bool = False


Say = Callable[[TreePath, str, str], None]


class Notes:
    """Collects complaints under a path."""

    def __init__(self) -> None:
        self.made: list[Complaint] = []

    def error(self, path: TreePath, message: str, remedy: str) -> None:
        self.made.append(Complaint(path, message, remedy))

    def warn(self, path: TreePath, message: str, remedy: str) -> None:
        self.made.append(Complaint(path, message, remedy, warning=True))

    def above_zero(self, table: object, path: TreePath, *names: str) -> None:
        for name in names:
            if getattr(table, name) <= 0:
                self.error((*path, name), f"{name} is zero", "it must be above zero")


def duration(value: float) -> str:
    """A duration for a message."""
    return format_quantity(round(value), Dimension.DURATION)


def length(value: float) -> str:
    """A length for a message."""
    return format_quantity(value, Dimension.LENGTH)
