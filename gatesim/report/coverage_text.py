"""Coverage of a controller's table for people."""

from __future__ import annotations

from collections import Counter

from rich.console import Console
from rich.table import Table
from rich.text import Text

from gatesim.search.driven import Driven
from gatesim.search.logic_cover import LogicCover
from gatesim.search.machine import Findings, Machine, row_words
from gatesim.search.suites import Distinct, Word

LONG = 12
"""Rows listed of one state before the rest is counted."""


def draw(console: Console, cover: LogicCover, told: Distinct, suite: tuple[Word, ...], driven: Driven | None,
         controller: str, verbose: bool) -> None:
    """The whole result."""
    machine = cover.machine
    console.print(Text(f"Coverage of the logic ({controller}) by {cover.scenarios} "
                       f"scenario{'' if cover.scenarios == 1 else 's'}", style="bold"))
    _before(console, cover.findings)
    console.print()
    console.print(Text("Reached by the scenarios", style="bold"))
    if not cover.questions:
        console.print("  The controller never asked its table (Table.fire): nothing can be said of what it did.")
    pairs = len(cover.all_pairs) - len(cover.unused_pairs)
    for name, count, of in (
        ("states", len(cover.states), len(machine.modes)), ("transitions", len(cover.rows), len(machine.table.rows)),
        ("pairs of transitions", pairs, len(cover.all_pairs)),
        ("inputs (trigger and guards) in a state", len(cover.inputs), len(machine.modes) * len(machine.inputs)),
    ):
        console.print(f"  {name}: {count} of {of}")
    _never(console, cover, verbose)
    console.print()
    console.print(Text("Suite by the W-method", style="bold"))
    console.print(f"  {len(suite)} words of {sum(map(len, suite))} inputs in all. By actions alone the "
                  f"{len(machine.reached)} states fall into {told.classes} classes, which these tell apart: "
                  + "; ".join(_word(machine, word) for word in told.words))
    if driven is not None:
        _driven(console, machine, driven, verbose)
    console.print()
    console.print("Coverage says what was tried, not that it was right; the verdicts of `gatesim check` say that.")


def _before(console: Console, found: Findings) -> None:
    console.print()
    console.print(Text("Before anything runs", style="bold"))
    for name, modes in (("unreachable states", found.unreachable), ("states that nothing leaves", found.no_way_out),
                        ("states without a way back to the first one", found.no_way_back)):
        words = ", ".join(str(mode.value) for mode in modes)
        console.print(Text(f"  {name}: {words or 'none'}", style="bold red" if modes else ""))
    console.print(f"  unreachable transitions: {len(found.shadowed) or 'none'}")
    for row in found.shadowed:
        console.print(f"    {row_words(row)} (rows above it answer)", markup=False)
    by_trigger: dict[tuple[str, bool], list[str]] = {}
    for one in found.unanswered:
        by_trigger.setdefault((str(one.trigger.value), one.ignored), []).append(str(one.mode.value))
    for (trigger, ignored), names in by_trigger.items():
        how = "ignored" if ignored else "answered without a stop or a lockout"
        console.print(f"  {trigger}, {how} in: {', '.join(names)}")


def _never(console: Console, cover: LogicCover, verbose: bool) -> None:
    if cover.unused_states:
        console.print(f"  never in: {', '.join(str(mode.value) for mode in cover.unused_states)}")
    rows = cover.unused_rows
    if not rows:
        return
    console.print("  transitions never used:")
    for mode in dict.fromkeys(row.mode for row in rows):
        own = [row_words(row).partition(": ")[2] for row in rows if row.mode is mode]
        shown = own if verbose else own[:LONG]
        more = "" if len(shown) == len(own) else f"; and {len(own) - len(shown)} more"
        console.print(f"    {mode.value}: {'; '.join(shown)}{more}", markup=False)
    if cover.unused_pairs:
        console.print(f"  {len(cover.unused_pairs)} pairs of transitions never used; `--format json` lists them")


def _word(machine: Machine, word: Word) -> str:
    return ", then ".join(machine.inputs[x].words() for x in word)


def _driven(console: Console, machine: Machine, driven: Driven, verbose: bool) -> None:
    console.print()
    console.print(Text(f"The suite with the plant of {driven.site} around it", style="bold"))
    console.print(f"  A driver made {driven.moves} moves; it all took {driven.seconds:.0f} s. Of "
                  f"{driven.transitions} inputs in a state it produced {len(driven.produced)}; of {driven.steps} steps "
                  f"(each of these, then each of the {len(driven.words)} words that tell states apart) "
                  f"{driven.exercised}.")
    console.print(f"  not exercised: {driven.transitions - len(driven.produced)} inputs in a state, "
                  f"{driven.steps - driven.exercised} steps. Some can't happen on any gate; others were only not "
                  f"found. They are no pass.")
    missing = Counter(machine.inputs[x].trigger.value for s in machine.reached for x in range(len(machine.inputs))
                      if (s, x) not in driven.produced)
    console.print("  not exercised, by trigger: " + ", ".join(f"{name} {count}" for name, count in missing.items()))
    console.print()
    console.print("  Tables wrong in one place that a suite notices, of those that can be noticed; "
                  "alone: the bare table, every input given;")
    console.print("  driven: through the contract, outputs of the controller compared, its state not looked at; "
                  "met: a history comes to what is wrong")
    console.print(_scores(driven))
    if not driven.judged:
        console.print("  Time was over before all wrong tables were tried: the figures are of those that were.")
    shown = driven.survivors if verbose else driven.survivors[:LONG]
    if shown:
        console.print("  met by the driven W-suite and not noticed:")
        for one in shown:
            console.print(f"    {one.words(machine.table)}", markup=False)
        if len(shown) < len(driven.survivors):
            console.print(f"    and {len(driven.survivors) - len(shown)} more (-v lists them)")


def _scores(driven: Driven) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 2), show_edge=False, header_style="bold")
    table.add_column("suite")
    for title in ("wrong", "can be noticed", "met", "noticed"):
        table.add_column(title, justify="left" if title == "wrong" else "right", no_wrap=True)
    for name, scores in driven.alone.items():
        for change, score in scores.items():
            can = score.made - score.equal
            table.add_row(f"{name}, alone", change.value, str(can), "-", f"{score.noticed} ({score.share:.1%})")
    for name, driven_scores in driven.noticed.items():
        for change, one in driven_scores.items():
            share = f" ({one.noticed / one.exercised:.1%} of met)" if one.exercised else ""
            table.add_row(f"{name}, driven", change.value, str(one.made - one.equal), str(one.exercised),
                          f"{one.noticed}{share}")
    return table
