"""What stands beside the verdicts of a check: an earlier check, golden traces, and the store that keeps it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gatesim.cli import project
from gatesim.cli.codes import Exit, worst
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import WantedBeside
from gatesim.errors import BadUsage

if TYPE_CHECKING:
    from gatesim.cli.judge_file import Ran
    from gatesim.cli.keeping import Keeper
    from gatesim.report.cases import Note, Suite
    from gatesim.report.golden_text import Beside
    from gatesim.report.plain import Page
    from gatesim.search.margins import Compared
    from gatesim.search.store import Kept


class BesideCheck:
    """Sees every scenario as it is judged; then says what that means beside what was kept and accepted before."""

    def __init__(self, talk: Talk, wanted: WantedBeside, paths: Sequence[str], before: Kept | None,
                 keeper: Keeper | None) -> None:
        self._talk, self._wanted, self._before, self._keeper = talk, wanted, before, keeper
        self._paths = [project.named(path) for path in paths]
        self._rows: dict[tuple[str, ...], dict[str, Any]] = {}
        self._golden: list[Beside] = []
        self._compared: Compared | None = None

    def see(self, file: str, ran: Ran) -> None:
        """One scenario's result."""
        if self._keeper is not None or self._before is not None:
            from gatesim.report.against import kept_row

            key, row = (project.named(file),), kept_row(ran.done.result)
            self._rows[key] = row
            if self._keeper is not None:
                self._keeper.keep(key, row)
        if ran.run is not None and (self._wanted.golden or self._wanted.accept):
            from gatesim.cli import golden

            if self._wanted.golden:
                self._golden.append(golden.compare(file, ran.run))
            if self._wanted.accept:
                golden.accept(self._talk, file, ran.run)

    def end(self) -> Exit:
        """Compare; what all this means for the shell."""
        codes = [] if self._keeper is None else [self._keeper.code]
        if self._before is not None:
            codes.append(self._compare(self._before))
        if self._wanted.golden:
            from gatesim.cli import golden

            codes.append(golden.code_of(self._golden))
        return worst(codes)

    def _compare(self, before: Kept) -> Exit:
        from gatesim.search.margins import compared

        self._compared = compared(before.rows, self._rows, self._wanted.percent / 100, self._within)
        if not self._compared.scenarios and not self._compared.losses:
            self._talk.complain(f"gatesim: {self._wanted.against!r} keeps none of these scenarios")
            return Exit.NOTHING_FOUND
        return Exit.DIFFERS if self._compared.losses and self._wanted.on_loss == "fail" else Exit.AS_EXPECTED

    def _within(self, file: str) -> bool:
        """Whether a scenario of then stands where was looked now."""
        return any(path in (".", file) or file.startswith(f"{path}/") for path in self._paths)

    def draw(self, console: Page) -> None:
        """Print it after the verdicts."""
        if self._before is not None and self._compared is not None:
            from gatesim.report import against

            against.draw(console, self._before.head, self._compared, self._wanted.percent)
        if self._wanted.golden:
            from gatesim.report import golden_text

            golden_text.draw(console, self._golden)

    def cases(self) -> tuple[list[Suite], list[Note]]:
        """The same for a CI."""
        from gatesim.report import beside_cases

        suites: list[Suite] = []
        notes: tuple[Note, ...] = ()
        if self._before is not None and self._compared is not None:
            suite, notes = beside_cases.against_suite(self._before.head, self._compared, self._wanted.percent,
                                                      self._wanted.on_loss != "fail")
            suites.append(suite)
        if self._wanted.golden:
            suites.append(beside_cases.golden_suite(self._golden))
        return suites, list(notes)

    def objects(self) -> dict[str, Any]:
        """The same for programs."""
        said: dict[str, Any] = {}
        if self._before is not None and self._compared is not None:
            from gatesim.report.against import against_object

            said["against"] = against_object(self._before.head, self._compared, self._wanted.percent)
        if self._wanted.golden:
            from gatesim.report.golden_text import golden_object

            said["golden"] = golden_object(self._golden)
        return said


@contextmanager
def beside_check(talk: Talk, wanted: WantedBeside, paths: Sequence[str], count: int,
                 seed: int | None) -> Iterator[BesideCheck]:
    """What sees a check of so many scenarios.  The earlier check is read before anything is kept."""
    store, before = project.store(wanted.store), None
    with ExitStack() as stack:
        if wanted.against is not None:
            before = _read(store, wanted.against)
        keeper = None
        if wanted.save is not None:
            from gatesim.cli.keeping import head_of, keeping
            from gatesim.search.store import Kind

            about = " ".join(map(os.fspath, paths))
            head = head_of(Kind.CHECK, wanted.save, about, site_sha256=None, seed=seed, wanted=count)
            keeper = stack.enter_context(keeping(talk, wanted.save, store, head))
        yield BesideCheck(talk, wanted, paths, before, keeper)


def _read(store: Path, name: str) -> Kept:
    from gatesim.search.store import Kind, opened

    with opened(store) as kept:
        before = kept.read(name)
    if before.head.kind is not Kind.CHECK:
        raise BadUsage(f"{store} keeps a {before.head.kind.value} as {name!r}, and no check")
    if not before.ended:
        raise BadUsage(f"the check kept as {name!r} in {store} did not end: {len(before.rows)} of "
                       f"{before.head.wanted} scenarios; save it anew")
    return before
