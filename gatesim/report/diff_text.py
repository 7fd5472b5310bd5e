"""The difference of two traces, for a person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from gatesim.report.plain import Page
from gatesim.report.told import STEP, Told, figure, quoted, step
from gatesim.report.trace_diff import Difference, How, Pair, Part

MARKS = {How.MISSING: "-", How.NEW: "+", How.MOVED: "~", How.CHANGED: "~"}
STYLES = {How.MISSING: "red", How.NEW: "green", How.MOVED: "yellow", How.CHANGED: "yellow"}
ALIKE = 3
"""From so many events on, those that all move by the same are said in one line."""


def draw(console: Page, found: Difference, *, frames: bool, most: int | None = None, margin: str = "") -> None:
    """Print it; `frames`: each radio frame too; `most`: lines at most; `margin` before each line."""
    said = list(lines(found, frames=frames))
    for style, line in said[:most]:
        console.print(f"{margin}{line}", style=style, markup=False, soft_wrap=True)
    if most is not None and len(said) > most:
        console.print(f"{margin}... and {len(said) - most} lines more", markup=False, soft_wrap=True)


def lines(found: Difference, *, frames: bool) -> Iterator[tuple[str, str]]:
    """Each line with its style."""
    if found.seeds is not None:
        before, after = ("no seed" if seed is None else f"seed {seed}" for seed in found.seeds)
        yield "yellow", f"{before} before, {after} after"
    for part in found.parts:
        if part.same:
            continue
        if len(found.parts) > 1:
            yield "bold", f"{part.name}:"
        yield from _of_part(part, found.rounded, frames)
    yield "", _count(found)


def _of_part(part: Part, rounded: bool, frames: bool) -> Iterator[tuple[str, str]]:
    shown = sorted((*part.pairs, *part.frames), key=lambda pair: pair.at) if frames else part.pairs
    for group in _grouped([pair for pair in shown if pair.how is not How.SAME], rounded):
        if len(group.pairs) >= ALIKE:
            yield "yellow", f"  ~ {_told_together(group, rounded)}"
        else:
            yield from ((STYLES[pair.how], f"  {MARKS[pair.how]} {_told(pair)}") for pair in group.pairs)
    if part.ends:
        yield "yellow", f"  the run ends {_moved(part.ends)}"
    changed = [pair.how for pair in part.frames if pair.how is not How.SAME]
    if changed and not frames:
        counts = ", ".join(f"{changed.count(how)} {how.value}" for how in How if how in changed)
        yield "yellow", f"  radio frames: {counts}"


@dataclass
class _Group:
    """Neighbours that have all moved by the same, and whose figures have all changed by the same where they have."""

    pairs: list[Pair]
    by: dict[str, int] = field(default_factory=dict)
    """By how much each figure is greater, by its key."""

    def takes(self, pair: Pair, rounded: bool) -> bool:
        """Add a pair, if it is alike."""
        first, by = self.pairs[0], _by(pair)
        if by is None or _by(first) is None or abs(pair.later - first.later) > (STEP if rounded else 1):
            return False
        if any(key in self.by and abs(self.by[key] - more) > (step(key) if rounded else 1) for key, more in by.items()):
            return False
        self.pairs.append(pair)
        self.by = {**by, **self.by}
        return True


def _by(pair: Pair) -> dict[str, int] | None:
    """By how much each figure is greater; None where it has no counterpart, or other words."""
    if pair.before is None or pair.after is None:
        return None
    fields = pair.fields
    if not all(isinstance(old, int) and isinstance(new, int) for _, old, new in fields):
        return None
    return {key: new - old for key, old, new in fields}


def _grouped(pairs: Sequence[Pair], rounded: bool) -> Iterator[_Group]:
    """Alike neighbours together, each other pair alone."""
    group: _Group | None = None
    for pair in pairs:
        if group is None or not group.takes(pair, rounded):
            if group is not None:
                yield group
            group = _Group([pair], _by(pair) or {})
    if group is not None:
        yield group


def _told_together(group: _Group, rounded: bool) -> str:
    first, last = group.pairs[0], group.pairs[-1]
    said = [_moved(first.later)] if first.later else []
    said += [f"{key} {figure(key, abs(by))} {'more' if by > 0 else 'less'}" for key, by in group.by.items()]
    about = "about " if rounded else ""
    return (f"{instant(first.at)} to {instant(last.at)}  {len(group.pairs)} events alike: {about}{', '.join(said)}")


def _told(pair: Pair) -> str:
    before, after = pair.before, pair.after
    if before is None or after is None:
        one = before or after
        assert one is not None
        return f"{instant(one.at)}  {one.text()}"
    said = [_moved(pair.later)] if pair.later else []
    said += [f"{key} {_value(key, old)} -> {_value(key, new)}" for key, old, new in pair.fields]
    return f"{instant(before.at)}  {_short(before)}: {', '.join(said)}"


def _short(event: Told) -> str:
    return event._replace(words=(), figures=()).text()


def _value(key: str, value: str | int | None) -> str:
    return "nothing" if value is None else figure(key, value) if isinstance(value, int) else quoted(value)


def _moved(later: int) -> str:
    said = f"{abs(later) / 1000:.3f}".rstrip("0").rstrip(".")
    return f"{said} ms {'later' if later > 0 else 'earlier'}"


def instant(at: int) -> str:
    """Seconds, with as many places as there is something in: at least milliseconds."""
    return f"{at // 1_000_000}.{at % 1_000_000 // 1000:03}" + (f"{at % 1000:03}" if at % 1000 else "") + " s"


def _count(found: Difference) -> str:
    everything = [pair.how for part in found.parts for pair in (*part.pairs, *part.frames)]
    counts = ", ".join(f"{everything.count(how)} {how.value}" for how in How if how in everything)
    return f"events: {counts or 'none'}" + ("; rounded as a golden trace is, whole run only" if found.rounded else "")
