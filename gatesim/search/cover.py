"""Which whole moments of a window are spoken for, and which are not."""

from __future__ import annotations

from bisect import bisect_right


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
