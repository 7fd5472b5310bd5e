"""The conformance kit put together: what the command, and the tests of a user, ask for."""

from __future__ import annotations

import os
import time
from collections.abc import Iterable, Sequence
from functools import partial
from typing import Any, NamedTuple

from gatesim.cli import known
from gatesim.cli.roles import load_roles
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted
from gatesim.errors import LogicError, NothingFound
from gatesim.plant.logic.contract import Roles
from gatesim.scenario.read import collect
from gatesim.scenario.shipped import DEMO, shipped
from gatesim.search import conform as kit
from gatesim.search.ground import Phase
from gatesim.search.laws import Laws, hold
from gatesim.search.sweep import Order
from gatesim.search.trial import Story
from gatesim.search.tries import site_tree, tries


class Asked(NamedTuple):
    """What is asked of which logic.  `budget`: seconds for sweep and random stories, a half for each."""

    logic: Wanted | Roles
    site: str | None = None
    scenarios: Sequence[str] = ()
    stories: int = 200
    budget: float | None = 240
    seed: int = 1
    jobs: int = 1
    with_sweep: bool = True

    def site_file(self) -> str:
        """The site that is swept and told random stories."""
        return self.site if self.site is not None else str(shipped() / DEMO)

    def files(self) -> list[str]:
        """The scenarios, those that ship where none are named.  NothingFound where there are none."""
        found, _ = collect(self.scenarios or [str(shipped())])
        if not found:
            raise NothingFound(f"no scenario (*.scenario.yaml) in {', '.join(self.scenarios)}")
        return found

    def load(self, talk: Talk) -> Roles:
        """The logic under test, and the reference in the other roles."""
        return self.logic if isinstance(self.logic, Roles) else load_roles(self.logic, talk.note_once)


def conform(asked: Asked, talk: Talk) -> kit.Conformance:
    """Ask all of it.  BadInput for a scenario or site that does not read; logic that dies stands in the result."""
    begun = time.perf_counter()
    stories = read_stories(asked.files())
    site = known.site(asked.site_file())
    roles = asked.load(talk)
    runs = list(talk.counted(kit.played(stories, roles), len(stories), "scenarios"))
    died, half = "", None if asked.budget is None else asked.budget / 2
    order = Order(site, None, asked.seed, (Phase.TRAVEL,), partial(asked.load, talk))
    sweep = kit.Swept((), (), (), 0, absent="not asked for")
    if asked.with_sweep:
        sweep = kit.swept(order, half, asked.jobs, lambda rows, count: talk.counted(rows, count, "sweep"))
    laws = Laws(0, asked.stories, (), 0, ended=False, absent="not asked for")
    if asked.stories:
        with tries(site_tree(asked.site_file()), known.scenario) as tried:
            try:
                laws = hold(site, roles, asked.seed, asked.stories, half, tried)
            except LogicError as error:
                died, laws = str(error), laws._replace(absent="the logic died")
    table = kit.table_cover(stories, roles)
    return kit.together(order, runs, sweep, laws, table, time.perf_counter() - begun, died)


def read_stories(files: Iterable[str]) -> list[Story]:
    """The scenarios of these files; BadInput with all faults of the first that has any."""
    return [Story(file, known.scenario(file)) for file in files]


def roles_of(controller: Any, receiver: Any = None, classifier: Any = None) -> Roles:
    """The reference logic with what is given in its place: a spec as on the command line, an object, or what makes
    one."""
    from gatesim.bench.inside import UnderTest
    from gatesim.run import default_roles

    roles = default_roles()
    for role, given in (("controller", controller), ("receiver", receiver), ("classifier", classifier)):
        if isinstance(given, str | os.PathLike):
            loaded = load_roles(Wanted(**{role: os.fspath(given)}))
            roles = roles._replace(**{role: getattr(loaded, role)})
        elif given is not None:
            make = given if isinstance(given, type) else None
            logic = given() if make is not None else given
            roles = roles._replace(**{role: UnderTest(role, type(logic).__name__, logic, make)})
    return roles
