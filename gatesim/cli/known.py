"""What the reader and the renderers must know of requirements and faults, gathered once a call."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from inspect import cleandoc
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Any

from gatesim.plant.faults.catalogue import Kind
from gatesim.plant.site import Site
from gatesim.report.catalogue_text import Entry
from gatesim.report.cells import BY_NAME
from gatesim.requirements.requirement import Requirement
from gatesim.scenario.model import Scenario

if TYPE_CHECKING:
    from gatesim.search.doubles.base import Double


@cache
def requirements() -> dict[str, Requirement]:
    """Every requirement by its id, in the order of the ids."""
    from gatesim.requirements import catalogue

    return dict(sorted(catalogue.requirements().items()))


@cache
def faults() -> Mapping[str, Kind]:
    """Every fault kind by its id, in the order of the ids."""
    from gatesim.plant.faults import catalogue

    return catalogue.faults()


def doubles() -> Mapping[str, Double]:
    """Every defective double by its name, in the order of the names."""
    from gatesim.search.doubles import catalogue

    return catalogue.doubles()


def failures() -> dict[str, tuple[str, ...]]:
    """The names of each requirement's failures."""
    return {name: requirement.failures for name, requirement in requirements().items()}


def _places(fault: str, site: Site) -> tuple[str, ...]:
    return tuple(place.device for place in faults()[fault].places(site))


def scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario with everything that can be checked.  BadInput with all its faults."""
    from gatesim.scenario.read import read_scenario

    measures = {name: requirement.measure.value for name, requirement in requirements().items()}
    return read_scenario(
        path, failures(), tuple(faults()), measures=measures, fault_places=_places, cells=tuple(BY_NAME)
    )


def site(path: str | os.PathLike[str]) -> Site:
    """Read a site.  BadInput with all its faults."""
    from gatesim.scenario.read import read_site

    return read_site(path, failures())


def warnings(file: str, site: Site) -> tuple[str, ...]:
    """What works badly in a site, a line each, after the file's name."""
    from gatesim.scenario.check_site import warnings_of

    return tuple(f"{file}: warning: {said}" for said in warnings_of(site))


def schema(kind: str) -> dict[str, Any]:
    """The JSON Schema of a file kind ("site" or "scenario")."""
    from gatesim.scenario.schema import Ids, scenario_schema, site_schema

    ids = Ids(tuple(requirements()), tuple(faults()), tuple(BY_NAME))
    return site_schema(ids) if kind == "site" else scenario_schema(ids)


def controllers() -> list[Entry]:
    """Controllers that ship: the `controller_*.py` files of the logic room that define a class with start and step."""
    import gatesim.plant.logic as room

    found = []
    for info in sorted(iter_modules(room.__path__), key=lambda info: info.name):
        if info.name.startswith("controller_"):
            module = import_module(f"{room.__name__}.{info.name}")
            found += [
                _controller(kind)
                for kind in vars(module).values()
                if isinstance(kind, type)
                and kind.__module__ == module.__name__
                and callable(getattr(kind, "start", None))
                and callable(getattr(kind, "step", None))
            ]
    return found


def _controller(kind: type) -> Entry:
    first = cleandoc(kind.__doc__ or "").partition("\n")[0]
    return Entry(f"{kind.__module__}:{kind.__name__}", first, {})
