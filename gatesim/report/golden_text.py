"""Runs beside their golden traces, for people and for programs."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import Any, NamedTuple

from gatesim.report import diff_text
from gatesim.report.plain import Page
from gatesim.report.trace_diff import Difference, How

MOST = 12
"""Lines of a difference that are shown; `gatesim diff` shows all."""


class State(Enum):
    """How a scenario's run stands to its golden trace."""

    AGREES = "agrees"
    DIFFERS = "differs"
    NONE = "has none"
    BROKEN = "cannot be read"


class Beside(NamedTuple):
    """A scenario's golden trace, and how the run differs from it; `why`: what can't be read in it."""

    scenario: str
    golden: str
    state: State
    found: Difference | None = None
    why: str = ""


def draw(console: Page, compared: Sequence[Beside]) -> None:
    """Print those that differ, and how many there are of each."""
    console.print()
    for one in compared:
        if one.state is State.BROKEN:
            console.print(f"ERROR        {one.golden}", style="bold magenta", markup=False, soft_wrap=True)
            for line in one.why.splitlines():
                console.print(f"    {line}", markup=False, soft_wrap=True)
        if one.state is State.DIFFERS and one.found is not None:
            console.print(f"CHANGED      {one.golden}", style="bold red", markup=False, soft_wrap=True)
            diff_text.draw(console, one.found, frames=False, most=MOST, margin="  ")
    counts = [one.state for one in compared]
    said = ", ".join(f"{counts.count(state)} {words}" for state, words in _COUNTED if state in counts)
    console.print(f"golden traces: {said or 'none'}", style="bold", markup=False, soft_wrap=True)


_COUNTED = ((State.AGREES, "agree"), (State.DIFFERS, "changed"), (State.BROKEN, "cannot be read"),
            (State.NONE, "scenarios have none (--accept writes one)"))


def golden_object(compared: Sequence[Beside]) -> list[dict[str, Any]]:
    """The same for programs."""
    return [{"file": one.scenario, "golden": one.golden, "state": one.state.value, "changes": _changes(one),
             "why": one.why or None} for one in compared]


def _changes(one: Beside) -> int | None:
    if one.found is None:
        return None
    return sum(pair.how is not How.SAME for part in one.found.parts for pair in (*part.pairs, *part.frames))
