"""Logic with planted windows: it misses a change for good if that comes just after one of its own check-ins."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierDo, ClassifierSeen, ClassifierSettings


@dataclass(slots=True)
class Deaf:
    """What the deaf classifier remembers: the reference's memory, the last codes, and the scan of its next check-in."""

    inner: Any
    codes: tuple[int, ...]
    check_in: Any
    missed: bool

    def copy(self) -> Deaf:
        return Deaf(self.inner.copy(), self.codes, self.check_in, self.missed)


class DeafClassifier:
    """It works on changes; every so many scans it sends a check-in, and a change first seen by that scan is lost.

    From then on it takes the codes for what they were before.  Everything else is the reference's.
    """

    def __init__(self, scans: int, first: int) -> None:
        self.right, self.scans, self.first = ReferenceClassifier(), scans, first

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[Deaf, ClassifierDo]:
        memory, do = self.right.start(settings, kept)
        return Deaf(memory, (), self.first, False), do

    def step(self, state: Deaf, seen: ClassifierSeen, now: float) -> tuple[Deaf, ClassifierDo]:
        while seen.sample > state.check_in:  # comparisons only: a remainder would leave what can be proved
            state.check_in += self.scans
        if state.codes and seen.codes != state.codes and not state.missed and seen.sample >= state.check_in:
            state.missed = True
        if state.missed:
            seen = seen._replace(codes=state.codes)
        else:
            state.codes = seen.codes
        state.inner, do = self.right.step(state.inner, seen, now)
        return state, do
