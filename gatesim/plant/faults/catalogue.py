"""The catalogue of fault kinds: every file beside this one that has a `FAULT`."""

from __future__ import annotations

from difflib import get_close_matches
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import ClassVar, Protocol

from gatesim.errors import BadUsage, ModelError
from gatesim.plant import faults as package
from gatesim.plant.fault import Fault, Place
from gatesim.plant.site import Site


class Kind(Fault, Protocol):
    """A fault with its texts, as the catalogue lists it."""

    row: ClassVar[tuple[str, ...]]
    """Rows of the catalogue of generic faults that it answers: letter and number."""
    shows: ClassVar[str]
    """How it shows to the electronics."""
    must: ClassVar[str]
    """What correct logic must do."""
    missed_by: ClassVar[str]
    """The bug that misses it."""


@cache
def _discovered() -> tuple[Kind, ...]:
    found: dict[str, Kind] = {}
    for info in sorted(iter_modules(package.__path__), key=lambda info: info.name):
        fault: Kind | None = getattr(import_module(f"{package.__name__}.{info.name}"), "FAULT", None)
        if fault is None:
            continue
        if fault.id in found:
            raise ModelError(f"{info.name}: two fault kinds are named {fault.id!r}; each needs an id of its own")
        found[fault.id] = fault
    return tuple(found.values())


def faults() -> dict[str, Kind]:
    """Every fault kind by its id, in the order of the ids.  ModelError if two share one."""
    return {fault.id: fault for fault in sorted(_discovered(), key=lambda fault: fault.id)}


def place(fault: Fault, site: Site, device: str) -> Place:
    """The place of a fault at a device of the site, with the fault whose figures fit there.

    An empty name stands for the only place, where there is only one.  BadUsage, with the legal devices, for any other.
    """
    places = fault.places(site)
    fits = [one for one in places if one.device == device]
    if not fits and not device and len(places) == 1:
        fits = list(places)
    if fits:
        one = fits[0]
        return one if one.fault is not None else one._replace(fault=fault)
    legal = [one.device for one in places]
    if not legal:
        raise BadUsage(f"{fault.id} can't sit anywhere on site {site.name!r}: it has no such device")
    near = get_close_matches(device, legal, 1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise BadUsage(f"{fault.id} can't sit at {device!r}; legal here: {', '.join(legal)}{hint}")
