"""The reference classifier: from converter codes to levels (docs/timing.md, section 5).

Readings are compared so that whatever is no number falls to *invalid*.  Everything off the band is a demand or a fault,
never "odd".  Battery flags are latched: they go only after a new start, with a good voltage measured since and a
press taken over since (a press, not a loop found closed at power-up).
"""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.events import Level
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen, ClassifierSettings, EdgeBand

NAME = "reference"

HIT, LEAK = 2, 1
"""What a scan off rest adds to the chatter score, and what one at rest takes from it."""


@dataclass(slots=True)
class LoopMemory:
    """What is remembered of one loop."""

    taken: Level = Level.INVALID
    reading: Level = Level.INVALID
    run: int = 0
    """Scans in a row that gave this reading."""
    score: int = 0

    def copy(self) -> LoopMemory:
        return LoopMemory(self.taken, self.reading, self.run, self.score)


@dataclass(slots=True)
class ClassifierMemory:
    """Everything that the classifier remembers."""

    settings: ClassifierSettings
    loops: list[LoopMemory]
    sample: int
    """Number of the last scan seen; 0 before the first."""
    low: bool
    critical: bool
    releasable: bool
    """Whether the flags stem from before this start, so that a new cell and a press may clear them."""
    pressed: bool = False
    """Whether a press was taken over since the start."""

    def copy(self) -> ClassifierMemory:
        return ClassifierMemory(self.settings, [loop.copy() for loop in self.loops], self.sample, self.low,
                                self.critical, self.releasable, self.pressed)


def read(code: float, band: EdgeBand, full: int) -> Level:
    """The level of one reading; a code below 0, above `full` or no number is invalid."""
    if not 0 <= code <= full:
        return Level.INVALID
    if code < band.low:
        return Level.INVALID if band.opens else Level.PRESSED
    if code <= band.high:
        return Level.REST
    if band.opens:
        return Level.PRESSED
    return Level.OPEN if code >= band.open_above else Level.HIGH


class ReferenceClassifier:
    """The classifier role as it should be."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[ClassifierMemory, ClassifierDo]:
        """Power-up.  `kept`: one byte of flags (1 low, 2 critical) from before a change of the cell, or None."""
        flags = kept[0] if kept else 0
        loops = [LoopMemory() for _ in settings.bands]
        memory = ClassifierMemory(settings, loops, 0, flags & 1 > 0, flags & 2 > 0, flags > 0)
        return memory, _put_out(memory)

    def step(
        self, state: ClassifierMemory, seen: ClassifierSeen, now: float
    ) -> tuple[ClassifierMemory, ClassifierDo]:
        """One scan; the scans since the last one seen gave the same image."""
        settings = state.settings
        # A channel stuck elsewhere or a drifting reference makes every loop's reading worthless.
        trusted = abs(seen.reference - settings.reference) <= settings.reference_slack
        full = 2 * settings.reference - 1  # equal resistors read half of full scale, rounded up
        skipped = seen.sample - state.sample - 1
        for loop, band, code in zip(state.loops, settings.bands, seen.codes, strict=True):
            if state.sample == 0:
                loop.taken = loop.reading = read(code, band, full) if trusted else Level.INVALID
                loop.run = 1
                continue
            if skipped > 0:
                _pass_over(loop, skipped)
            if _one(loop, read(code, band, full) if trusted else Level.INVALID, settings):
                state.pressed = state.pressed or loop.taken is Level.PRESSED
        state.sample = seen.sample
        _battery(state, seen.cell_mv)
        return state, _put_out(state)


def _pass_over(loop: LoopMemory, scans: int) -> None:
    """So many scans in a row with the last reading, which is the level taken over: only the score leaks."""
    if loop.reading is Level.REST:
        loop.score = max(0, loop.score - LEAK * scans)


def _one(loop: LoopMemory, reading: Level, settings: ClassifierSettings) -> bool:
    """One scan of one loop; whether a level was taken over."""
    was = loop.taken
    loop.run = loop.run + 1 if reading is loop.reading else 1
    loop.reading = reading
    if reading is Level.REST:
        loop.score = max(0, loop.score - LEAK)
    elif was is Level.REST:
        loop.score += HIT
    needed = settings.debounce if reading in (Level.REST, Level.PRESSED) else settings.fault_debounce
    if reading is not was and loop.run >= needed:
        # A level that lasts comes before chatter at the same scan: a press is a demand, not only a fault.
        if was is Level.INVALID:
            loop.score = 0
        loop.taken = reading
    elif was is Level.REST and loop.score >= settings.chatter_limit:
        loop.taken = Level.INVALID
    return loop.taken is not was


def _battery(state: ClassifierMemory, voltage: float | None) -> None:
    settings = state.settings
    if voltage is None or settings.low_mv is None or settings.critical_mv is None:
        return
    good = voltage >= settings.low_mv
    if state.releasable and state.pressed and good:
        state.low = state.critical = state.releasable = False
    # "not >=": a voltage that is no number is critical.
    if not good:
        state.low = True
    if not voltage >= settings.critical_mv:
        state.critical = True


def _put_out(state: ClassifierMemory) -> ClassifierDo:
    levels = tuple([loop.taken for loop in state.loops])
    again = any(loop.reading is not loop.taken for loop in state.loops)
    return ClassifierDo(levels, state.low, state.critical, again)


CLASSIFIER = ReferenceClassifier()
