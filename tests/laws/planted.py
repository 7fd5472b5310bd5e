"""Planted defects: the reference with one thing wrong, each of which some law must find."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NamedTuple

from gatesim.events import Level
from gatesim.plant.contactors import DirectionContactor
from gatesim.plant.leaf import Leaf
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import (
    ClassifierDo,
    ClassifierSeen,
    ClassifierSettings,
    ControllerDo,
    ControllerSeen,
    ControllerSettings,
)
from gatesim.plant.logic.controller_memory import Memory
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import Mode
from gatesim.plant.part import Out, Part

sys.path.insert(0, str(Path(__file__).parent))

from machine import AnythingMachine, Gate, TurnsMachine

from gatesim.search.doubles.base import Doubled, DoubledController
from gatesim.search.doubles.controller_level_reset import LevelReset
from gatesim.search.doubles.controller_resumes import Resumes
from gatesim.search.doubles.receiver_waits import Waits


class LookedUp(ReferenceController):
    """The reference by look-up, to be spoilt."""

    def __init__(self) -> None:
        super().__init__(by_library=False)


class DeafWhileReversing(LookedUp):
    """Hears no press while it reverses."""

    def step(self, state: Memory, seen: ControllerSeen, now: float) -> tuple[Memory, ControllerDo]:
        if state.mode is Mode.REVERSING:
            quiet = tuple([report._replace(level=Level.REST) for report in seen.reports])
            seen = seen._replace(reports=quiet, force=False)
        return super().step(state, seen, now)


class ForgetsAtPowerLoss(LookedUp):
    """Does not look into its store at power-up."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Memory, ControllerDo]:
        return super().start(settings, None)


class CountsNothing(LookedUp):
    """Every demand is the first."""

    def step(self, state: Memory, seen: ControllerSeen, now: float) -> tuple[Memory, ControllerDo]:
        state.interrupted = None
        return super().step(state, seen, now)


class ClearsTheCountAtAnyEnd(LookedUp):
    """The end that the reversal reaches clears the count, although the site does not say so."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Memory, ControllerDo]:
        return super().start(settings._replace(count_cleared_at_any_end=True), kept)


class MovesOnHealing(DoubledController):
    """Takes up its last move when what was wrong is well again."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        was = state.memory.found
        state, do = super().step(state, seen, now)
        memory: Memory = state.memory
        if was and not memory.found and memory.mode is Mode.REST and memory.direction is not None:
            return state, do._replace(order=memory.direction, main=True)
        return state, do


class ReversesTwice(LookedUp):
    """A stop that somebody pressed reverses as well."""

    def step(self, state: Memory, seen: ControllerSeen, now: float) -> tuple[Memory, ControllerDo]:
        before = state.mode
        state, do = super().step(state, seen, now)
        if before in (Mode.OPENING, Mode.CLOSING) and state.mode is Mode.STOPPING:
            state.mode = Mode.STOPPING_TO_REVERSE
        return state, do


class NeverAccepts(ReferenceClassifier):
    """No press lasts long enough."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[Any, ClassifierDo]:
        return super().start(settings._replace(debounce=10**9), kept)


class OpenIsRest(ReferenceClassifier):
    """Only looks for a reading under the band."""

    def step(self, state: Any, seen: ClassifierSeen, now: float) -> tuple[Any, ClassifierDo]:
        codes = tuple([min(code, band.high) for code, band in zip(seen.codes, state.settings.bands, strict=True)])
        return super().step(state, seen._replace(codes=codes), now)


@dataclass(frozen=True, slots=True)
class AnyOrder(DirectionContactor):
    """A contactor that closes whichever way is ordered."""

    def react(self, state: Any, now: float, seen: list[Any], out: Out) -> float:
        (order, slow), supply = seen
        return DirectionContactor.react(self, state, now, [(order and self.direction, slow), supply], out)


@dataclass(frozen=True, slots=True)
class PastTheMain(Leaf):
    """A leaf whose drive is fed past the main shut-off."""

    def react(self, state: Any, now: float, seen: list[Any], out: Out) -> float:
        return Leaf.react(self, state, now, [*seen[:2], True, *seen[3:]], out)


class Forgetful:
    """A state of which a copy forgets what was counted."""

    def __init__(self) -> None:
        self.count = 0

    def copy(self) -> Forgetful:
        return Forgetful()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Forgetful) and self.count == other.count

    __hash__ = None  # type: ignore[assignment]


@dataclass(frozen=True, slots=True)
class LosesItsCount(DirectionContactor):
    """A contactor that counts its calls in a state that is not copied whole."""

    def initial(self) -> Any:
        return Forgetful()

    def react(self, state: Any, now: float, seen: list[Any], out: Out) -> float:
        state.count += 1
        return DirectionContactor.react(self, state, now, seen, out)


def _contactors(kind: Any) -> Any:
    return lambda part: kind(part.direction) if type(part) is DirectionContactor else part


def _past_the_main(part: Part) -> Part:
    if type(part) is not Leaf:
        return part
    return PastTheMain(part.gate, part.drive, part.leaf_at)


def _no_stop(part: Part) -> Part:
    if type(part) is not Leaf:
        return part
    return replace(part, gate=replace(part.gate, travel=part.gate.travel + 50_000.0))


class Planted(NamedTuple):
    """A defect, and words of the law that finds it."""

    name: str
    found: str
    roles: tuple[tuple[str, Any], ...] = ()
    fit: Any = None
    machine: type[Gate] = TurnsMachine


PLANTED = (
    Planted("ignores a demand while reversing", "ordered on against",
            (("controller", DeafWhileReversing),), machine=AnythingMachine),
    Planted("clears the lockout at power loss", "driven in a lockout",
            (("controller", ForgetsAtPowerLoss),)),
    Planted("resets on a level", "driven in a lockout|without a command",
            (("controller", LevelReset),)),
    Planted("does not lock at the second demand", "second demand",
            (("controller", CountsNothing),)),
    Planted("clears the count at any end", "second demand",
            (("controller", ClearsTheCountAtAnyEnd),)),
    Planted("moves on healing", "without a command",
            (("controller", MovesOnHealing),)),
    Planted("goes on after a power loss", "without a command|driven in a lockout",
            (("controller", Resumes),)),
    Planted("reverses on a stop", "without a command",
            (("controller", ReversesTwice),), machine=AnythingMachine),
    Planted("watchdog never expires", "ordered on with lost-link",
            (("receiver", Waits),)),
    Planted("debounce never accepts", "ordered on against",
            (("classifier", NeverAccepts),)),
    Planted("an open loop is at rest", "ordered on with loop-open",
            (("classifier", OpenIsRest),)),
    Planted("energises both", "both directions are energised", fit=_contactors(AnyOrder)),
    Planted("the leaf ignores the main shut-off", "the leaf moves although", fit=_past_the_main),
    Planted("no stop at the end of the travel", "outside its travel", fit=_no_stop),
    Planted("a copy forgets", "not equal to it", fit=_contactors(LosesItsCount)),
)
