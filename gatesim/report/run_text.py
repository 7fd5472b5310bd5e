"""The story of one run, instant by instant, for a person who has read no manual.

Columns: time, a strip that shows the leaf between the closed and the open stop, who, and what in words.  Frames are
told in one line until something else happens, unless every frame is wanted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from textwrap import wrap
from typing import TYPE_CHECKING, Any, NamedTuple

from gatesim import events as e
from gatesim.events import Direction, LeafName, Stamped
from gatesim.plant.leaves import leaves
from gatesim.plant.site import Site
from gatesim.report.check_text import draw_residual, draw_row
from gatesim.report.figures import margin, quantity
from gatesim.report.judged import Judged, JudgedRow
from gatesim.report.lanes import draw_lanes
from gatesim.report.words import of_leaf, subject, tell
from gatesim.requirements.requirement import Run
from gatesim.requirements.verdict import Outcome

if TYPE_CHECKING:
    from rich.console import Console

STRIP = 12
MARGIN = 42
"""Columns before the sentence."""
_FRAMES = (e.FrameSent, e.FrameArrived)
_QUIET = 1_000_000
"""Frames are summed up in spells of this length (us) and more in which nothing else happens."""
_GENTLE, _LIKE = 0.02e-6, 0.5
"""Accelerations below this (um/us^2), or within this share of one another, read as one motion (ours)."""
_BRIEF = 1_000
"""A piece of motion shorter than this (us) is not told (ours)."""
_ALARMING = (e.WireDisturbed, e.ContactBegan, e.ForcePeaked)


class Line(NamedTuple):
    """One line of the story."""

    at: float
    strip: str
    who: str
    sentence: str
    alarming: bool


class Leaf:
    """One leaf as the events tell it, drawn as a strip: `|....<.......|`, closed stop at the left."""

    def __init__(self, travel: float, x: float) -> None:
        self.travel, self.x = travel, x
        self.at, self.v, self.a = 0.0, 0.0, 0.0
        self.direction: Direction | None = None

    def see(self, at: float, event: e.Event) -> None:
        """Take over what an event says of the motion."""
        if isinstance(event, e.MotionChanged):
            self.at, self.x, self.v, self.a = at, event.x, event.v, event.a
            self.direction = event.direction
        elif isinstance(event, e.LeafStopped):
            self.at, self.x, self.v, self.a, self.direction = at, event.x, 0.0, 0.0, None

    def goes_on(self, event: e.MotionChanged) -> bool:
        """Whether a piece only goes on with the motion of the one before, as they do where forces bend it."""
        if event.direction is not self.direction or 0 in (self.a, event.a):
            return False
        gentle = max(abs(event.a), abs(self.a)) < _GENTLE
        return gentle or (_LIKE < event.a / self.a < 1 / _LIKE)

    def strip(self, at: float) -> str:
        """The strip at an instant."""
        t = at - self.at
        x = self.x + self.v * t + self.a * t * t / 2
        place = min(STRIP - 1, max(0, int(x / self.travel * STRIP)))
        mark = {Direction.CLOSING: "<", Direction.OPENING: ">", None: "#"}[self.direction]
        return "|" + "." * place + mark + "." * (STRIP - 1 - place) + "|"


class Strips:
    """A strip for each leaf, side by side."""

    def __init__(self, site: Site) -> None:
        self.leaves = {one.leaf: Leaf(one.gate.travel, one.leaf_at) for one in leaves(site)}

    def see(self, at: float, event: e.Event) -> None:
        """Take over what an event says of the motion of its leaf."""
        if isinstance(event, e.MotionChanged | e.LeafStopped) and event.leaf in self.leaves:
            self.leaves[event.leaf].see(at, event)

    def goes_on(self, event: e.MotionChanged) -> bool:
        """Whether a piece only goes on with the motion of its leaf."""
        return event.leaf in self.leaves and self.leaves[event.leaf].goes_on(event)

    def strip(self, at: float) -> str:
        """The strips at an instant."""
        return " ".join(leaf.strip(at) for leaf in self.leaves.values())


def story(events: Sequence[Stamped], site: Site, everything: bool) -> Iterator[Line]:
    """The lines of a run's story; `everything` tells each frame and each piece of motion."""
    leaf = Strips(site)
    two = site.second_leaf is not None
    before: dict[tuple[Any, ...], e.Event] = {}
    frames: list[Stamped] = []
    told, brief = 0.0, frozenset() if everything else _brief(events)
    for number, stamped in enumerate(events):
        at, event = stamped
        if number in brief:
            continue
        if isinstance(event, _FRAMES) and not everything:
            frames.append(stamped)
            continue
        if isinstance(event, e.MotionChanged) and not everything and leaf.goes_on(event):
            leaf.see(at, event)
            continue
        if frames and at - told > _QUIET:
            yield _summed(frames, leaf, told)
            frames = []
        leaf.see(at, event)
        if isinstance(event, e.MotionChanged) and event.v == 0 and not everything:
            continue
        about = subject(event)
        who, sentence = tell(event, before.get(about))
        if two and getattr(event, "leaf", None) is LeafName.FIRST:
            sentence = of_leaf(LeafName.FIRST, sentence)
        before[about] = event
        told = at
        yield Line(at, leaf.strip(at), who, sentence, isinstance(event, _ALARMING))
    if frames:
        yield _summed(frames, leaf, told)


def _brief(events: Sequence[Stamped]) -> frozenset[int]:
    """Pieces of motion that the next one, the same way, follows at once: a drive that finds its speed again."""
    found = []
    pairs = [pair for leaf in e.LeafName for pair in pairwise(
        [number for number, (_, event) in enumerate(events)
         if isinstance(event, e.MotionChanged) and event.leaf is leaf])]
    for number, after in pairs:
        (begin, now), (end, then) = events[number], events[after]
        assert isinstance(now, e.MotionChanged)
        assert isinstance(then, e.MotionChanged)
        if end - begin < _BRIEF and now.direction is then.direction is not None and now.v != 0:
            found.append(number)
    return frozenset(found)


def _summed(frames: Sequence[Stamped], leaf: Strips, told: float) -> Line:
    sent: dict[str, int] = {}
    heard: dict[str, int] = {}
    for _, event in frames:
        counts = sent if isinstance(event, e.FrameSent) else heard
        name = str(event[0])
        counts[name] = counts.get(name, 0) + 1
    names = list(dict.fromkeys([*sent, *heard]))
    said = "; ".join(f"{name}: {_frames(sent.get(name, 0))} sent, {heard.get(name, 0)} heard" for name in names)
    at = max(told, frames[-1].at)
    return Line(at, leaf.strip(at), "radio", said, False)


def _frames(number: int) -> str:
    return f"{number} frame" if number == 1 else f"{number} frames"


def draw_story(console: Console, lines: Sequence[Line]) -> None:
    """Print lines; an instant's time and strip stand once."""
    from rich.text import Text

    last = None
    # Two leaves have two strips.
    before = MARGIN + max((len(line.strip) for line in lines), default=STRIP + 2) - (STRIP + 2)
    indent = "\n" + " " * before
    for line in lines:
        when = f"{line.at / 1e6:10.3f} s" if line.at != last else " " * 12
        strip = line.strip if line.at != last else " " * len(line.strip)
        last = line.at
        text = Text(f"{when}  {strip}  ")
        text.append(f"{line.who:<10}  ", "dim")
        # Whole lines where a program reads on.
        wide = max(20, console.width - before) if console.is_terminal else len(line.sentence) + 1
        pieces = wrap(line.sentence, wide, break_long_words=False, break_on_hyphens=False)
        text.append(indent.join(pieces), "bold" if line.alarming else "")
        console.print(text, soft_wrap=True)


def draw(
    console: Console, result: Judged, site: Site, whole: Sequence[Stamped],
    stories: Sequence[tuple[str, Sequence[Line]]], loud: bool, blocks: bool = False,
) -> None:
    """Print the whole: head, lanes of the whole run's events, each run's story, the verdicts."""
    console.print(result.title or result.file, style="bold", markup=False, soft_wrap=True)
    console.print(f"{result.file}; site: {site.name}; seed {result.seed}", markup=False, soft_wrap=True)
    two = any(" " in line.strip for _, lines in stories for line in lines[:1])
    which = "; the first leaf, then the second." if two else "."
    console.print(
        f"Strip: | closed stop ... open stop |, < closing, > opening, # at rest{which}", markup=False, soft_wrap=True
    )
    console.print()
    draw_lanes(console, whole, site, blocks)
    for head, lines in stories:
        console.print()
        console.print(head, style="bold", markup=False, soft_wrap=True)
        draw_story(console, lines)
    console.print()
    draw_verdicts(console, result, loud)
    draw_residual(console, (result,))
    console.print()
    console.print(
        f"Outcome: {result.outcome}. This is about the model and its figures, not about a gate that stands somewhere.",
        style="bold",
        soft_wrap=True,
    )


def draw_verdicts(console: Console, result: Judged, loud: bool) -> None:
    """The verdict table; then what was not exercised, which is no pass."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, title="Verdicts", title_justify="left", title_style="bold")
    for column in ("outcome", "requirement", "measured", "limit", "margin", "expected"):
        table.add_column(
            column, justify="right" if column in ("measured", "limit", "margin") else "left", overflow="fold"
        )
    said = [row for row in result.rows if row.verdict.outcome is not Outcome.NOT_EXERCISED]
    for row in said:
        table.add_row(*_cells(row), style="bold red" if row.differs else "")
    console.print(table)
    for row in result.rows:
        if row.differs or loud:
            draw_row(console, row)
    idle = [row.requirement.id for row in result.rows if row.verdict.outcome is Outcome.NOT_EXERCISED]
    if idle:
        console.print(
            f"Not exercised by this run, and so not shown to hold ({len(idle)}): {', '.join(idle)}",
            style="dim",
            markup=False,
        )


def _cells(row: JudgedRow) -> tuple[str, ...]:
    got, measure = row.verdict.figures, row.requirement.measure
    alone = "" if row.requirement.run is Run.WHOLE else f" ({row.requirement.run.value})"
    outcome = row.verdict.outcome.value.upper() if row.verdict.outcome is not Outcome.PASS else "pass"
    return (
        outcome + (" DIFFERS" if row.differs else ""),
        row.requirement.id + alone,
        "" if got.measured is None else quantity(got.measured, measure),
        "" if got.limit is None else quantity(got.limit, measure),
        "" if got.margin is None else margin(got.margin, measure),
        row.expected or "",
    )
