"""The time axis of a run's page: long rests are cut out, the rest is laid out evenly over 0 to 1."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gatesim import events as e
from gatesim.events import Stamped
from gatesim.report.lanes import Story, Stretch, stretches_of

PARTS = 12
"""In so many parts at most."""
CUT_WIDE = 0.012
"""What a cut takes of the axis."""
LABELS = 10
_FRAMES = (e.FrameSent, e.FrameArrived)


class Axis:
    """Instants (us) to places between 0 and 1, and back."""

    def __init__(self, stretches: Sequence[Stretch]) -> None:
        self.stretches = tuple(stretches)
        whole = sum(one.until - one.since for one in stretches) or 1.0
        free = 1 - CUT_WIDE * (len(stretches) - 1)
        self.starts: list[float] = []
        self.each = free / whole
        at = 0.0
        for one in stretches:
            self.starts.append(at)
            at += (one.until - one.since) * self.each + CUT_WIDE

    def place(self, at: float) -> float:
        """Where an instant stands; one that was cut out stands at the end of what is before."""
        place = 0.0
        for one, start in zip(self.stretches, self.starts, strict=True):
            if at >= one.since:
                place = start + (min(at, one.until) - one.since) * self.each
        return place

    def samples(self, number: int) -> list[float]:
        """Instants spread evenly over what is drawn, ends of its parts included."""
        whole = sum(one.until - one.since for one in self.stretches) or 1.0
        made: list[float] = []
        for one in self.stretches:
            count = max(1, round(number * (one.until - one.since) / whole))
            made += [one.since + (one.until - one.since) * k / count for k in range(count + 1)]
        return made

    def labels(self) -> list[tuple[float, str]]:
        """Round instants with their places."""
        whole = sum(one.until - one.since for one in self.stretches)
        step = next(s * 10 ** p for p in range(3, 15) for s in (1, 2, 5) if whole / (s * 10 ** p) <= LABELS)
        places = 0 if step >= 1_000_000 else 1 if step >= 100_000 else 3
        made = []
        for one in self.stretches:
            k = -(-one.since // step)
            while k * step <= one.until:
                made.append((self.place(k * step), f"{k * step / 1e6:.{places}f} s"))
                k += 1
        return [one for k, one in enumerate(made) if k == 0 or one[0] - made[k - 1][0] > 0.04]

    def cuts(self) -> list[float]:
        """Where rests are cut out."""
        return [start - CUT_WIDE / 2 for start in self.starts[1:]]




def axis_of(events: Iterable[Stamped], story: Story, ends: float) -> Axis:
    """The axis of a run: from its begin to its end, without rests in which nothing but frames happens."""
    moments = sorted({0.0, ends, *(at for at, event in events if not isinstance(event, _FRAMES))})
    return Axis(stretches_of(story._replace(changes=moments), PARTS))
