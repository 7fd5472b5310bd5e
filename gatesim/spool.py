"""Events of a long run in little memory: the first as they are, the rest as trace lines in a nameless file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import starmap
from tempfile import TemporaryFile
from typing import IO, Any, overload

from gatesim.events import Event, Stamped
from gatesim.trace import line, parse_line

IN_MEMORY = 60_000
"""Events kept as they are: some minutes to hours of a run."""
_BLOCK = 2_000


def _bytes(events: Sequence[tuple[float, Event]]) -> bytes:
    return "".join([line(stamped) + "\n" for stamped in events]).encode("utf-8", "backslashreplace")


class Spool(Sequence[Stamped]):
    """A growing sequence of stamped events.  What is in the file comes back as a reader of the trace would see it."""

    def __init__(self, in_memory: int = IN_MEMORY) -> None:
        self._most = in_memory
        self._first: list[tuple[float, Event]] = []
        self._tail: list[tuple[float, Event]] = []
        self._file: IO[bytes] | None = None
        self._starts: list[int] = []

    def take(self, _: int, at: float, event: Event) -> None:
        """Append one event (the shape of a course's taker)."""
        if len(self._first) < self._most:
            self._first.append((at, event))
            return
        self._tail.append((at, event))
        if len(self._tail) == _BLOCK:
            self._spill()

    def _spill(self) -> None:
        if self._file is None:
            self._file = TemporaryFile()  # noqa: SIM115 - lives as long as the sequence
        self._starts.append(self._file.seek(0, 2))
        self._file.write(_bytes(self._tail))
        self._tail = []

    def _block(self, number: int) -> list[Stamped]:
        assert self._file is not None
        self._file.seek(self._starts[number])
        ends = self._starts[number + 1] if number + 1 < len(self._starts) else None
        raw = self._file.read() if ends is None else self._file.read(ends - self._starts[number])
        return [parse_line(each) for each in raw.splitlines()]

    def __del__(self) -> None:
        if self._file is not None:
            self._file.close()

    def __len__(self) -> int:
        return len(self._first) + _BLOCK * len(self._starts) + len(self._tail)

    def __iter__(self) -> Iterator[Stamped]:
        yield from starmap(Stamped, self._first)
        for number in range(len(self._starts)):
            yield from self._block(number)
        yield from starmap(Stamped, self._tail)

    def written(self) -> Iterator[bytes]:
        """All of them as the bytes of a trace file, some at a time."""
        yield from (_bytes(self._first[k : k + _BLOCK]) for k in range(0, len(self._first), _BLOCK))
        if self._file is not None:
            self._file.seek(0)
            while raw := self._file.read(1 << 20):
                yield raw
        yield _bytes(self._tail)

    @overload
    def __getitem__(self, index: int) -> Stamped: ...

    @overload
    def __getitem__(self, index: slice) -> list[Stamped]: ...

    def __getitem__(self, index: Any) -> Any:
        if isinstance(index, slice):
            return [self[k] for k in range(*index.indices(len(self)))]
        if index < 0:
            index += len(self)
        if not 0 <= index < len(self):
            raise IndexError(index)
        if index < len(self._first):
            return Stamped(*self._first[index])
        block, place = divmod(index - len(self._first), _BLOCK)
        return self._block(block)[place] if block < len(self._starts) else Stamped(*self._tail[place])
