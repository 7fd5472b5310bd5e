"""A role played by another program, in lock-step and in virtual time: JSON lines over its stdin and stdout.

Our side keeps the history: a state is a place in it (`Point`), plain data that is copied by naming it.  A program is at
one place at a time.  It is brought to another by its own snapshots (`save`, `back`) or, where it takes none, by
starting it anew and playing all its calls again.  Either way it must answer as it did before.  docs/contract.md has the
protocol.
"""

from __future__ import annotations

import json
import weakref
from collections.abc import Callable
from typing import Any, NamedTuple

from gatesim.bench.child import Child, Command
from gatesim.bench.codec import Mismatch, applied, changes, codec, shown, to_text
from gatesim.bench.shapes import SHAPES, nothing_done
from gatesim.errors import BadUsage, LogicError

VERSION = 1
SAVES = 32
"""Snapshots that one program is asked to hold, the fresh one among them."""
PROGRAMS = 8
"""Processes of one role at most."""
FAILURES = 5
"""So often a program may go wrong before it is not started again."""
BUSY, BUSY_US = 1000, 1000
"""More calls than this in so many us of virtual time are a program that runs in circles."""

FRESH = 0
"""The snapshot of a program that was only greeted."""


class Point:
    """A place in a history: the request that led to it, its answer, and what both come to."""

    __slots__ = ("answer", "before", "begun", "calls", "do", "forks", "now", "request", "seen", "settings")

    def __init__(self, before: Point | None, request: bytes, answer: bytes, settings: Any) -> None:
        self.before, self.request, self.answer, self.settings = before, request, answer, settings
        self.do: Any = None
        self.seen: Any = None
        self.now = self.begun = 0
        self.calls = 0
        self.forks = False
        """Somebody may come back to it."""


class RemoteState:
    """The state of a role that another program plays."""

    __slots__ = ("__weakref__", "point")

    def __init__(self, point: Point) -> None:
        self.point = point

    def copy(self) -> RemoteState:
        """A fork: the same place in the history."""
        self.point.forks = True
        return RemoteState(self.point)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, RemoteState):
            return NotImplemented
        mine: Point | None = self.point
        yours: Point | None = other.point
        while mine is not None and yours is not None and mine is not yours:
            if (mine.request, mine.answer) != (yours.request, yours.answer):
                return False
            mine, yours = mine.before, yours.before
        return mine is yours

    __hash__ = None  # type: ignore[assignment]


class Hello(NamedTuple):
    """What a program said of itself."""

    name: str
    snapshots: bool
    wants: str
    power_cycles: bool


class Program:
    """A running program, the place that it is at, and the places that it has saved."""

    def __init__(self, child: Child, root: Point, hello: Hello) -> None:
        self.child, self.root, self.hello = child, root, hello
        self.at: Point | None = root
        self.holder: weakref.ref[RemoteState] | None = None
        self.saved: dict[Point, int] = {}
        self.used = 0
        if hello.snapshots:
            self._settle(b'{"save":0}\n', "save 0")
            self.saved[root] = FRESH

    def free(self) -> bool:
        """Whether nobody needs it to be where it is."""
        return self.holder is None or self.holder() is None

    def save(self) -> None:
        """Take a snapshot of the place that it is at; the oldest one gives way."""
        assert self.at is not None
        if self.at in self.saved or not self.hello.snapshots:
            return
        number = len(self.saved)
        if number >= SAVES:
            oldest = next(point for point in self.saved if point is not self.root)
            number = self.saved.pop(oldest)
        self._settle(b'{"save":%d}\n' % number, f"save {number}")
        self.saved[self.at] = number

    def back(self, point: Point) -> None:
        """Go back to a place that it has saved."""
        number = self.saved.pop(point)
        self._settle(b'{"back":%d}\n' % number, f"back {number}")
        self.saved[point] = number  # the last used is the last to give way
        self.at = point

    def _settle(self, line: bytes, what: str) -> None:
        answer = read(self.child, self.child.ask(line, what), what)
        if answer.get("ok") is not True:
            raise self.child.wrong(f'must answer {what} with {{"ok": true}}, not {shown(answer.get("ok"))}')


def read(child: Child, line: bytes, what: str) -> dict[str, Any]:
    """The object of a line.  LogicError for anything else, and for a refusal."""
    try:
        answer = json.loads(line, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise child.wrong(f"answered {what} with what is not JSON: {line[:120].decode('utf-8', 'replace')!a}") from None
    if not isinstance(answer, dict):
        raise child.wrong(f"must answer {what} with an object, not {shown(answer)}")
    if "refused" in answer:
        raise child.wrong(f"refused {what}: {shown(answer['refused'])}")
    return answer


def _no_number(text: str) -> Any:
    raise ValueError(text)


def line_of(request: dict[str, Any]) -> bytes:
    """A request as it is written."""
    return json.dumps(request, separators=(",", ":"), ensure_ascii=False).encode("utf-8", "replace") + b"\n"


class Remote:
    """A role played by programs that `command` starts; meets the contract of the role."""

    def __init__(self, role: str, command: Command, say: Callable[[str], None] | None = None, *,
                 scanned: bool = False) -> None:
        self.role, self.command, self.scanned, self.said = role, command, scanned, command.said
        self._say, self._shape = say, SHAPES[role]
        self._roots: dict[Any, Point] = {}
        self._programs: list[Program] = []
        self._uses = self._failures = 0
        self._last = ""
        self.hello: Hello | None = None

    @property
    def wants(self) -> str:
        """How it wants to be called ("change" until it has said)."""
        return self.hello.wants if self.hello is not None else "change"

    @property
    def power_cycles(self) -> bool:
        """Whether it can be started anew."""
        return self.hello is None or self.hello.power_cycles

    # --- the role -----------------------------------------------------------------------------------------------------

    def start(self, settings: Any, kept: bytes | None) -> tuple[RemoteState, Any]:
        """Power-up."""
        if self._failures >= FAILURES:
            raise LogicError(f"{self.command.said}: it went wrong {FAILURES} times and is not started again; the last "
                             f"time {self._last}")
        root = self._roots.get(settings)
        if root is None:
            shape = codec(self._shape.settings)
            told = {"hello": {"gatesim-logic": VERSION, "role": self.role, "settings": shape.dump(settings)}}
            root = self._roots[settings] = Point(None, line_of(told), b"", settings)
            root.do = nothing_done(self.role, settings)
            root.forks = True
        state = RemoteState(root)
        request = line_of({"start": {"kept": None if kept is None else to_text(kept)}})
        return state, self._call(state, request, None, 0, "start")

    def step(self, state: RemoteState | None, seen: Any, now: float) -> tuple[RemoteState, Any]:
        """One call.  The instant becomes whole microseconds here, once."""
        if state is None:
            # Its start failed, and a world in which it should run is lived on all the same.
            raise LogicError(f"{self.command.said}: {self._last or 'it was never started'}")
        at = int(now + 0.5)
        told = changes(self._shape.seen, state.point.seen, seen, self._shape.happened)
        request = line_of({"step": {"now": at, "seen": told}})
        return state, self._call(state, request, seen, at, f"step at {at} us")

    def _call(self, state: RemoteState, request: bytes, seen: Any, now: int, what: str) -> Any:
        before = state.point
        new = Point(before, request, b"", before.settings)
        new.seen, new.now = seen, now
        try:
            program = self._at(before, state)
            self._one(program, new, what)
        except LogicError as error:
            self._failures, self._last = self._failures + 1, str(error).removeprefix(f"{self.command.said}: ")
            self._programs = [one for one in self._programs if one.child.lives()]
            raise
        program.holder = weakref.ref(state)
        state.point = new
        return new.do

    def _one(self, program: Program, new: Point, what: str) -> None:
        """One request of a program that is where it should be, and what its answer comes to."""
        before = new.before
        assert before is not None
        if before.forks:
            program.save()
        new.answer = program.child.ask(new.request, what)
        program.at = new
        try:
            answer = read(program.child, new.answer, what)
            new.do = outputs(self.role, before, answer, new.now if new.seen is not None else None)
        except Mismatch as error:
            raise program.child.wrong(f"answered {what} outside the contract: {error}") from None
        self._in_circles(program, before, new)

    def _in_circles(self, program: Program, before: Point, new: Point) -> None:
        if new.now - before.begun <= BUSY_US and new.seen is not None:
            new.begun, new.calls = before.begun, before.calls + 1
        else:
            new.begun = new.now
        if new.calls > BUSY:
            raise program.child.wrong(f"had itself called more than {BUSY} times within {BUSY_US} us; "
                                      f"its wakes lead nowhere")

    # --- programs -----------------------------------------------------------------------------------------------------

    def _at(self, point: Point, state: RemoteState) -> Program:
        """A program that is at this place."""
        self._uses += 1
        self._programs = [one for one in self._programs if one.child.lives()]
        program = self._there(point, state) or self._by_snapshot(point) or self._anew(point)
        program.used = self._uses
        return program

    def _there(self, point: Point, state: RemoteState) -> Program | None:
        found = [program for program in self._programs if program.at is point]
        own = [one for one in found if one.holder is not None and one.holder() is state]
        return next(iter(own or found), None)

    def _by_snapshot(self, point: Point) -> Program | None:
        """A program that has saved this place, or one before it in the same run."""
        place: Point | None = point
        while place is not None:
            for program in self._programs:
                # The fresh one is of every run: taking it from a run that goes on would cost that run its place.
                if place in program.saved and (place is not program.root or program.free()):
                    program.saved[place] = program.saved.pop(place)  # it is not the one that gives way
                    if not program.free():
                        program.save()
                    program.back(place)
                    self._play(program, point, place)
                    return program
            place = place.before
        return None

    def _anew(self, point: Point) -> Program:
        """A program started anew, with all calls played again."""
        if len(self._programs) >= PROGRAMS or any(one.free() for one in self._programs):
            # The one that nobody needs, or else the one not used for the longest time.
            self._leave(min(self._programs, key=lambda one: (not one.free(), one.used)))
        root = point
        while root.before is not None:
            root = root.before
        child = Child(self.command)
        try:
            program = Program(child, root, self._greeted(child, root))
        except BaseException:
            child.end()
            raise
        self._programs.append(program)
        self._play(program, point, root)
        return program

    def _play(self, program: Program, point: Point, since: Point) -> None:
        """Play the calls from one place to a later one again."""
        calls: list[Point] = []
        place = point
        while place is not since:
            calls.append(place)
            assert place.before is not None
            place = place.before
        for call in reversed(calls):
            what = f"step at {call.now} us" if call.seen is not None else "start"
            if program.child.ask(call.request, f"{what}, played again") != call.answer:
                raise program.child.wrong(f"can't be forked: asked the same again, it answered otherwise at {what}; "
                                          f"let it depend on nothing but what it is told")
        program.at, program.holder = point, None

    def _greeted(self, child: Child, root: Point) -> Hello:
        line = child.ask(root.request, "hello")
        try:
            hello = greeting(read(child, line, "hello"))
        except Mismatch as error:
            raise child.wrong(f"answered hello outside the protocol: {error}") from None
        if hello.wants == "scan" and not self.scanned:
            child.end()
            raise BadUsage(f"{child.said}: it works on a fixed scan; say which, such as --scan \"10 ms\"")
        if not hello.power_cycles and self.role != "controller":
            raise child.wrong(f"can't be started anew, which a {self.role} must")
        if self.hello is None and not hello.snapshots and self._say is not None:
            self._say(f"{child.said}: it takes no snapshots; forks of it are made by starting it anew and playing all "
                      f"its calls again, which is slower")
        self.hello = hello
        return hello

    def _leave(self, program: Program) -> None:
        self._programs.remove(program)
        program.child.leave()

    def close(self) -> None:
        """End all programs."""
        for program in tuple(self._programs):
            self._leave(program)


def greeting(answer: dict[str, Any]) -> Hello:
    """What a program says of itself.  Mismatch for what is no greeting."""
    hello = answer.get("hello")
    if not isinstance(hello, dict):
        raise Mismatch(f"hello must be an object, not {shown(hello)}")
    version = hello.get("gatesim-logic", VERSION)
    if version is True or version != VERSION:
        raise Mismatch(f"it speaks version {shown(version)} of the protocol; this is version {VERSION}")
    name = codec(str).load(hello.get("name"), "hello.name")
    wants = hello.get("wants", "change")
    if wants not in ("change", "scan"):
        raise Mismatch(f'hello.wants must be "change" or "scan", not {shown(wants)}')
    flags = [codec(bool).load(hello.get(member, default), f"hello.{member}")
             for member, default in (("snapshots", False), ("power_cycles", True))]
    return Hello(name, flags[0], wants, flags[1])


def outputs(role: str, before: Point, answer: dict[str, Any], now: int | None) -> Any:
    """The outputs after an answer.  `now` is None at a start.  Mismatch for what is not of the contract."""
    shape, told = SHAPES[role], answer.get("do")
    if not isinstance(told, dict):
        raise Mismatch(f"do must be an object, not {shown(told)}")
    beside = [name for name in ("wake", "keep", "why") if name in told]
    if beside:
        raise Mismatch(f"{beside[0]} stands beside do, not in it")
    do = applied(shape.do, before.do, told, "do", shape.said)
    new: dict[str, Any] = {}
    if "wake" in shape.do._fields:
        wake = None if answer.get("wake") is None else codec(int).load(answer["wake"], "wake")
        if wake is not None and now is not None and wake <= now:
            raise Mismatch(f"wake must lie ahead of now, {now} us, or be null; it is {wake}")
        new["wake"] = wake
    if "keep" in shape.do._fields and "keep" in answer:
        new["keep"] = codec(bytes).load(answer["keep"], "keep")
    why = codec(tuple[str, ...]).load(answer.get("why") or [], "why")
    if why and "notices" in shape.do._fields:
        new["notices"] = (*do.notices, *((text, "") for text in why))
    elif why:
        new["why"] = why
    if role == "classifier" and len(do.levels) != len(before.settings.bands):
        raise Mismatch(f"do.levels must have one for each of the {len(before.settings.bands)} loops")
    return do._replace(**new)
