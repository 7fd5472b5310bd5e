"""Two traces side by side, aligned by what happened and not by lines.

Events are paired in three passes, each within the gaps of the one before: those that are wholly equal; those of the
same kind, subject and words, whenever they came; those of the same kind and subject.  What is then left alone on both
sides, with the same words, and not far away, has changed places with others and is paired as well.  Radio frames are
paired among themselves, so that a frame more or less does not pull other events apart.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from difflib import SequenceMatcher
from enum import Enum
from typing import Any, NamedTuple

from gatesim.report.told import RADIO, Golden, Told, golden_of, told
from gatesim.trace import Run, Section, Story
from gatesim.units import us

NEAR = 2_000_000
"""An event that has changed places with others is looked for so far away (us)."""
LONG = 2_000
"""Of more events in a gap, frequent ones are no longer looked at as places to begin from (difflib's `autojunk`)."""


class How(Enum):
    """What became of an event."""

    SAME = "same"
    MOVED = "moved"
    CHANGED = "changed"
    MISSING = "missing"
    NEW = "new"


class Pair(NamedTuple):
    """An event of the first trace and the one of the second that stands for it; None where there is none."""

    before: Told | None
    after: Told | None

    @property
    def how(self) -> How:
        """What became of it; `changed` may have moved as well."""
        if self.before is None or self.after is None:
            return How.NEW if self.before is None else How.MISSING
        if self.before[1:] != self.after[1:]:
            return How.CHANGED
        return How.SAME if self.later == 0 else How.MOVED

    @property
    def at(self) -> int:
        """us, in the first trace where it stands there."""
        one = self.before or self.after
        assert one is not None
        return one.at

    @property
    def later(self) -> int:
        """By how much it comes later (us; negative: earlier)."""
        return 0 if self.before is None or self.after is None else self.after.at - self.before.at

    @property
    def fields(self) -> tuple[tuple[str, Any, Any], ...]:
        """Each field that differs: key, before, after (text, a whole number as in a trace, or None for none)."""
        if self.before is None or self.after is None:
            return ()
        old = dict((*self.before.subject, *self.before.words, *self.before.figures))
        new = dict((*self.after.subject, *self.after.words, *self.after.figures))
        return tuple((key, old.get(key), new.get(key)) for key in dict.fromkeys((*old, *new))
                     if old.get(key) != new.get(key))


class Part(NamedTuple):
    """One section of both traces.  `pairs`: all but radio frames; `frames`: those; `ends`: by how much later (us)."""

    name: str
    pairs: tuple[Pair, ...]
    frames: tuple[Pair, ...]
    ends: int

    @property
    def same(self) -> bool:
        """Whether nothing in it differs."""
        return self.ends == 0 and all(one.how is How.SAME for one in (*self.pairs, *self.frames))


class Difference(NamedTuple):
    """Of two traces.  `seeds` is None where they are the same; `rounded`: figures are those of a golden trace."""

    parts: tuple[Part, ...]
    seeds: tuple[int | None, int | None] | None
    rounded: bool

    @property
    def same(self) -> bool:
        """Whether nothing differs."""
        return self.seeds is None and all(part.same for part in self.parts)


def difference(before: Story | Golden, after: Story | Golden) -> Difference:
    """Set two traces side by side.  Against a golden trace both are rounded, and only the whole run is looked at."""
    seeds = None if before.seed == after.seed else (before.seed, after.seed)
    if isinstance(before, Golden) or isinstance(after, Golden):
        one, two = _golden(before), _golden(after)
        return Difference((_part(Run.WHOLE.value, one.events, two.events, two.ends - one.ends),), seeds, True)
    first, second = _sections(before), _sections(after)
    names = dict.fromkeys((*first, *second))
    return Difference(tuple(_part(name, *_events(first.get(name), second.get(name))) for name in names), seeds, False)


def _golden(one: Story | Golden) -> Golden:
    return one if isinstance(one, Golden) else golden_of(one.sections[0], one.seed or 0)


def _sections(story: Story) -> dict[str, Section]:
    """Each section by its run, and which of its kind it is."""
    found: dict[str, Section] = {}
    counts: dict[Run, int] = {}
    for section in story.sections:
        counts[section.run] = count = counts.get(section.run, 0) + 1
        found[section.run.value if section.run is Run.WHOLE else f"{section.run.value}, contact {count}"] = section
    return found


def _events(one: Section | None, two: Section | None) -> tuple[Sequence[Told], Sequence[Told], int]:
    ends = us(two.ends) - us(one.ends) if one is not None and two is not None else 0
    return _all(one), _all(two), ends


def _all(section: Section | None) -> list[Told]:
    return [] if section is None else [told(each) for each in section.events]


def _part(name: str, one: Sequence[Told], two: Sequence[Told], ends: int) -> Part:
    split = [[[event for event in events if (event.kind in RADIO) is radio] for events in (one, two)]
             for radio in (False, True)]
    others, frames = (tuple(aligned(*each)) for each in split)
    return Part(name, others, frames, ends)


def aligned(one: Sequence[Told], two: Sequence[Told]) -> list[Pair]:
    """Every event of both, each once, paired where one stands for the other; in order of time."""
    return _crossed(_aligned(one, two, (lambda event: event, lambda event: event[1:4], lambda event: event[1:3])))


def _crossed(pairs: list[Pair]) -> list[Pair]:
    """Pair what has only changed places with others."""
    waiting: dict[Any, deque[int]] = {}
    for place, pair in enumerate(pairs):
        if pair.after is None and pair.before is not None:
            waiting.setdefault(pair.before[1:4], deque()).append(place)
    made: list[Pair | None] = list(pairs)
    for place, pair in enumerate(pairs):
        if pair.before is None and pair.after is not None:
            alone = waiting.get(pair.after[1:4], deque())
            while alone and pairs[alone[0]].at < pair.at - NEAR:
                alone.popleft()
            if alone and pairs[alone[0]].at <= pair.at + NEAR:
                here = alone.popleft()
                made[here], made[place] = Pair(pairs[here].before, pair.after), None
    return [pair for pair in made if pair is not None]


def _aligned(one: Sequence[Told], two: Sequence[Told], keys: Sequence[Callable[[Told], Any]]) -> list[Pair]:
    if not (one and two and keys):
        alone = [*(Pair(event, None) for event in one), *(Pair(None, event) for event in two)]
        return sorted(alone, key=lambda pair: pair.at)
    key, *rest = keys
    matcher = SequenceMatcher(None, [key(event) for event in one], [key(event) for event in two],
                              autojunk=max(len(one), len(two)) > LONG)
    made: list[Pair] = []
    i = j = 0
    for block in matcher.get_matching_blocks():
        made += _aligned(one[i:block.a], two[j:block.b], rest)
        i, j = block.a + block.size, block.b + block.size
        made += map(Pair, one[block.a:i], two[block.b:j])
    return made
