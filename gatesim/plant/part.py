"""The contract of a part: parameters in, an instant at a time, everything that changes in its state.

A *part* is a frozen value of its parameters.  It names the wires it reads and writes; the world carries the
values (and lets faults distort them), calls `react` when an input changed, a stimulus came or the deadline
that the part gave is reached, and never otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import IntEnum
from inspect import get_annotations
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

    Each kind of wire is a subclass (with `__slots__ = ()`, or a frozen dataclass where it has more to say); `of` names
    the device it belongs to ("" where a site has one).
    `messages` wires carry things one by one to exactly one reader; all others carry a level.
    """

    of: str = ""
    messages: ClassVar[bool] = False
    title: ClassVar[str] = "wire"

    def __str__(self) -> str:
        return f"{self.title} of {self.of}" if self.of else self.title

    def __hash__(self) -> int:
        # With the kind in it: the wires of a site differ more by it than by their devices.
        return hash((type(self), self.of))


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
    `reads()[k]`, in a tuple; a message wire gives a tuple of the messages that came since the last call.
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

    def react(self, state: Any, now: float, seen: Any, out: Out) -> float:
        """Live through one instant."""


S = TypeVar("S")


class _Owned:
    """Marks a field whose value has a `copy()` of its own."""


_OWNED = _Owned()


def owned() -> Any:
    """A field of a `@state` class that holds a state of its own (a logic's, say): `copy()` copies it as well."""
    return _OWNED


_STATE = """
def __init__(self{parameters}):
{assigned}

def __eq__(self, other):
    return other.__class__ is self.__class__ and ({mine}) == ({theirs})

def __repr__(self):
    return "{name}(" + ", ".join(f"{{one}}={{getattr(self, one)!r}}" for one in self.__slots__) + ")"

def copy(self):
    new = make(cls)
{copied}
    return new
"""


@dataclass_transform(eq_default=True, field_specifiers=(owned,))
def state(cls: type[S]) -> type[S]:
    """Make a slotted, comparable state class with a flat `copy()`.

    Fields must be immutable values, or be declared with `owned()`.  (A dataclass would do, and takes ten times as long
    to make; there are some hundred states, and all are made at the start.)
    """
    names = list(get_annotations(cls))
    given = {name: cls.__dict__[name] for name in names if name in cls.__dict__}
    defaults = {name: value for name, value in given.items() if value is not _OWNED}
    source = _STATE.format(
        name=cls.__name__,
        parameters="".join(f", {name}=default_{name}" if name in defaults else f", {name}" for name in names),
        assigned="\n".join(f"    self.{name} = {name}" for name in names) or "    pass",
        mine="".join(f"self.{name}, " for name in names),
        theirs="".join(f"other.{name}, " for name in names),
        copied="\n".join(
            f"    new.{name} = self.{name}" + (".copy()" if given.get(name) is _OWNED else "") for name in names),
    )
    scope: dict[str, Any] = {f"default_{name}": value for name, value in defaults.items()}
    scope["make"] = object.__new__
    exec(source, scope)  # noqa: S102 - generated from field names of our own class
    body = {name: value for name, value in cls.__dict__.items()
            if name not in names and name not in ("__dict__", "__weakref__")}
    body |= {name: scope[name] for name in ("__init__", "__eq__", "__repr__", "copy")}
    made: Any = type(cls.__name__, cls.__bases__, {**body, "__slots__": tuple(names), "__hash__": None})
    scope["cls"] = made
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
