"""Combinations of flags for people: how many meet, and every one that is not answered as it must be."""

from __future__ import annotations

from collections import Counter

from rich.console import Console
from rich.text import Text

from gatesim.search.ways import HEALTHY, Ways


def draw(console: Console, ways: Ways) -> None:
    """The combinations of a sweep."""
    console.print()
    console.print(Text(f"Combinations: any {ways.strength} of these meet in every way", style="bold"))
    for factor in ways.factors:
        console.print(f"  {factor.name}: {', '.join(factor.values)}")
    counts = Counter(row.outcome.value for row in ways.rows)
    said = ", ".join(f"{count} {what}" for what, count in sorted(counts.items()))
    console.print(f"{len(ways.rows)} combinations, one run each, the faults begun together: {said}")
    for row in ways.rows:
        if row.differs:
            values = ", ".join(f"{name} {value}" for name, value in row.values.items() if value != HEALTHY)
            console.print(Text(f"! {row.outcome.value}, {row.why}: {values}; from {row.at / 1e6:.6f} s on",
                               style="bold"))
    if ways.missing:
        console.print(f"{ways.missing} combinations were not run: not every one of {ways.strength} has met")
