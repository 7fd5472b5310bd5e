"""From a site to a plant: every part file beside this one says which parts a site has."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType

from gatesim.plant.logic.contract import Roles
from gatesim.plant.part import PartsOf
from gatesim.plant.site import Site
from gatesim.plant.world import Plant


@cache
def part_files() -> tuple[PartsOf, ...]:
    """The `parts` function of each part file, in the order of their names."""
    import gatesim.plant
    import gatesim.plant.edges

    found: list[PartsOf] = []
    for package in (gatesim.plant, gatesim.plant.edges):
        for info in sorted(iter_modules(package.__path__), key=lambda info: info.name):
            if not info.ispkg:
                module: ModuleType = import_module(f"{package.__name__}.{info.name}")
                if hasattr(module, "parts"):
                    found.append(module.parts)
    return tuple(found)


_BUILT: list[tuple[Site, Roles, Plant]] = []
_MOST = 4


def built(site: Site, roles: Roles) -> Plant:
    """The plant of this very site with this very logic: built once while it is among the last few asked for.

    A plant is fixed, so it may be shared.
    """
    for known in _BUILT:
        if known[0] is site and all(one is other for one, other in zip(known[1], roles, strict=True)):
            return known[2]
    plant = build(site, roles)
    _BUILT[:] = [(site, roles, plant), *_BUILT[: _MOST - 1]]
    return plant


def build(site: Site, roles: Roles, more: Iterable[PartsOf] = ()) -> Plant:
    """The plant of a site with this logic; `more` adds part files from elsewhere.  Raises ModelError if wires do not
    fit."""
    return Plant(part for of in (*part_files(), *more) for part in of(site, roles))
