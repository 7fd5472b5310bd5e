"""`gatesim history STORE [BEFORE AFTER]`: sweeps kept, and two of them row by row."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk

if TYPE_CHECKING:
    from rich.console import Console

    from gatesim.search.store import Change, Kept


@click.command("history")
@click.argument("store", metavar="STORE")
@click.argument("before", required=False)
@click.argument("after", required=False)
@click.option("--lost", "percent", type=click.FloatRange(min=0, max=100), default=10.0, show_default=True,
              help="A margin that lost more than this many per cent counts as worse.")
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk, store: str, before: str | None, after: str | None, percent: float, style: str, output: str | None
) -> int:
    """List the sweeps that STORE keeps, or compare two of them row by row.

    The exit code is 1 where a row came out worse: graver, with less margin, proved less, or missing.
    """
    import json
    from pathlib import Path

    from gatesim.cli.codes import Exit
    from gatesim.errors import BadUsage
    from gatesim.search.store import changes, opened

    with opened(Path(store)) as kept:
        if before is None:
            listed = [kept.read(name) for name in kept.names()]
            _deliver(talk, style, output, json.dumps({"format": "gatesim-history/1", "sweeps": [
                _told(one) for one in listed]}, indent=1), lambda console: _list(console, listed))
            return Exit.AS_EXPECTED
        if after is None:
            raise BadUsage("two sweeps are compared: name BEFORE and AFTER")
        old, new = kept.read(before), kept.read(after)
    found = changes(old, new)
    worse = [one for one in found if one.is_worse(percent / 100)]
    whole = {"format": "gatesim-history/1", "before": _told(old), "after": _told(new),
             "changes": [_change(one, percent / 100) for one in found], "worse": len(worse)}
    _deliver(talk, style, output, json.dumps(whole, indent=1),
             lambda console: _compare(console, old, new, found, percent / 100))
    return Exit.DIFFERS if worse else Exit.AS_EXPECTED


def _deliver(talk: Talk, style: str, output: str | None, text: str, draw: Any) -> None:
    if style == "json":
        talk.deliver(text + "\n", output)
    else:
        talk.render(draw, output)


def _told(one: Kept) -> dict[str, Any]:
    return {"name": one.name, "site": one.site, "site_sha256": one.site_sha256, "version": one.version,
            "seed": one.seed, "rows": len(one.rows), "rows_wanted": one.wanted, "ended": one.ended}


def _change(one: Change, share: float) -> dict[str, Any]:
    from gatesim.search.store import KEY

    return {**dict(zip(KEY, one.key, strict=True)), "before": one.before, "after": one.after,
            "margin_lost_share": one.lost, "worse": one.is_worse(share)}


def _list(console: Console, listed: list[Kept]) -> None:
    for one in listed:
        cut = "" if one.ended else ", cut off"
        console.print(f"{one.name}: {one.site}, seed {one.seed}, gatesim {one.version}, "
                      f"{len(one.rows)} of {one.wanted} rows{cut}", markup=False)
    if not listed:
        console.print("no sweep is kept yet")


def _compare(console: Console, old: Kept, new: Kept, found: list[Change], share: float) -> None:
    console.print(f"{old.name} against {new.name}", style="bold", markup=False)
    if old.site_sha256 != new.site_sha256:
        console.print("The site changed in between.")
    if (old.version, old.seed) != (new.version, new.seed):
        console.print(f"gatesim {old.version}, seed {old.seed}; then gatesim {new.version}, seed {new.seed}",
                      markup=False)
    for one in found:
        mark = "worse " if one.is_worse(share) else "      "
        console.print(f"{mark}{', '.join(one.key)}: {_said(one.before)} -> {_said(one.after)}", markup=False)
    same = len(new.rows) - sum(one.after is not None for one in found)
    console.print(f"{same} rows are the same, {sum(one.is_worse(share) for one in found)} are worse")


def _said(row: dict[str, Any] | None) -> str:
    if row is None:
        return "no such row"
    margin = "" if row["margin_us"] is None else f", margin {row['margin_us'] / 1000:.3f} ms"
    return f"{row['outcome']}{margin}, {row['coverage']}"
