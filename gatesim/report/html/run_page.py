"""The page of a run: the gate that moves, its lanes, the chain from cause to reaction, the story, the verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim import shown
from gatesim.events import LeafName, Stamped
from gatesim.plant.leaves import LeafTable, leaves
from gatesim.plant.site import GateKind, Site
from gatesim.report.check_text import said
from gatesim.report.figures import duration, instant
from gatesim.report.html import tracks
from gatesim.report.html.axis import Axis, axis_of
from gatesim.report.html.chain import Chain, chain_of, together, whole_us
from gatesim.report.html.pages import link, page
from gatesim.report.html.rows import Shown, idle, rows_of
from gatesim.report.judged import Judged
from gatesim.report.lanes import Story, story_of
from gatesim.report.run_text import story
from gatesim.run import RunResult

MOST_LINES = 2_000
"""Of the story on the page; what is beyond is said."""
WIDE, LEFT, LONG = 900, 250, 320
"""Of the plan: its width, where the opening begins, how wide it is."""


class Drawn(NamedTuple):
    """One leaf in the plan: `how` it moves, by `far` (units of the drawing, or degrees) over its whole travel."""

    name: str
    title: str
    how: str
    far: float
    x: float
    long: float
    mirrored: bool
    pivot: float
    first: float
    """Its first place, as a share of the travel."""

    def transform(self, share: float) -> str:
        """Of its group, at a share of the travel."""
        if self.how == "swing":
            return f"rotate({-self.far * share:.3f} {self.pivot:g} 150)"
        if self.how == "lift":
            return f"translate(0 {-self.far * share:.2f})"
        return f"translate({self.far * share:.2f} 0)"


def run_page(result: Judged, run: RunResult, output: str | None) -> str:
    """The whole page; `output`: where it will stand, for the link to the scenario.  BadUsage without jinja2."""
    site, whole = run.scenario.site, run.sections[0]
    events = list(whole.events)
    made = story_of(events, site)
    axis = axis_of(events, made, whole.ends)
    lanes = tracks.lanes_of(events, made, axis, site, whole.ends)
    lines = list(story(events, site, everything=False))
    plan, chains = drawn_of(site, made), chains_of(result, run)
    return page(
        "run", result.title or result.file, _data(events, lines, lanes, made, axis, plan, site, whole.ends),
        result=result, teaches=run.scenario.teaches, site=site, href=link(result.file, output), lanes=lanes, axis=axis,
        lines=lines[:MOST_LINES], left_out=max(0, len(lines) - MOST_LINES), chains=[shown_chain(one) for one in chains],
        rows=rows_of(result), idle=idle(result), plan=plan, lift=site.gate.kind is GateKind.LIFT, instant=instant)


def error_page(result: Judged) -> str:
    """The page of a file that did not run."""
    return page("error", result.title or result.file, None, result=result, errors=[said(one) for one in result.errors])


def chains_of(result: Judged, run: RunResult) -> tuple[Chain, ...]:
    """The chain of every verdict that measured a time from a cause."""
    known: dict[int, Any] = {}
    found = []
    for row, judged in zip(run.rows, result.rows, strict=True):
        if judged.verdict.figures.measured is None:
            continue
        if row.section not in known:
            section = run.sections[row.section]
            before = [] if section.after == 0 else list(run.sections[0].events)[:section.after]
            known[row.section] = whole_us([*before, *section.events])
        chain = chain_of(known[row.section], judged, run.scenario.site)
        if chain is not None:
            found.append(chain)
    return together(found)


def shown_chain(chain: Chain) -> dict[str, Any]:
    """A chain as the templates and the script take it: places in per cent of the longer of measured and limit."""
    whole = max(chain.measured, chain.limit)
    delays = [{
        "number": k, "name": one.name, "lasts": duration(one.lasts),
        "since": round((one.since - chain.at) / whole * 100, 3),
        "wide": round(one.lasts / whole * 100, 3), "at": one.until, "instant": instant(one.until), "who": one.who,
        "sentence": one.sentence, "sum": duration(one.until - chain.at)} for k, one in enumerate(chain.delays, 1)]
    return {
        "requirements": ", ".join(chain.requirements), "quantity": chain.quantity, "outcome": chain.outcome,
        "cause": chain.cause, "at": chain.at, "instant": instant(chain.at), "measured": duration(chain.measured),
        "limit": duration(chain.limit), "margin": ("+" if chain.limit >= chain.measured else "")
        + duration(chain.limit - chain.measured), "limit_at": round(chain.limit / whole * 100, 3), "delays": delays}


def drawn_of(site: Site, made: Story) -> list[Drawn]:
    """Each leaf as the plan draws it; not to scale but for the share of the travel."""
    all_leaves = list(leaves(site))
    found = []
    for k, one in enumerate(all_leaves):
        two, mirrored = len(all_leaves) == 2, k == 1
        long = LONG / 2 if two else float(LONG)
        start = LEFT + (long if mirrored else 0.0)
        how = {GateKind.SWING: "swing", GateKind.LIFT: "lift"}.get(one.gate.kind, "slide")
        # The first of two leaves goes to the left, a leaf alone and the second to the right.
        sign = -1.0 if two and not mirrored else 1.0
        far = {"swing": 85.0 * (-1 if mirrored else 1), "lift": 110.0, "slide": sign * long * 0.94}[how]
        pivot = LEFT + LONG if mirrored else float(LEFT)
        title = "leaf" if not two else f"{one.leaf.value} leaf"
        at_right = mirrored if how == "swing" else sign > 0
        found.append(Drawn(one.leaf.value, title, how, far, start, long, at_right, pivot, _share(made, one)))
    return found


def _share(made: Story, one: LeafTable) -> float:
    return max(0.0, min(1.0, made.tracks[one.leaf].position(0.0) / one.gate.travel))


def _data(events: Sequence[Stamped], lines: Sequence[Any], lanes: Sequence[tracks.Lane], made: Story, axis: Axis,
          plan: Sequence[Drawn], site: Site, ends: float) -> dict[str, Any]:
    """What the script moves the page by; instants are whole us."""
    instants = axis.samples(tracks.SAMPLES)
    parts = [[round(one.since), round(one.until), round(start, 6)]
             for one, start in zip(axis.stretches, axis.starts, strict=True)]
    return {
        "ends": round(ends), "axis": parts, "each": axis.each, "samples": [round(t) for t in instants],
        "leaves": [{"name": one.name, "title": one.title, "how": one.how, "far": one.far, "pivot": one.pivot,
                    "travel": [shown.position(table.gate.travel * k / 200) for k in range(201)],
                    "shares": tracks.samples(instants, made, table)}
                   for one, table in zip(plan, leaves(site), strict=True)],
        "now": [[lane.name, lane.now] for lane in lanes if lane.now],
        "contacts": list(_contacts(events, ends)), "pressed": list(_pressed(events, ends)),
        "events": sorted({round(line.at) for line in lines[:MOST_LINES]}),
    }


def _contacts(events: Sequence[Stamped], ends: float) -> Iterator[list[Any]]:
    """[since, until, leaf, direction, what] of each contact."""
    open_: dict[str, list[Any]] = {}
    for at, event in events:
        if isinstance(event, e.ContactBegan):
            open_[event.obstruction] = [round(at), round(ends), event.leaf.value, event.direction.value,
                                        event.obstruction]
        elif isinstance(event, e.ContactEnded) and event.obstruction in open_:
            done = open_.pop(event.obstruction)
            yield [done[0], round(at), *done[2:]]
    yield from open_.values()


def _pressed(events: Sequence[Stamped], ends: float) -> Iterator[list[Any]]:
    """[since, until, leaf, direction] of each strip that is pressed."""
    open_: dict[str, list[Any]] = {}
    for at, event in events:
        if isinstance(event, e.EdgeActuated):
            open_[event.edge] = [round(at), round(ends), LeafName(event.leaf).value, event.direction.value]
        elif isinstance(event, e.EdgeReleased) and event.edge in open_:
            done = open_.pop(event.edge)
            yield [done[0], round(at), *done[2:]]
    yield from open_.values()


__all__ = ["Shown", "chains_of", "error_page", "run_page", "shown_chain"]
