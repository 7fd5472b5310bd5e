"""The page of a sweep: fault x direction by outcome and margin, and for each the story of its worst moment."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gatesim.events import Stamped
from gatesim.report.figures import duration, instant
from gatesim.report.html.chain import chain_of, together, whole_us
from gatesim.report.html.pages import MARKS, page
from gatesim.report.html.run_page import shown_chain
from gatesim.report.judged import JudgedRow
from gatesim.report.run_text import story
from gatesim.requirements.catalogue import requirements
from gatesim.run import RunResult
from gatesim.search.classes import Class
from gatesim.search.ground import move_title
from gatesim.search.moments import Coverage
from gatesim.search.sweep import Bench, Row, Swept, worst_run

POINTS = 300
"""Of a plot; the least margin of each stretch is kept."""
BEFORE, AFTER = 1_500_000, 3_000_000
"""Of the story, so much before the cause and after the reaction is told (us; ours)."""
MOST_LINES = 60

Column = tuple[str, str, str]


def sweep_page(swept: Swept, bench: Bench | None, beside: str, missing: int) -> str:
    """The whole page; without a bench the stories are left out.  BadUsage where jinja2 is not installed."""
    columns = tuple(dict.fromkeys(_column(row) for row in swept.rows))
    devices = list(dict.fromkeys((row.fault, row.device) for row in swept.rows))
    places = {(row.fault, row.device, _column(row)): k for k, row in enumerate(swept.rows)}
    cells = [_cell(row) for row in swept.rows]
    texts: dict[str, int] = {}
    data = {"rows": [_detail(row, bench, texts) | {"cell": cell} for row, cell in
                     zip(swept.rows, cells, strict=True)]}
    matrix = [{"fault": fault, "device": device, "cells": [places.get((fault, device, column)) for column in columns]}
              for fault, device in devices]
    kinds = [(cell["outcome"] + ("" if cell["coverage"] == "exact" else f", {cell['coverage']}"), cell["look"],
              cell["mark"]) for cell in cells]
    counts = [(*kind, kinds.count(kind)) for kind in sorted(set(kinds))]
    differs = [f"{row.fault}, {row.device}, {row.direction.value}: {row.outcome.value}" for row in swept.rows
               if row.differs]
    return page("sweep", f"Sweep of {swept.site}", data | {"texts": list(texts)}, swept=swept,
                columns=columns, matrix=matrix, cells=cells, counts=counts, differs=differs, beside=beside,
                residual=sum(row.residual for row in swept.rows), missing=missing,
                coverage=_coverage(swept))


def _column(row: Row) -> Column:
    return move_title(row.direction, row.leaf), row.phase.value, row.duration


def _coverage(swept: Swept) -> list[tuple[str, int]]:
    kinds = [row.coverage.value for row in swept.rows]
    return [(kind, kinds.count(kind)) for kind in dict.fromkeys(kinds)]


def _cell(row: Row) -> dict[str, Any]:
    """What stands in the matrix."""
    worst = row.worst
    figure = ""
    if worst is not None and worst.measured is not None and worst.limit is not None:
        left = worst.limit - worst.measured
        figure = f"margin {'+' if left >= 0 else ''}{duration(left)}"
    elif row.outcome is Class.LATENT and row.latent is not None:
        figure = f"{max(row.latent.edge, row.latent.force)} of {row.latent.tried} contacts missed"
    else:
        figure = "no reaction measured"
    look, mark = look_of(row)
    return {"outcome": row.outcome.value, "look": look, "mark": mark,
            "figure": figure, "coverage": row.coverage.value, "differs": row.differs}


def look_of(row: Row) -> tuple[str, str]:
    """Look and sign of a row: green is only what is proved for every moment."""
    look, mark = MARKS[row.outcome.value]
    if look != "good" or row.coverage is Coverage.EXACT:
        return look, mark
    return ("open", "?") if row.coverage is Coverage.INCOMPLETE else ("as", "≈")


def _detail(row: Row, bench: Bench | None, texts: dict[str, int]) -> dict[str, Any]:
    """What is shown of a row when it is chosen."""
    worst = row.worst
    facts = [("outcome", row.outcome.value), ("found", row.found.value), ("coverage", row.coverage.value),
             ("runs", str(row.runs))]
    if worst is not None:
        facts.insert(1, ("worst moment", f"{worst.at / 1e6:.6f} s"))
        if worst.measured is not None and worst.limit is not None:
            facts[1:1] = [("requirement", worst.requirement), ("reaction", f"{worst.measured / 1000:.3f} ms"),
                          ("limit", duration(worst.limit))]
    if row.bound is not None:
        facts.append(("proved bound", f"{row.bound / 1000:.3f} ms"))
    why = "; ".join(part for part in ("" if worst is None else worst.why, row.why) if part)
    said = {"name": f"{row.fault}, {row.device}", "column": ", ".join(_column(row)), "facts": facts, "why": why,
            "differs": row.differs, "window": list(row.window), "points": _points(row),
            "gaps": [f"{a / 1e6:.6f} s to {b / 1e6:.6f} s" for a, b in row.gaps[:20]],
            "worst": None if worst is None else worst.at, "latent": _latent(row)}
    return said | (_story(row, bench, texts) if bench is not None and worst is not None else {"lines": [],
                                                                                            "chains": []})


def _latent(row: Row) -> str:
    got = row.latent
    if got is None or got.first is None:
        return ""
    return (f"Nothing announced the fault. Of {got.tried} contacts meanwhile the edge missed {got.edge}, the force "
            f"sensing {got.force}, the gate as a whole {got.whole}.")


def _points(row: Row) -> list[list[int]]:
    """[moment, margin] (us), of each of `POINTS` stretches of the window that with the least margin."""
    first, last = row.window
    least: dict[int, tuple[int, int]] = {}
    for moment, margin in row.profile:
        if margin is None:
            continue
        k = (moment - first) * POINTS // max(1, last - first + 1)
        if k not in least or margin < least[k][1]:
            least[k] = (moment, margin)
    return [list(least[k]) for k in sorted(least)]


def _story(row: Row, bench: Bench, texts: dict[str, int]) -> dict[str, Any]:
    """The story of the worst moment around it, and the chain to the reaction."""
    run = worst_run(bench, row)
    events = list(run.sections[0].events)
    assert row.worst is not None
    met = row.worst.at if row.latent is None or row.latent.first is None else row.latent.first
    since, until = met - BEFORE, met + (row.worst.measured or 0) + AFTER
    lines = [line for line in story(events, bench.site, everything=False) if since <= line.at <= until]
    kept = [[instant(line.at), *_numbers(texts, line.strip, line.who, line.sentence), int(line.alarming)]
            for line in lines[:MOST_LINES]]
    return {"lines": kept, "cut": max(0, len(lines) - MOST_LINES), "chains": _chains(run, events, row)}


def _numbers(texts: dict[str, int], *said: str) -> list[int]:
    """Each text once in the page, here by its number."""
    return [texts.setdefault(text, len(texts)) for text in said]


def _chains(run: RunResult, events: Sequence[Stamped], row: Row) -> list[dict[str, Any]]:
    """The chain of the requirement that measured the worst reaction."""
    if row.worst is None or not row.worst.requirement:
        return []
    found, known = [], whole_us(events)
    for one in run.rows:
        if one.requirement == row.worst.requirement and one.section == 0:
            judged = JudgedRow(requirements()[one.requirement], one.verdict, None, False, "", one.profile.value, ())
            found.append(chain_of(known, judged, run.scenario.site))
    return [shown_chain(one) for one in together(one for one in found if one is not None)]
