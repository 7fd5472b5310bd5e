"""The catalogue of defective doubles: every file beside this one that has a `DOUBLE`."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from gatesim.errors import ModelError
from gatesim.search import doubles as package
from gatesim.search.doubles.base import Double

_NO_DOUBLES = ("base", "catalogue")


@cache
def doubles() -> dict[str, Double]:
    """Every double by its name (its file's), in the order of the names.  ModelError where they differ."""
    found: dict[str, Double] = {}
    for info in sorted(iter_modules(package.__path__), key=lambda info: info.name):
        if info.name in _NO_DOUBLES:
            continue
        double: Double = import_module(f"{package.__name__}.{info.name}").DOUBLE
        if double.name != info.name.replace("_", "-"):
            raise ModelError(f"{info.name}.py: its double is named {double.name!r}")
        found[double.name] = double
    return found
