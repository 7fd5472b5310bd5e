"""Scenario files as test items: one for each requirement that is expected, and `others` for all that must not fail."""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from gatesim.cli import known
from gatesim.cli.roles import load_roles
from gatesim.cli.wanted import Wanted
from gatesim.errors import BadInput, BadUsage, GatesimError
from gatesim.plant.logic.contract import Roles
from gatesim.report.check_text import said
from gatesim.report.folded import printable
from gatesim.requirements.verdict import Outcome
from gatesim.scenario.model import Scenario
from gatesim.testing import NotMet, Played, not_met, replay, run_with

OTHERS, LOADS = "others", "loads"
"""Names of the items that stand for no one requirement."""
PYTESTS_OWN = frozenset({"filterwarnings", "parametrize", "skip", "skipif", "usefixtures", "xfail"})
"""Markers by which pytest itself changes what becomes of a test: no tag may be one."""
Properties = list[tuple[str, object]]


class Logic(NamedTuple):
    """What the options ask for."""

    roles: Roles
    again: tuple[str, ...]
    seed: int | None


_LOGIC = pytest.StashKey[Logic]()
_TAGS = pytest.StashKey[set[str]]()


def logic_of(config: pytest.Config) -> Logic:
    """The logic and seed of this session's options and settings, loaded once.  GatesimError where they make none."""
    if _LOGIC not in config.stash:
        given = {name: _given(config, name) for name in ("seed", *Wanted._fields)}
        seed = given.pop("seed")
        if seed is not None and not (seed.isascii() and seed.isdigit() and int(seed) < 2**64):
            raise BadUsage(f"--gatesim-seed {seed}: it must be a whole number from 0 to 2**64 - 1")
        stated = {name: one for name, one in given.items() if one is not None}
        again = tuple(word for name, one in stated.items() for word in (f"--{name.replace('_', '-')}", one))
        config.stash[_LOGIC] = Logic(load_roles(Wanted(**stated)), again, None if seed is None else int(seed))
    return config.stash[_LOGIC]


def _given(config: pytest.Config, name: str) -> str | None:
    """The option, or else the setting, in which a file counts from the project's root."""
    option: str | None = config.getoption(f"gatesim_{name}")
    if option is not None:
        return option
    setting: str | None = config.getini(f"gatesim_{name}") or None
    place, colon, what = (setting or "").rpartition(":")
    if colon and place.endswith(".py") and not place.startswith("run:"):
        return f"{os.path.relpath(config.rootpath / place)}:{what}"
    return setting


def runner(config: pytest.Config, folder: Path) -> Callable[..., Played]:
    """What the fixture `gatesim_run` gives."""

    def run(scenario: str | os.PathLike[str] | Scenario, *, seed: int | None = None) -> Played:
        logic = logic_of(config)
        if not isinstance(scenario, Scenario):
            scenario = known.scenario(_named(folder / scenario))
        return run_with(scenario, logic.roles, logic.again, logic.seed if seed is None else seed)

    return run


def _named(path: Path) -> str:
    """A path as one would type it here."""
    named = os.path.relpath(path)
    return str(path) if named.startswith("..") else named


class Result(NamedTuple):
    """What became of one item: what makes it fail, if anything does, and what is told to reports."""

    failure: GatesimError | NotMet | None
    properties: Properties


class ScenarioFile(pytest.File):
    """One scenario file.  It is run when the first of its items is, once for all of them."""

    scenario: Scenario
    results: dict[str, Result]

    def collect(self) -> Iterator[pytest.Item]:
        """An item for each expected requirement and one for the others; or one that fails because nothing loads."""
        self.results = {}
        try:
            self.scenario = known.scenario(_named(self.path))
            tags = self._tags()
        except Exception as error:  # noqa: BLE001 - a collection error would stop the whole session
            yield Loads.from_parent(self, name=LOADS, error=error)
            return
        places = self.scenario.expected_at
        names = [expectation.requirement for expectation in self.scenario.expect]
        for name, (line, _) in zip([*names, OTHERS], places, strict=True):
            item = Expected.from_parent(self, name=name, line=line)
            for tag in tags:
                item.add_marker(tag)
            yield item

    def _tags(self) -> tuple[str, ...]:
        """The scenario's tags, made known as markers."""
        known_tags = self.config.stash.setdefault(_TAGS, set())
        for tag in self.scenario.tags:
            if tag in PYTESTS_OWN:
                raise BadUsage(f"{_named(self.path)}: the tag {tag!r} is a marker of pytest's own; take another word")
            if tag not in known_tags:
                known_tags.add(tag)
                self.config.addinivalue_line("markers", f"{tag}: scenarios with this tag")
        return self.scenario.tags

    def result(self, name: str) -> Result:
        """What became of an item.  Asked again for the same one, the scenario is run anew."""
        if name not in self.results:
            self.results = dict(self._judged())
        return self.results.pop(name)

    def _judged(self) -> Iterator[tuple[str, Result]]:
        """Small results of all items, so that nothing of the run need be kept."""
        names = [expectation.requirement for expectation in self.scenario.expect]
        seed = self.scenario.seed
        try:
            logic = logic_of(self.config)
            seed = seed if logic.seed is None else logic.seed
            played = run_with(self.scenario, logic.roles, logic.again, seed)
        except GatesimError as error:
            yield from ((name, Result(error, [("seed", seed)])) for name in [*names, OTHERS])
            return
        differing = {row.requirement for row in played.result.rows if row.differs}
        for name in names:
            yield name, Result(not_met(played, [name]) if name in differing else None, _figures(played, name))
        bad = [row.requirement for row in played.result.rows if row.differs and row.requirement not in names]
        yield OTHERS, Result(not_met(played, bad) if bad else None, _counts(played, names))


def _figures(played: Played, name: str) -> Properties:
    """Seed, outcome and figures of one requirement, each with its unit."""
    verdict = next(row.verdict for row in played.result.rows if row.requirement == name)
    unit = known.requirements()[name].measure.value
    properties: Properties = [("seed", played.seed), ("outcome", verdict.outcome.value)]
    for what, figure in verdict.figures._asdict().items():
        if figure is not None:
            properties.append((what if unit == "1" else f"{what}_{unit}", figure))
    return properties


def _counts(played: Played, listed: list[str]) -> Properties:
    """Seed, and how many of the requirements that are not listed came out how."""
    outcomes = [row.verdict.outcome for row in played.result.rows if row.requirement not in listed]
    return [("seed", played.seed), *((outcome.value, outcomes.count(outcome)) for outcome in Outcome)]


class _Crash(NamedTuple):
    """Where and what, on one line: pytest's summary and reports show it."""

    path: str
    lineno: int
    message: str

    def __str__(self) -> str:
        return f"{self.path}:{self.lineno}: {self.message}"


class Told:
    """A failure's text, as pytest takes it from plugins."""

    def __init__(self, text: str, crash: _Crash) -> None:
        self.text, self.reprcrash = text, crash

    def __str__(self) -> str:
        return self.text

    def toterminal(self, tw: Any) -> None:
        """Print it."""
        for line in self.text.splitlines():
            tw.line(line)


class _Item(pytest.Item):
    """What the kinds of item share."""

    line: int

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        """The story for what differs, plain words for what did not run; a traceback for a fault of ours only."""
        error = excinfo.value
        named = _named(self.path)
        if isinstance(error, NotMet):
            return Told(str(error), _Crash(named, self.line, error.summary))
        if isinstance(error, BadInput):
            lines = [printable(said(trouble)) for trouble in error.troubles]
            return Told("\n".join(["The file does not load:", *lines]), _Crash(named, self.line, lines[0]))
        if isinstance(error, GatesimError):
            line = printable(f"{type(error).__name__}: {error}")
            lines = [f"{named}:{self.line}: not judged: {line}", *_raised(error), *self.again()]
            return Told("\n".join(lines), _Crash(named, self.line, line))
        return super().repr_failure(excinfo)

    def again(self) -> list[str]:
        """How to see it again, where it ran."""
        return []

    def reportinfo(self) -> tuple[Path, int, str]:
        """File, line (from 0) and the name at the head of a failure."""
        return self.path, self.line - 1, self.name


def _raised(error: GatesimError) -> list[str]:
    """Where the exception of a user's own code came from."""
    if error.__cause__ is None or error.__cause__.__traceback__ is None:
        return []
    frame = traceback.extract_tb(error.__cause__.__traceback__)[-1]
    return [printable(f"raised at {_named(Path(frame.filename))}:{frame.lineno}, in {frame.name}: {frame.line}")]


class Expected(_Item):
    """One requirement that the scenario lists, or all that it does not."""

    parent: ScenarioFile

    def __init__(self, *, line: int, **rest: Any) -> None:
        super().__init__(**rest)
        self.line = line

    def runtest(self) -> None:
        """Fail with the story where the verdict differs from what is expected."""
        result = self.parent.result(self.name)
        self.user_properties[:] = result.properties
        if result.failure is not None:
            raise result.failure


    def again(self) -> list[str]:
        """How to see it again."""
        if _LOGIC not in self.config.stash:
            return []
        logic, scenario = self.config.stash[_LOGIC], self.parent.scenario
        return [replay(scenario.file, scenario.seed if logic.seed is None else logic.seed, logic.again)]


class Loads(_Item):
    """Stands for a file that does not load, and fails."""

    def __init__(self, *, error: Exception, **rest: Any) -> None:
        super().__init__(**rest)
        self.error = error
        troubles = error.troubles if isinstance(error, BadInput) else ()
        own = [trouble.line for trouble in troubles if trouble.file == _named(self.path)]
        self.line = max(1, own[0]) if own else 1

    def runtest(self) -> None:
        """Say what is wrong with the file."""
        raise self.error
