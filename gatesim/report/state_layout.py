"""Where states and arrows of a diagram stand: layers from the first state down, as few crossings as ordering finds.

The method is the usual one for directed graphs in layers (Sugiyama, Tagawa, Toda, 1981; from memory): layers by
distance, long arrows cut by waypoints, each layer ordered by the mean place of its neighbours.  Between two layers
every arrow has a waypoint of its own, where its number stands: so no number covers another one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

SWEEPS = 24
BOX, ROW = 34.0, 58.0
"""Height of a state's box, and from row to row; between two layers of states lies a row of waypoints."""
GAP, WAYPOINT = 26.0, 30.0
"""Between two boxes of a row; width that a waypoint keeps free."""
MARGIN = 24.0

Arrow = tuple[int, int]
"""From a state to another one, by their numbers."""


class Point(NamedTuple):
    """A place in the picture."""

    x: float
    y: float


class Laid(NamedTuple):
    """The picture's size, the middle of each state's box, and of each arrow its points and its number's place."""

    width: float
    height: float
    states: tuple[Point, ...]
    arrows: tuple[tuple[tuple[Point, ...], Point], ...]


def lay_out(widths: Sequence[float], first: int, arrows: Sequence[Arrow]) -> Laid:
    """Places for boxes of these widths and for these arrows, none of which leads to its own state."""
    return _Graph(widths, first, arrows).laid()


class _Graph:
    """Nodes are the states, then the waypoints; `rows` has them in order, from top to bottom."""

    def __init__(self, widths: Sequence[float], first: int, arrows: Sequence[Arrow]) -> None:
        self.count = len(widths)
        self.widths = list(widths)
        self.arrows = arrows
        self.layer = [2 * level for level in _levels(self.count, first, arrows)]
        self.chains = [self._chain(*arrow) for arrow in arrows]
        self.above: list[list[int]] = [[] for _ in self.widths]
        self.below: list[list[int]] = [[] for _ in self.widths]
        for chain in self.chains:
            for a, b in pairwise(chain):
                high, low = (a, b) if self.layer[a] < self.layer[b] else (b, a)
                self.below[high].append(low)
                self.above[low].append(high)
        self.rows: list[list[int]] = [[] for _ in range(max(self.layer) + 1)]
        for node, row in enumerate(self.layer):
            self.rows[row].append(node)
        self.x = [0.0] * len(self.widths)
        self._order()
        self._place()

    def _chain(self, source: int, target: int) -> tuple[int, ...]:
        """The arrow's nodes: source, waypoints, target."""
        here, there = self.layer[source], self.layer[target]
        step = 1 if here < there else -1
        between = [here + 1] if here == there else list(range(here + step, there, step))
        chain = [source]
        for row in between:
            chain.append(len(self.widths))
            self.widths.append(WAYPOINT)
            self.layer.append(row)
        return (*chain, target)

    def _order(self) -> None:
        """Order each row by the mean place of its neighbours, downwards and upwards in turn; keep the best."""
        best, fewest = [list(row) for row in self.rows], _crossings(self.rows, self.below)
        for sweep in range(SWEEPS):
            down = sweep % 2 == 0
            rows = self.rows[1:] if down else self.rows[-2::-1]
            near = self.above if down else self.below
            for row in rows:
                seat = {node: k for line in self.rows for k, node in enumerate(line)}
                own = {node: sum(seat[other] for other in near[node]) / len(near[node]) if near[node] else seat[node]
                       for node in row}
                row.sort(key=lambda node: (own[node], seat[node]))
            crossings = _crossings(self.rows, self.below)
            if crossings < fewest:
                best, fewest = [list(row) for row in self.rows], crossings
        self.rows = best

    def _place(self) -> None:
        """Move each node towards its neighbours, as far as its row leaves room."""
        for row in self.rows:
            x = 0.0
            for node in row:
                self.x[node] = x + self.widths[node] / 2
                x += self.widths[node] + GAP
        for sweep in range(SWEEPS):
            for row in self.rows if sweep % 2 == 0 else self.rows[::-1]:
                self._pull(row)

    def _pull(self, row: list[int]) -> None:
        wanted = []
        for node in row:
            near = self.above[node] + self.below[node]
            wanted.append(sum(self.x[other] for other in near) / len(near) if near else self.x[node])
        room = [(self.widths[a] + self.widths[b]) / 2 + (GAP if max(a, b) < self.count else 4.0)
                for a, b in pairwise(row)]
        right = list(wanted)
        for k in range(1, len(row)):
            right[k] = max(right[k], right[k - 1] + room[k - 1])
        left = list(wanted)
        for k in range(len(row) - 2, -1, -1):
            left[k] = min(left[k], left[k + 1] - room[k])
        # Either keeps the room; so does what lies half-way between them.
        for k, node in enumerate(row):
            self.x[node] = (left[k] + right[k]) / 2

    def laid(self) -> Laid:
        """The picture."""
        edge = min(x - width / 2 for x, width in zip(self.x, self.widths, strict=True))
        wide = max(x + width / 2 for x, width in zip(self.x, self.widths, strict=True)) - edge

        def point(node: int) -> Point:
            return Point(round(self.x[node] - edge + MARGIN, 1), MARGIN + BOX / 2 + self.layer[node] * ROW)

        ports = self._ports(point)
        arrows = []
        for number, chain in enumerate(self.chains):
            points = (ports[number, 0], *(point(node) for node in chain[1:-1]), ports[number, 1])
            arrows.append((points, points[len(points) // 2]))
        height = (len(self.rows) - 1) * ROW + BOX + 2 * MARGIN
        return Laid(round(wide + 2 * MARGIN, 1), height, tuple(map(point, range(self.count))), tuple(arrows))

    def _ports(self, point: object) -> dict[tuple[int, int], Point]:
        """Where each arrow leaves its source and comes to its target: side by side along the box, in the order of where
        they go on."""
        sides: dict[tuple[int, bool], list[tuple[float, int, int]]] = {}
        for number, chain in enumerate(self.chains):
            for end, (own, other) in enumerate(((chain[0], chain[1]), (chain[-1], chain[-2]))):
                low = self.layer[other] > self.layer[own]
                sides.setdefault((own, low), []).append((self.x[other], number, end))
        found = {}
        for (node, low), ends in sides.items():
            middle = point(node)  # type: ignore[operator]
            usable = self.widths[node] - 16
            for k, (_, number, end) in enumerate(sorted(ends)):
                x = middle.x - usable / 2 + usable * (k + 1) / (len(ends) + 1)
                found[number, end] = Point(round(x, 1), middle.y + (BOX / 2 if low else -BOX / 2))
        return found


def _levels(count: int, first: int, arrows: Sequence[Arrow]) -> list[int]:
    """Each state's distance from the first one; those that nothing leads to stand above where they lead."""
    level = {first: 0}
    todo = [first]
    for here in todo:
        for source, target in arrows:
            if source == here and target not in level:
                level[target] = level[here] + 1
                todo.append(target)
    leads = {source: max(level[target] - 1, 0) for source, target in arrows if source not in level and target in level}
    last = max(level.values()) + 1
    return [level.get(state, leads.get(state, last)) for state in range(count)]


def _crossings(rows: list[list[int]], below: list[list[int]]) -> int:
    """How many pairs of lines between neighbouring rows cross."""
    found = 0
    for row, following in pairwise(rows):
        seat = {node: k for k, node in enumerate(following)}
        ends = [k for node in row for k in sorted(seat[other] for other in below[node])]
        found += sum(a > b for k, a in enumerate(ends) for b in ends[k + 1 :])
    return found
