"""Stepping through a run: which line comes next, and what may be shown of it.

The player is a plain value; keys go in, text comes out, and whoever drives it owns terminal and clock.  With
`hidden` only what a person at the gate can see is shown (people, leaf, alarm), until the cause is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gatesim.report.run_text import Line

VISIBLE = ("person", "gate", "alarm")
HELP = "n next, b back, p play, v verdict, r reveal or hide the cause, q quit"


@dataclass
class Player:
    """Where one stands in a story.  `place` counts the lines shown so far."""

    lines: Sequence[Line]
    verdict: str
    hidden: bool = False
    place: int = 0

    def forth(self) -> str:
        """The next line that may be shown."""
        while self.place < len(self.lines):
            self.place += 1
            if self.shows(self.lines[self.place - 1]):
                return self.shown(self.lines[self.place - 1])
        return "the run ends here (v: verdict, b: back)"

    def back(self) -> str:
        """One shown line back; that line again."""
        place = self.place - 1
        while place > 0 and not self.shows(self.lines[place - 1]):
            place -= 1
        if place <= 0:
            self.place = 0
            return "at the beginning (n: next)"
        self.place = place
        return self.shown(self.lines[place - 1])

    def reveal(self) -> str:
        """Switch between what can be seen at the gate and everything; revealing tells what was hidden so far."""
        self.hidden = not self.hidden
        if self.hidden:
            return "fault, cause and verdict are hidden"
        missed = [self.shown(line) for line in self.lines[: self.place] if line.who not in VISIBLE]
        return "\n".join(missed) or "nothing was hidden so far"

    def end(self) -> str:
        """Jump to the verdict; while hidden, say so instead."""
        if self.hidden:
            return "the verdict is hidden (r: reveal)"
        self.place = len(self.lines)
        return self.verdict

    def pause(self, speed: float) -> float:
        """Seconds until the next line at this speed (1: as at the gate), at most 5."""
        if not 0 < self.place < len(self.lines):
            return 0.0
        after = next((line for line in self.lines[self.place :] if self.shows(line)), None)
        return 0.0 if after is None else min(5.0, (after.at - self.lines[self.place - 1].at) / 1e6 / speed)

    def shows(self, line: Line) -> bool:
        """Whether this line may be shown now."""
        return not self.hidden or line.who in VISIBLE

    def shown(self, line: Line) -> str:
        """A line as text."""
        return f"{line.at / 1e6:10.3f} s  {line.strip}  {line.who:<10}  {line.sentence}"
