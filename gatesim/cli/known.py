"""What the reader and the renderers must know of requirements and faults, gathered once a call."""

from __future__ import annotations

import os
from functools import cache
from typing import Any

from gatesim.plant.fault import Fault
from gatesim.plant.site import Site
from gatesim.report.cells import BY_NAME
from gatesim.requirements.requirement import Requirement
from gatesim.scenario.model import Scenario


@cache
def requirements() -> dict[str, Requirement]:
    """Every requirement by its id, in the order of the ids."""
    from gatesim.requirements import catalogue

    return dict(sorted(catalogue.requirements().items()))


@cache
def faults() -> dict[str, type[Fault]]:
    """Every fault kind by its id, in the order of the ids."""
    from gatesim.plant.faults import catalogue

    return dict(sorted(catalogue.faults().items()))


def failures() -> dict[str, tuple[str, ...]]:
    """The names of each requirement's failures."""
    return {name: requirement.failures for name, requirement in requirements().items()}


def _places(fault: str, site: Site) -> tuple[str, ...]:
    made: Any = faults()[fault]
    return tuple(place.device for place in made().places(site))


def scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario with everything that can be checked.  BadInput with all its faults."""
    from gatesim.scenario.read import read_scenario

    measures = {name: requirement.measure.value for name, requirement in requirements().items()}
    return read_scenario(path, failures(), tuple(faults()), measures=measures, fault_places=_places, cells=tuple(BY_NAME))


def site(path: str | os.PathLike[str]) -> Site:
    """Read a site.  BadInput with all its faults."""
    from gatesim.scenario.read import read_site

    return read_site(path, failures())
