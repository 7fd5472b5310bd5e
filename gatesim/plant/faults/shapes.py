"""Shapes that several kinds share: what happens to what passes, without a word on where.

A shape has no id; each kind keeps its own file, id and texts.
"""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.plant.fault import Steady
from gatesim.plant.part import state
from gatesim.units import FOREVER


class Value(Steady):
    """A fault is a value: equal to any other of its kind with the same figures.

    Written once here, so that a kind may be a dataclass without methods of its own for it: that halves the time to load
    the catalogue.
    """

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and vars(self) == vars(other)

    def __hash__(self) -> int:
        return hash((type(self).__qualname__, *vars(self).values()))

    def __repr__(self) -> str:
        figures = ", ".join(f"{name}={value!r}" for name, value in vars(self).items())
        return f"{type(self).__name__}({figures})"


class Held(Value):
    """The wire carries `level`, whatever is put on it.  It acts once that makes a difference."""

    acts_on_begin: ClassVar[bool] = False
    level: ClassVar[Any]

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.level


@state
class Caught:
    """Whether it is stuck yet, and at what."""

    stuck: bool
    level: Any


class Latched(Value):
    """The wire keeps `level` from the first time that it carries it."""

    acts_on_begin: ClassVar[bool] = False
    level: ClassVar[Any] = True

    def initial(self) -> Caught:
        return Caught(False, None)

    def passes(self, state: Caught, value: Any, now: float) -> Any:
        state.stuck = state.stuck or value == self.level
        return self.level if state.stuck else value


class Frozen(Value):
    """The wire keeps what it carries when the fault begins."""

    acts_on_begin: ClassVar[bool] = False

    def initial(self) -> Caught:
        return Caught(False, None)

    def passes(self, state: Caught, value: Any, now: float) -> Any:
        if not state.stuck:
            state.stuck, state.level = True, value
        return state.level


class Cut(Value):
    """Every message is lost, from the instant it begins."""

    acts_on_begin: ClassVar[bool] = True

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return ()


@state
class Beat:
    """Whether the disturbance is there now, and until when (negative: not begun)."""

    there: bool
    until: float


class Beating(Value):
    """The disturbance comes for `lasts` and goes for `gap` (us), again and again, in its own time."""

    acts_on_begin: ClassVar[bool] = True
    lasts: int
    gap: int

    def initial(self) -> Beat:
        return Beat(True, -1.0)

    def tick(self, state: Beat, now: float) -> tuple[Any, ...]:
        if state.until < 0:
            state.until = now + self.lasts
        elif state.until <= now:
            state.there = not state.there
            state.until = now + (self.lasts if state.there else self.gap)
        return ()

    def deadline(self, state: Beat, now: float) -> float:
        return state.until if state.until >= 0 else now


@state
class Waiting:
    """Messages on hold, each with its instant, in order; and how many were put on hold so far."""

    held: tuple[tuple[float, Any], ...]
    count: int


class Late(Value):
    """Every message comes later than it should, in its order.  What is on hold when the fault ends is lost."""

    acts_on_begin: ClassVar[bool] = False

    def initial(self) -> Waiting:
        return Waiting((), 0)

    def delay(self, count: int) -> float:
        """How late the next message comes (us), after so many."""
        raise NotImplementedError

    def relays(self, state: Waiting, message: Any, now: float) -> tuple[Any, ...]:
        due = now + self.delay(state.count)
        if state.held and state.held[-1][0] > due:
            due = state.held[-1][0]
        state.held, state.count = (*state.held, (due, message)), state.count + 1
        return ()

    def tick(self, state: Waiting, now: float) -> tuple[Any, ...]:
        released = tuple([message for due, message in state.held if due <= now])
        state.held = state.held[len(released):]
        return released

    def deadline(self, state: Waiting, now: float) -> float:
        return state.held[0][0] if state.held else FOREVER
