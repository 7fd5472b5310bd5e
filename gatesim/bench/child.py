"""A program of somebody else's, asked line by line: one line out, one line back, within a time, and never left behind.

It is started in a session of its own with three pipes, a clean environment and a limit on its memory.  Whatever it does
wrong ends it, with every process that it has started, and is told as a LogicError that names the request.
"""

from __future__ import annotations

import atexit
import os
import select
import shlex
import shutil
import signal
import subprocess
import sys
import time
from contextlib import suppress
from typing import Any, NamedTuple

from gatesim.errors import BadUsage, LogicError
from gatesim.units import clip

LONGEST = 1 << 20
"""Bytes of an answer at most."""
MEMORY = 2 << 30
"""Bytes of data that a program may have (where the system can limit them)."""
STDERR_KEPT = 4096
BYE_WITHIN = 0.5
PASSED_ON = ("PATH", "HOME", "TMPDIR", "SYSTEMROOT")
"""What a program has of the environment; more by starting it through `env`."""


class Command(NamedTuple):
    """What to start, and how it is called in messages."""

    words: tuple[str, ...]
    said: str
    within: float
    """Seconds for one answer."""


def command_of(option: str, spec: str, within: float) -> Command:
    """The command of a spec `run:COMMAND ARGS`.  BadUsage where there is no such program."""
    try:
        words = tuple(shlex.split(spec.removeprefix("run:")))
    except ValueError as error:
        raise BadUsage(f"--{option} {spec}: {error}") from None
    if not words:
        raise BadUsage(f"--{option} {spec}: expected 'run:COMMAND ARGS'")
    if shutil.which(words[0]) is None:
        raise BadUsage(f"--{option} {spec}: there is no program {words[0]!r} that can be run")
    return Command(words, f"{option} {spec}", within)


class Child:
    """One running program."""

    def __init__(self, command: Command) -> None:
        self.said, self.within = command.said, command.within
        environment = {name: os.environ[name] for name in PASSED_ON if name in os.environ}
        try:
            self._process = subprocess.Popen(
                command.words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, bufsize=0,
                env={**environment, "LANG": "C.UTF-8"}, start_new_session=True, close_fds=True)
        except OSError as error:
            raise BadUsage(f"{self.said}: cannot be run: {error.strerror}") from None
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        assert self._process.stderr is not None
        self._in, self._out, self._err = (
            self._process.stdin.fileno(), self._process.stdout.fileno(), self._process.stderr.fileno())
        _living.add(self)
        _end_with_worker()
        os.set_blocking(self._in, False)
        os.set_blocking(self._err, False)
        _limit(self._process.pid)
        self._poll = select.poll()
        self._poll.register(self._out, select.POLLIN)
        self._poll.register(self._err, select.POLLIN)
        self._last_words = b""

    def ask(self, line: bytes, what: str) -> bytes:
        """Write a line and read the one that answers it; `what` names the request in errors.  Raises LogicError."""
        self._nothing_unasked(what)
        ends = time.monotonic() + self.within
        self._write(line, ends, what)
        answer = b""
        while True:
            left = ends - time.monotonic()
            for fd, _ in self._poll.poll(max(0, left) * 1000):
                if fd == self._err:
                    self._hear_stderr()
                    continue
                more = os.read(self._out, 1 << 16)
                if not more:
                    raise self._ended(what, answer)
                answer += more
            if b"\n" in answer:
                return self._only_line(answer, what)
            if len(answer) > LONGEST:
                raise self._wrong(f"answered {what} with a line of more than {LONGEST} bytes")
            if left <= 0:
                raise self._wrong(f"did not answer {what} within {self.within:g} s"
                                  + (" (it began a line and did not end it)" if answer else ""))

    def _only_line(self, answer: bytes, what: str) -> bytes:
        line, _, rest = answer.partition(b"\n")
        if rest:
            raise self._wrong(f"answered {what} with more than one line; after the first: {_text(rest)}")
        return line

    def _nothing_unasked(self, what: str) -> None:
        for fd, _ in self._poll.poll(0):
            if fd == self._err:
                self._hear_stderr()
            else:
                unasked = os.read(self._out, 1 << 16)
                if not unasked:
                    raise self._ended(what, b"")
                raise self._wrong(f"said something before it was asked {what}: {_text(unasked)}")

    def _write(self, line: bytes, ends: float, what: str) -> None:
        while line:
            try:
                line = line[os.write(self._in, line):]
            except BlockingIOError:
                left = ends - time.monotonic()
                if left <= 0 or not select.select([], [self._in], [], left)[1]:
                    raise self._wrong(f"did not read {what} within {self.within:g} s") from None
            except BrokenPipeError:
                raise self._ended(what, b"") from None

    def _hear_stderr(self) -> None:
        with suppress(BlockingIOError):
            heard = os.read(self._err, 1 << 16)
            if not heard:
                self._poll.unregister(self._err)
            self._last_words = (self._last_words + heard)[-STDERR_KEPT:]

    def _ended(self, what: str, begun: bytes) -> LogicError:
        """It closed its output: it has died, or is about to."""
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(0.5)
        code = self._process.poll()
        if code is None:
            how = "closed its input or output"
        elif code < 0:
            how = f"was ended by signal {-code} ({signal.strsignal(-code)})"
        else:
            how = f"ended with exit code {code}"
        return self._wrong(f"{how} instead of answering {what}" + (", in the middle of a line" if begun else ""))

    def _wrong(self, how: str) -> LogicError:
        """The error to raise; the program is ended."""
        with suppress(OSError, KeyError, ValueError):
            self._hear_stderr()
        self.end()
        words = self._last_words.decode("utf-8", "replace").strip()
        last = f"; its last words on stderr: {clip(words.splitlines()[-1], 120)}" if words else ""
        return LogicError(f"{self.said}: it {how}{last}")

    def wrong(self, how: str) -> LogicError:
        """The error for an answer that was no good; the program is ended."""
        return self._wrong(how)

    def lives(self) -> bool:
        """Whether it was not ended."""
        return self in _living

    def leave(self) -> None:
        """Say good-bye, and end it whatever it answers."""
        with suppress(LogicError, OSError):
            self.within = BYE_WITHIN
            self.ask(b'{"bye":{}}\n', "bye")
        self.end()

    def end(self) -> None:
        """End it and everything that it has started."""
        if self not in _living:
            return
        _living.discard(self)
        with suppress(ProcessLookupError, PermissionError):
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._close()

    def _close(self) -> None:
        for pipe in (self._process.stdin, self._process.stdout, self._process.stderr):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()

    def forget(self) -> None:
        """In a forked process: it is the parent's."""
        self._close()
        self._process.returncode = 0


def _text(said: bytes) -> str:
    return clip(said.decode("utf-8", "replace").strip(), 120)


def _limit(pid: int) -> None:
    if sys.platform == "linux":
        import resource

        with suppress(OSError, ValueError):
            resource.prlimit(pid, resource.RLIMIT_DATA, (MEMORY, MEMORY))
            resource.prlimit(pid, resource.RLIMIT_CORE, (0, 0))


_living: set[Child] = set()


def end_all() -> None:
    """End every program that this process has started."""
    for child in tuple(_living):
        child.end()


def _forget_all() -> None:
    for child in tuple(_living):
        child.forget()
    _living.clear()


def _end_with_worker() -> None:
    """A worker of a pool leaves without `atexit`."""
    util: Any = sys.modules.get("multiprocessing.util")
    if util is not None and os.getpid() not in _workers:
        _workers.add(os.getpid())
        util.Finalize(None, end_all, exitpriority=100)


_workers: set[int] = set()
atexit.register(end_all)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget_all)
