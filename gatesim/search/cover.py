"""Which whole moments of a window are spoken for, and which are not."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator


class Cover:
    """Disjoint, sorted, closed intervals of whole numbers inside [first, last]."""

    __slots__ = ("_begins", "_ends", "first", "last", "spoken")

    def __init__(self, first: int, last: int) -> None:
        self.first, self.last = first, last
        self.spoken = 0
        """How many moments are spoken for."""
        self._begins: list[int] = []
        self._ends: list[int] = []

    def add(self, first: int, last: int) -> None:
        """These are spoken for as well; what lies outside the window is left out."""
        first, last = max(first, self.first), min(last, self.last)
        if first > last:
            return
        # Those that overlap or touch become one.
        i = bisect_right(self._ends, first - 2)
        j = bisect_right(self._begins, last + 1)
        if i < j:
            first, last = min(first, self._begins[i]), max(last, self._ends[j - 1])
        self.spoken -= sum(self._ends[k] - self._begins[k] + 1 for k in range(i, j))
        self.spoken += last - first + 1
        self._begins[i:j], self._ends[i:j] = [first], [last]

    def next(self) -> int | None:
        """The first moment that nobody speaks for; None if there is none."""
        if not self._begins or self._begins[0] > self.first:
            return self.first
        return self._ends[0] + 1 if self._ends[0] < self.last else None

    def gaps(self) -> list[tuple[int, int]]:
        """What is not spoken for."""
        found, at = [], self.first
        for begin, end in zip(self._begins, self._ends, strict=True):
            if begin > at:
                found.append((at, begin - 1))
            at = end + 1
        if at <= self.last:
            found.append((at, self.last))
        return found

    def share(self) -> float:
        """How much of the window is spoken for, 0 to 1."""
        return self.spoken / (self.last - self.first + 1)

    def spans(self) -> Iterator[tuple[int, int]]:
        """What is spoken for."""
        return zip(self._begins, self._ends, strict=True)

    def has(self, moment: int) -> bool:
        """Whether a moment is spoken for."""
        k = bisect_right(self._begins, moment) - 1
        return k >= 0 and moment <= self._ends[k]

    def meet(self, other: Cover) -> Cover:
        """What both speak for, within this window."""
        made, mine, theirs = Cover(self.first, self.last), list(self.spans()), list(other.spans())
        i = j = 0
        while i < len(mine) and j < len(theirs):
            made.add(max(mine[i][0], theirs[j][0]), min(mine[i][1], theirs[j][1]))
            if mine[i][1] < theirs[j][1]:
                i += 1
            else:
                j += 1
        return made

    def join(self, other: Cover) -> Cover:
        """What either speaks for, within this window."""
        made = Cover(self.first, self.last)
        for one in (self, other):
            for first, last in one.spans():
                made.add(first, last)
        return made

    def lacking(self, other: Cover) -> Cover:
        """What this one speaks for and the other (of the same window) does not."""
        rest = Cover(other.first, other.last)
        for first, last in other.gaps():
            rest.add(first, last)
        return self.meet(rest)
