"""The contract of a part: parameters in, an instant at a time, everything that changes in its state.

A *part* is a frozen value of its parameters.  It names the wires it reads and writes; the world carries the
values (and lets faults distort them), calls `react` when an input changed, a stimulus came or the deadline
that the part gave is reached, and never otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, fields
from enum import IntEnum
from typing import Any, ClassVar, Protocol, TypeVar, dataclass_transform

from gatesim.events import Event, Stimulus


class Phase(IntEnum):
    """The order inside one instant; ties are settled by it and by nothing else."""

    ARRIVE = 0
    EXPIRE = 1
    SENSE = 2
    DECIDE = 3
    DRIVE = 4


@dataclass(frozen=True, slots=True)
class Wire:
    """Something that carries a value from the part that writes it to the parts that read it.

    Each kind of wire is a subclass; `of` names the device it belongs to ("" where a site has one).
    `messages` wires carry things one by one to exactly one reader; all others carry a level.
    """

    of: str = ""
    messages: ClassVar[bool] = False
    title: ClassVar[str] = "wire"

    def __str__(self) -> str:
        return f"{self.title} of {self.of}" if self.of else self.title


class Out(Protocol):
    """What a part may do while it reacts."""

    stimuli: tuple[Stimulus, ...]

    def put(self, k: int, value: object) -> None:
        """Set the level on (or send one message over) the part's k-th output wire."""

    def event(self, event: Event) -> None:
        """Record that something happened."""

    def draw(self, stream: int, below: int) -> int:
        """The next number of a named stream, 0 <= n < below, from seed and counter alone."""


class State(Protocol):
    """A part's state: slotted, flat, holding nothing that can be changed from elsewhere."""

    def copy(self) -> Any:
        """An independent equal state."""


class Part(Protocol):
    """One part of the plant.

    `react` may change `state` in place, write outputs and record events; it returns the next instant at
    which it could matter although no input changes (`units.FOREVER` for none).  `seen[k]` is the value on
    `reads()[k]`; a message wire gives a tuple of the messages that came since the last call.
    `initial` gives the state before anything happened; every part is called once at the start.
    """

    phase: ClassVar[Phase]
    rank: ClassVar[int]
    takes: ClassVar[tuple[type[Stimulus], ...]]

    @property
    def name(self) -> str:
        """The device's name; stimuli whose `device` equals it come here."""

    def reads(self) -> tuple[Wire, ...]:
        """Input wires, in the order of `seen`."""

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        """Output wires with the level each has before anything is written."""

    def streams(self) -> tuple[str, ...]:
        """Names of the random streams this part draws from, in the order of `Out.draw`."""

    def initial(self) -> Any:
        """The state at the start."""

    def react(self, state: Any, now: float, seen: list[Any], out: Out) -> float:
        """Live through one instant."""


S = TypeVar("S")


def owned() -> Any:
    """A field of a `@state` class that holds a state of its own (a logic's, say): `copy()` copies it as well."""
    return field(metadata={"owned": True})


@dataclass_transform(eq_default=True, field_specifiers=(field, owned))
def state(cls: type[S]) -> type[S]:
    """Make a slotted, comparable state class with a flat `copy()`.

    Fields must be immutable values, or be declared with `owned()`.
    """
    made: Any = dataclass(slots=True, eq=True)(cls)
    lines = ["def copy(self):", "    new = make(cls)"]
    for one in fields(made):
        lines.append(f"    new.{one.name} = self.{one.name}" + (".copy()" if "owned" in one.metadata else ""))
    lines += ["    return new"]
    scope: dict[str, Any] = {"make": object.__new__, "cls": made}
    exec("\n".join(lines), scope)  # noqa: S102 - generated from field names of our own class
    made.copy = scope["copy"]
    return made  # type: ignore[no-any-return]


class Bench(Protocol):
    """What a part file's `parts(site, roles)` is given besides the site: the three logic roles."""

    @property
    def classifier(self) -> Any: ...

    @property
    def receiver(self) -> Any: ...

    @property
    def controller(self) -> Any: ...


PartsOf = Callable[[Any, Bench], Iterable[Part]]
