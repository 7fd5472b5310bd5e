"""Logic from outside in our own process, and forks of it.

A state with a `copy()` of its own is forked by that, as ours is.  Plain data (numbers, text, enums, and lists, dicts,
tuples, sets and dataclasses of them) is copied all the way down.  Anything else, `None` and the logic itself among it,
may have parts that nobody sees, so its forks are made by playing all its calls again to a new object of its class.
That is slower and just as exact; it is said once, and a logic that answers otherwise the second time is refused.
"""

from __future__ import annotations

import copy
from collections import deque
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

from gatesim.bench.shapes import SHAPES
from gatesim.errors import LogicError

_LEAVES = (int, float, complex, str, bytes, Enum, type(None))
_SHALLOW = (dict, list, set, frozenset, bytearray, tuple, deque)
"""Their own `copy` leaves what is inside them shared."""


class NotPlain(Exception):
    """Something that can't be copied by looking at it."""


def copied(value: Any) -> Any:
    """An independent equal value of plain data.  NotPlain for anything else."""
    if isinstance(value, _LEAVES) or hasattr(value, "late"):
        return value  # a number that remembers (search) is a number
    kind = type(value)
    if kind in (list, set, frozenset, deque):
        return kind([copied(item) for item in value])
    if kind is dict:
        return {copied(key): copied(item) for key, item in value.items()}
    if kind is bytearray:
        return bytearray(value)
    if kind is tuple:
        return tuple([copied(item) for item in value])
    if isinstance(value, tuple) and hasattr(kind, "_make"):
        return kind._make([copied(item) for item in value])
    if is_dataclass(value):
        return _copied_dataclass(value)
    raise NotPlain(kind.__name__)


def _copied_dataclass(value: Any) -> Any:
    names = [field.name for field in fields(value)]
    if set(getattr(value, "__dict__", ())) - set(names):
        raise NotPlain(type(value).__name__)
    new = copy.copy(value)
    for name in names:
        object.__setattr__(new, name, copied(getattr(value, name)))
    return new


def copies_itself(value: Any) -> bool:
    """Whether a state has a `copy()` of its own that can be trusted."""
    return not isinstance(value, _SHALLOW) and callable(getattr(type(value), "copy", None))


class Call:
    """One call of a line of history: what was given, what was answered, and the call before it."""

    __slots__ = ("answer", "before", "given")

    def __init__(self, before: Call | None, given: tuple[Any, ...], answer: Any) -> None:
        self.before, self.given, self.answer = before, given, answer

    def since_start(self) -> list[Call]:
        """All calls up to this one, the first one first."""
        calls: list[Call] = []
        call: Call | None = self
        while call is not None:
            calls.append(call)
            call = call.before
        return calls[::-1]


class Line:
    """A state that has no `copy()` of its own, with the calls that led to it."""

    __slots__ = ("last", "live", "logic", "value")

    def __init__(self, logic: Any, value: Any, last: Call, *, live: bool = True) -> None:
        self.logic, self.value, self.last, self.live = logic, value, last, live

    def copy(self) -> Line:
        """A fork: of plain data a copy, else a line that is played again when it is next called."""
        if self.live and self.value is not None:
            try:
                return Line(self.logic, copied(self.value), self.last)
            except NotPlain:
                pass
        return Line(None, None, self.last, live=False)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Line) and (
            self.last is other.last or (self.live and other.live and bool(self.value == other.value)))

    __hash__ = None  # type: ignore[assignment]


class UnderTest:
    """Logic from outside: whatever it raises, or answers outside its contract, is its own LogicError.

    `make` gives a new object of it, or is None where there is only the one; `say` is told once that forks are replayed.
    """

    def __init__(self, role: str, spec: str, logic: Any, make: Callable[[], Any] | None = None,
                 say: Callable[[str], None] | None = None) -> None:
        self.said, self.logic, self.does = f"{role} {spec}", logic, SHAPES[role].do
        self._make, self._say = make, say
        self._in_lines = False
        self.power_cycles = bool(getattr(logic, "power_cycles", True))

    def start(self, settings: Any, kept: bytes | None) -> tuple[Any, Any]:
        """The logic's own `start`."""
        logic = self._new() if self._in_lines and self._make is not None else self.logic
        state, do = self._answer("start", logic.start, settings, kept)
        if copies_itself(state):
            return state, do
        self._note(state, logic)
        return Line(logic, state, Call(None, (settings, kept), do)), do

    def step(self, state: Any, seen: Any, now: float) -> tuple[Any, Any]:
        """The logic's own `step`."""
        if type(state) is Line:
            return self._line_step(state, seen, now)
        new, do = self._answer("step", self.logic.step, state, seen, now)
        if type(new) is not type(state) and not copies_itself(new):
            raise LogicError(f"{self.said}: start gave a state with a copy(), step a {type(new).__name__} without one")
        return new, do

    def _line_step(self, line: Line, seen: Any, now: float) -> tuple[Line, Any]:
        if not line.live:
            self._play_again(line)
        line.value, do = self._answer("step", line.logic.step, line.value, seen, now)
        line.last = Call(line.last, (seen, now), do)
        return line, do

    def _play_again(self, line: Line) -> None:
        logic = self._new()
        first, *rest = line.last.since_start()
        value, do = self._answer("start", logic.start, *first.given)
        self._same(do, first, "start")
        for call in rest:
            value, do = self._answer("step", logic.step, value, *call.given)
            self._same(do, call, f"{call.given[1]} us")
        line.logic, line.value, line.live = logic, value, True

    def _same(self, do: Any, call: Call, when: str) -> None:
        if do != call.answer:
            raise LogicError(f"{self.said} can't be forked: called again with the same, it answered otherwise at "
                             f"{when}; give its state a copy(), or let it depend on nothing but its calls")

    def _new(self) -> Any:
        if self._make is None:
            raise LogicError(f"{self.said} can't be forked: its state has no copy(), and it is one object; "
                             f"name its class instead, so that a new one can be made")
        return self._make()

    def _note(self, state: Any, logic: Any) -> None:
        if self._in_lines:
            return
        self._in_lines = True
        try:
            if state is None:
                raise NotPlain
            copied(state)
        except NotPlain:
            what = "the logic itself" if state is logic else "None" if state is None else type(state).__name__
            if self._say is not None:
                self._say(f"{self.said}: its state is {what}, without a copy(); forks of it are made by playing all "
                          f"its calls again, which is slower")

    def _answer(self, call: str, method: Any, *args: Any) -> tuple[Any, Any]:
        when = f" at {args[2]} us" if call == "step" else ""
        try:
            answer = method(*args)
        except Exception as error:
            raise LogicError(f"{self.said} died in {call}{when}: {type(error).__name__}: {error}") from error
        if not isinstance(answer, tuple) or len(answer) != 2 or not isinstance(answer[1], self.does):
            raise LogicError(
                f"{self.said} must answer {call} with (state, {self.does.__name__}){when}; it gave {_shown(answer)}"
            )
        return answer


def _shown(answer: Any) -> str:
    if isinstance(answer, tuple):
        return f"({', '.join(type(part).__name__ for part in answer)})"
    return type(answer).__name__
