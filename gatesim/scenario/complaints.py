"""What is wrong with a site, collected: each complaint with its place, the reason and a remedy."""

from __future__ import annotations

from typing import NamedTuple

from gatesim.scenario.strict import TreePath


class Complaint(NamedTuple):
    """One thing that does not fit, at a place of the site file."""

    path: TreePath
    message: str
    remedy: str
    warning: bool = False


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
