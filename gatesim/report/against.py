"""A check beside an earlier one: what is kept of a scenario, and the comparison for people and for programs."""

from __future__ import annotations

from typing import Any

from gatesim.report.figures import margin, quantity
from gatesim.report.folded import printable
from gatesim.report.judged import Judged
from gatesim.report.plain import Page
from gatesim.requirements.verdict import Measure
from gatesim.search.margins import Became, Compared, Loss
from gatesim.search.store import Head


def kept_row(result: Judged) -> dict[str, Any]:
    """A scenario's result as the store keeps it: verdicts with their figures, without what proves them."""
    return {
        "outcome": result.outcome,
        "seed": result.seed,
        "site_sha256": result.site_sha256,
        "trace_sha256": result.sha256,
        "verdicts": {
            row.requirement.id: {
                "outcome": row.verdict.outcome.value,
                **row.verdict.figures._asdict(),
                "unit": row.requirement.measure.value,
            }
            for row in result.rows
        },
    }


def against_object(head: Head, found: Compared, percent: float) -> dict[str, Any]:
    """The comparison for programs; names of files are from the project's folder."""
    return {
        "name": head.name,
        "version": head.version,
        "margin_loss_percent": percent,
        "scenarios": found.scenarios,
        "margins": found.margins,
        "new_scenarios": found.new,
        "other_seed": found.reseeded,
        "losses": [
            {
                "file": loss.file,
                "requirement": loss.requirement or None,
                "became": loss.became.value,
                "before": _figures(loss.before) if loss.requirement else None,
                "after": _figures(loss.after) if loss.requirement and loss.after is not None else None,
                "lost_share": loss.share,
                "site_changed": loss.site_changed,
            }
            for loss in found.losses
        ],
    }


def _figures(verdict: dict[str, Any]) -> dict[str, Any]:
    return {key: verdict[key] for key in ("outcome", "measured", "limit", "margin", "unit")}


def draw(console: Page, head: Head, found: Compared, percent: float) -> None:
    """Print it, a file with what is worse in it at a time."""
    console.print()
    many = "1 scenario" if found.scenarios == 1 else f"{found.scenarios} scenarios"
    console.print(f"against {head.name!r}, kept by gatesim {head.version}: {found.margins} margins in {many}",
                  style="bold", markup=False, soft_wrap=True)
    file = None
    for loss in found.losses:
        if loss.file != file:
            changed = "; its site has changed" if loss.site_changed else ""
            console.print(printable(f"WORSE        {loss.file}{changed}"), style="bold red", markup=False,
                          soft_wrap=True)
            file = loss.file
        console.print(printable(f"    {told(loss)}"), markup=False, soft_wrap=True)
    for count, said in ((found.new, "with nothing to compare"), (found.reseeded, "with another seed than then")):
        if count:
            console.print(f"{count} scenario{'s' if count > 1 else ''} {said}", markup=False, soft_wrap=True)
    worse = "nothing is worse" if not found.losses else f"{len(found.losses)} worse"
    console.print(f"{worse}; a pass may lose {percent:g} % of its margin", style="bold", markup=False, soft_wrap=True)


def told(loss: Loss) -> str:
    """A loss in one line."""
    if loss.became is not Became.LESS_MARGIN or loss.after is None or loss.share is None:
        what = f"{loss.requirement}: " if loss.requirement else ""
        return f"{what}{loss.became.value}{_instead(loss)}"
    measure, then, now = Measure(loss.after["unit"]), loss.before, loss.after
    limits = dict.fromkeys(quantity(one["limit"], measure) for one in (then, now) if one["limit"] is not None)
    return (f"{loss.requirement}: margin {margin(then['margin'], measure)} -> {margin(now['margin'], measure)}, "
            f"{loss.share * 100:.1f} % lost (limit {' -> '.join(limits) or 'none'})")


def _instead(loss: Loss) -> str:
    if not loss.requirement:
        return ""
    then = loss.before["margin"]
    measure = Measure(loss.before["unit"])
    now = "" if loss.after is None or loss.became is Became.FAILS else f" ({loss.after['outcome']})"
    return f"{now}; it passed" + ("" if then is None else f" with {margin(then, measure)}")
