"""The catalogue of fault kinds: every file beside this one that has a `FAULT`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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


class _Kinds(Mapping[str, Kind]):
    """Every kind by its id; a file is imported when its kind is first asked for."""

    def __init__(self) -> None:
        names = (info.name for info in iter_modules(package.__path__) if info.name not in _NO_KINDS)
        self._files = {name.replace("_", "-"): name for name in sorted(names)}

    def __getitem__(self, wanted: str) -> Kind:
        fault: Kind = import_module(f"{package.__name__}.{self._files[wanted]}").FAULT
        if fault.id != wanted:
            raise ModelError(f"{self._files[wanted]}.py: its kind is named {fault.id!r}; its file says {wanted!r}")
        return fault

    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    def __len__(self) -> int:
        return len(self._files)


_NO_KINDS = ("catalogue", "places", "shapes")


@cache
def faults() -> Mapping[str, Kind]:
    """Every fault kind by its id (which is its file's name), in the order of the ids.  ModelError where they differ."""
    return _Kinds()


@cache
def spots(site: Site) -> tuple[tuple[str, str], ...]:
    """Every (fault kind, device) that can sit on a site."""
    return tuple((kind, where.device) for kind, fault in faults().items() for where in fault.places(site))


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
