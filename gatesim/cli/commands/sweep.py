"""`gatesim sweep SITE_OR_SCENARIO`: every fault at every moment."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING, NamedTuple

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted
from gatesim.report import cases_as, table_as

if TYPE_CHECKING:
    from gatesim.cli.codes import Exit
    from gatesim.cli.keeping import Keeper
    from gatesim.plant.site import Site
    from gatesim.report.cases import Cases
    from gatesim.scenario.model import Scenario
    from gatesim.search.pairs import Paired
    from gatesim.search.sweep import Order, Row, Swept, Task
    from gatesim.search.ways import Ways


@click.command("sweep")
@click.argument("file", metavar="SITE_OR_SCENARIO")
@click.option("--fault", "kinds", multiple=True, metavar="ID", help="Only this fault kind; may be given again.")
@click.option("--full", is_flag=True,
              help="All phases of a move, transient and intermittent faults, and every moment of a contact.")
@click.option("--pairs", "with_pairs", is_flag=True,
              help="Second faults as well: ordered pairs of the fault kinds asked for, and each with a contact.")
@click.option("--ways", type=click.IntRange(min=1, max=6), default=None,
              help="Combinations of faulty devices, direction, phase, origin and profile: any so many of them meet.")
@click.option("--budget", metavar="SECONDS", type=click.FloatRange(min=0.1), default=None,
              help="Time for the whole sweep; what is not reached is incomplete.")
@click.option("--jobs", type=click.IntRange(min=1, max=64), default=None,
              help="Worker processes.  [default: all cores]")
@click.option("--write", "folder", metavar="DIR", default=None,
              help="Write the worst moment of each row here as a scenario file.")
@click.option("--save", "name", metavar="NAME", default=None,
              help="Keep the sweep under this name, row by row as they are made.")
@options.store
@options.seed
@options.roles
@options.result_as(*cases_as.names(), *table_as.names(), options.HTML)
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    file: str,
    kinds: tuple[str, ...],
    full: bool,
    with_pairs: bool,
    ways: int | None,
    budget: float | None,
    jobs: int | None,
    folder: str | None,
    name: str | None,
    store: str | None,
    seed: int | None,
    logic: Wanted,
    style: str,
    output: str | None,
) -> int:
    """Put every fault that fits into every moment of a move, and find the worst case of each.

    A row is exact when the whole window is proved: one run speaks for an interval of moments, the intervals
    are laid end to end, and none is left. Otherwise it says sampled or incomplete, and why.
    """
    from functools import partial

    from gatesim.cli.roles import load_roles
    from gatesim.search.ground import Phase
    from gatesim.search.probe import PERMANENT, PULSES
    from gatesim.search.sweep import Order, bench_for

    _can_deliver(talk, style, output)
    site, scenario = _read(file)
    used = seed if seed is not None else scenario.seed if scenario is not None else 1
    order = Order(site, scenario, used, tuple(Phase) if full else (Phase.TRAVEL,),
                  partial(load_roles, logic, talk.note_once), trace_contacts=full)
    tasks = bench_for(order).tasks(_chosen(kinds), PULSES if full else (PERMANENT,))
    share = _budget_of_rows(budget, kinds, with_pairs)
    with _keeping(talk, name, store, order, len(tasks)) as keeper:
        rows, seconds, ended = _rows(talk, order, tasks, share, jobs, keeper)
    swept = _swept(site.name, used, rows, len(tasks), seconds)
    _write(talk, order, swept, file, folder)
    left = None if budget is None else budget - seconds
    more = More() if ended is not None else _more(talk, order, kinds, with_pairs, ways, left)
    _deliver(talk, order, swept, style, output, more, partial(_as_cases, order, file, logic.given()))
    return _code(swept, more, ended, keeper)


def _can_deliver(talk: Talk, style: str, output: str | None) -> None:
    """A BadUsage, before any work, where the result could not be delivered."""
    talk.for_programs(style)
    options.can_write_page(style, output)
    if style in table_as.names():
        table_as.needs(style)
        talk.not_to_a_terminal(style, output)


def _code(swept: Swept, more: More, ended: Exit | None, keeper: Keeper | None) -> Exit:
    from gatesim.cli.codes import worst

    code = _code_of(swept, more, ended)
    return code if keeper is None else worst((code, keeper.code))


def _code_of(swept: Swept, more: More, ended: Exit | None) -> Exit:
    from gatesim.cli.codes import Exit
    from gatesim.errors import LogicError

    if ended is not None:  # what is missing stands in the result
        return ended
    if any(row.worst is not None and row.worst.why.startswith(LogicError.__name__) for row in swept.rows):
        return Exit.OUR_FAULT
    return Exit.DIFFERS if swept.differs or more.differs else Exit.AS_EXPECTED


class More(NamedTuple):
    """What stands beside the rows of a sweep."""

    paired: Paired | None = None
    combined: Ways | None = None

    @property
    def differs(self) -> bool:
        """Whether any of it is not as it must be."""
        return any(one is not None and one.differs for one in self)


def _more(talk: Talk, order: Order, kinds: tuple[str, ...], with_pairs: bool, ways: int | None,
          left: float | None) -> More:
    """Pairs and combinations, where they are asked for, in the time that is left (s)."""
    import time

    begun = time.perf_counter()
    combined = None if ways is None else _combined(talk, order, ways, left)
    left = None if left is None else max(0.0, left - (time.perf_counter() - begun))
    return More(_paired(talk, order, kinds, left) if with_pairs else None, combined)


def _combined(talk: Talk, order: Order, strength: int, budget: float | None) -> Ways:
    """The combinations of flags, in the time that is left."""
    from gatesim.errors import BadUsage
    from gatesim.search.ways import Combiner, Ways

    if order.scenario is not None:
        raise BadUsage("--ways is for a sweep of a site; a scenario has one story and one profile")
    combiner = Combiner(order.site, order.load(), order.seed)
    wanted = combiner.count(strength)
    rows = tuple(talk.counted(combiner.rows(strength, budget), wanted, "combinations"))
    return Ways(strength, combiner.factors(), rows, wanted - len(rows))


def _budget_of_rows(budget: float | None, kinds: tuple[str, ...], with_pairs: bool) -> float | None:
    """Of the whole time, what the single faults may take: half, where pairs are to follow."""
    from gatesim.errors import BadUsage

    if not with_pairs:
        return budget
    if budget is None and not kinds:
        raise BadUsage("--pairs: all pairs of all fault kinds take days; give --budget, or the kinds with --fault")
    return None if budget is None else budget / 2


def _paired(talk: Talk, order: Order, kinds: tuple[str, ...], left: float | None) -> Paired:
    """The pairs of the kinds asked for, in the time that is left."""
    from gatesim.search.pairs import Paired, Pairs, in_turn
    from gatesim.search.sweep import bench_for

    pairs = Pairs(bench_for(order))
    tasks = pairs.tasks(_chosen(kinds))
    rows = []
    try:
        for row in talk.counted(in_turn(pairs, tasks, left), len(tasks), "pairs"):
            rows.append(row)
    except KeyboardInterrupt:
        talk.complain("interrupted among the pairs; what there is follows")
    return Paired(tuple(rows), len(tasks) - len(rows))


def _read(file: str) -> tuple[Site, Scenario | None]:
    from gatesim.cli import known
    from gatesim.scenario.read import SITE_SUFFIX

    if file.endswith(SITE_SUFFIX):
        return known.site(file), None
    scenario = known.scenario(file)
    return scenario.site, scenario


def _chosen(kinds: tuple[str, ...]) -> tuple[str, ...]:
    """The fault kinds asked for; BadUsage for one that there is not."""
    from difflib import get_close_matches

    from gatesim.cli import known
    from gatesim.errors import BadUsage

    legal = tuple(known.faults())
    for kind in kinds:
        if kind not in legal:
            near = get_close_matches(kind, legal, 1)
            hint = f"; did you mean {near[0]!r}?" if near else "; `gatesim list faults` has them all"
            raise BadUsage(f"there is no fault kind {kind!r}{hint}")
    return kinds or legal


def _keeping(talk: Talk, name: str | None, store: str | None, order: Order,
             wanted: int) -> AbstractContextManager[Keeper | None]:
    """What keeps rows; nothing where no name was given."""
    from gatesim.cli import project
    from gatesim.cli.keeping import head_of, keeping
    from gatesim.search.site_hash import site_hash
    from gatesim.search.store import Kind

    head = head_of(Kind.SWEEP, name, order.site.name, site_sha256=site_hash(order.site), seed=order.seed,
                   wanted=wanted)
    return keeping(talk, name, project.store(store), head)


def _rows(talk: Talk, order: Order, tasks: tuple[Task, ...], budget: float | None, jobs: int | None,
          keeper: Keeper | None) -> tuple[list[Row], float, Exit | None]:
    """Make the rows, in their order; the seconds it took, and by what it was ended before its end, if it was."""
    import os
    import time

    from gatesim.cli.codes import Exit
    from gatesim.errors import LogicError
    from gatesim.report.sweep_json import kept_row
    from gatesim.search.sweep import bench_for, in_turn, side_by_side

    jobs = jobs or os.cpu_count() or 1
    begun, rows, ended, bench = time.perf_counter(), [], None, bench_for(order)
    made = in_turn(bench, tasks, budget) if jobs == 1 else side_by_side(order, tasks, budget, jobs)
    try:
        for row in talk.counted(made, len(tasks), "rows"):
            if keeper is not None:
                keeper.keep(*kept_row(row))
            rows.append(row)
    except KeyboardInterrupt:
        ended = Exit.INTERRUPTED
    except LogicError as error:
        talk.complain(f"gatesim: {error}")
        ended = Exit.OUR_FAULT
    places = {(task.fault, task.device, task.ground, task.pulse): task.number for task in tasks}
    grounds = {(ground.direction, bench.leaf_of(ground), ground.phase): k for k, ground in enumerate(bench.grounds)}
    rows.sort(key=lambda row: places[row.fault, row.device, grounds[row.direction, row.leaf, row.phase], row.duration])
    return rows, time.perf_counter() - begun, ended


def _swept(site: str, seed: int, rows: list[Row], wanted: int, seconds: float) -> Swept:
    from gatesim.search.sweep import summed

    return summed(site, seed, rows, wanted - len(rows), seconds)


def _write(talk: Talk, order: Order, swept: Swept, file: str, folder: str | None) -> None:
    """A scenario file for the worst moment of each row, where a folder is given."""
    import os

    from gatesim.cli.talk import write_whole
    from gatesim.errors import BadUsage
    from gatesim.scenario.read import SCENARIO_SUFFIX
    from gatesim.search.sweep import bench_for, worst_story

    if folder is None:
        return
    if order.scenario is not None:
        raise BadUsage("--write is for a sweep of a site; a scenario's own steps are in its file")
    if not os.path.isdir(folder):
        raise BadUsage(f"--write {folder}: there is no such folder")
    bench, site = bench_for(order), os.path.relpath(file, folder)
    for row in swept.rows:
        leaf = [] if row.leaf is None else [row.leaf.value]
        parts = (row.fault, row.device, row.direction.value, *leaf, row.phase.value, row.duration)
        name = "-".join("".join(c if c.isalnum() else "-" for c in part) for part in parts).replace("--", "-")
        write_whole(os.path.join(folder, name.strip("-") + SCENARIO_SUFFIX), worst_story(bench, row, site).encode())
    talk.note(f"written: {len(swept.rows)} scenarios in {folder}")


def _as_cases(order: Order, file: str, given: tuple[str, ...], swept: Swept, more: More) -> Cases:
    from gatesim import __version__
    from gatesim.cli import known
    from gatesim.report.sweep_cases import Origin, sweep_cases
    from gatesim.scenario.places import named

    site_file = file if order.scenario is None else order.scenario.site_file or file
    origin = Origin(file, site_file, named(site_file), ("--seed", str(order.seed), *given), order.scenario is None)
    sentences = {name: f"{kind.title}. {kind.must}" for name, kind in known.faults().items()}
    return sweep_cases(swept, __version__, origin, sentences, *more)


def _deliver(talk: Talk, order: Order, swept: Swept, style: str, output: str | None, more: More,
             cases: Callable[[Swept, More], Cases]) -> None:
    from gatesim import __version__
    from gatesim.report import sweep_json, sweep_text
    from gatesim.report.sweep_table import sweep_table

    if style == "json":
        talk.deliver(sweep_json.sweep_json(swept, __version__, *more), output)
    elif style in cases_as.names():
        talk.deliver(cases_as.render(style, cases(swept, more)), output)
    elif style in table_as.names():
        talk.deliver(table_as.render(style, sweep_table(swept, __version__, *more)), output)
    elif style == options.HTML:
        talk.deliver(_page(order, swept, more), output)
    else:
        talk.render(lambda console: sweep_text.draw(console, swept, *more), output)


def _page(order: Order, swept: Swept, more: More) -> str:
    """The page; what is combined and paired stands in it as text."""
    from io import StringIO

    from rich.console import Console

    from gatesim.report import pairs_text, ways_text
    from gatesim.report.html.sweep_page import sweep_page
    from gatesim.search.sweep import bench_for

    text = StringIO()
    console = Console(file=text, width=140, highlight=False, color_system=None, emoji=False, markup=False)
    if more.paired is not None:
        pairs_text.draw(console, more.paired)
    if more.combined is not None:
        ways_text.draw(console, more.combined)
    return sweep_page(swept, bench_for(order), text.getvalue(), swept.summary.missing)
