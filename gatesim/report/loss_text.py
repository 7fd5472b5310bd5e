"""Lost frames for people: chances of nuisances and of late reactions, and how the times spread."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from rich.console import Console
from rich.table import Table
from rich.text import Text

from gatesim.search.loss import LossRow
from gatesim.search.loss_tree import Channel

BEYOND = (2, 4, 6, 9)
"""Columns of times: exceeded with a chance of 1e-2, 1e-4 …"""


def draw(console: Console, site: str, seed: int, channels: Mapping[str, Channel], rows: Sequence[LossRow]) -> None:
    """The whole result."""
    title = f"Lost frames at {site}, seed {seed}: each frame heard or lost, every chance exact"
    console.print(Text(title, style="bold"))
    for name, one in channels.items():
        console.print(f"{name}: {said(one)}")
    console.print()
    healthy = [row for row in rows if row.healthy]
    console.print(Text("Healthy: nothing but lost frames disturbs the gate", style="bold"))
    console.print(_healthy(healthy))
    reactions = [row for row in rows if not row.healthy]
    if reactions:
        console.print()
        console.print(Text("Reactions, in ms: the time that is exceeded with at most this chance", style="bold"))
        console.print(_reactions(reactions))
        for row in reactions:
            for why, chance in row.failures.items():
                console.print(f"  {name_of(row)}, {row.direction.value}: {why}, chance {number(chance)}")
    left = max([row.unaccounted for row in rows], default=Fraction(0))
    console.print()
    console.print(f"Left out for their small chance, or for want of time: at most {number(left)} in a row."
                  if left else "Nothing was left out.")
    console.print("Frames before the moment are heard; what the receiver sends is not lost; lateness and delay of "
                  "frames are those of the seed.")
    console.print(
        "A verdict is about the model and its figures. It is no statement about a gate that stands somewhere.")


def said(one: Channel) -> str:
    """A path's loss in words."""
    link = "" if one.link is None else "; what its link budget loses along the travel comes on top"
    if one.share_bad == 0:
        return f"each frame is lost with {share(one.loss)}, for itself{link}"
    turns = (f"bad for {share(one.share_bad)} of the time, in bursts" if one.chain is not None else
             f"before a frame it turns bad with {share(one.worse)} and good again with {share(one.better)}")
    return (f"{share(one.loss)} of frames lost, {share(one.loss_in_bad)} in the bad state; {turns} "
            f"({share(one.mean)} lost in the long run){link}")


def share(chance: Fraction) -> str:
    """A share as it may be given on the command line."""
    return f"{float(chance * 100):.6g} %"


def number(chance: Fraction) -> str:
    """A chance."""
    if chance in (0, 1):
        return str(chance)
    return f"{float(chance):.4f}" if chance >= Fraction(1, 100) else f"{float(chance):.3e}"


def name_of(row: LossRow) -> str:
    """What a row is about."""
    return f"{row.story}, {row.device}" if row.device else row.story


def _healthy(rows: Sequence[LossRow]) -> Table:
    table = _table("story", ("nuisance", "frames"))
    table.add_column("outcomes", overflow="fold")
    for row in rows:
        outcomes = ", ".join(f"{what} {number(chance)}" for what, chance in row.outcomes.items())
        table.add_row(f"{row.story}, {row.direction.value}", number(row.bad), str(row.frames), outcomes)
    return table


def _reactions(rows: Sequence[LossRow]) -> Table:
    table = _table("story", ("limit", *[f"1e-{n}" for n in BEYOND], "longest", "late", "at"))
    for row in rows:
        times = [_ms(row.longest(Fraction(1, 10**n))) for n in BEYOND]
        longest = _ms(row.times[-1][0]) if row.times else "-"
        table.add_row(f"{name_of(row)}, {row.direction.value}", _ms(row.limit), *times, longest, number(row.bad),
                      f"{row.at / 1e6:.6f} s")
    return table


def _table(first: str, others: Sequence[str]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), show_edge=False, header_style="bold")
    table.add_column(first, overflow="fold", min_width=18)
    for title in others:
        table.add_column(title, justify="right", no_wrap=True)
    return table


def _ms(us: int | None) -> str:
    return "-" if us is None else f"{us / 1000:.3f}"
