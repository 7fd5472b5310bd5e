"""Which values of a file's tree are quantities, by the model's tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any, NamedTuple

from gatesim.plant.site import Site
from gatesim.scenario.model import Scenario
from gatesim.scenario.read import SCENARIO_SUFFIX, SITE_SUFFIX
from gatesim.scenario.shapes import SCENARIO_FORMAT, SITE_FORMAT, is_step, item_of, quantity_of, rows, step_kinds
from gatesim.scenario.strict import TreePath
from gatesim.units import Quantity


class Stated(NamedTuple):
    """A value that is a quantity by the model, whatever stands there."""

    path: TreePath
    kind: Quantity
    value: Any


def quantities(data: Any, file: str) -> Iterator[Stated]:
    """A file's quantities, stated as they may be; its kind is known by its name, or by `format`."""
    said = data.get("format") if isinstance(data, dict) else None
    if said == SITE_FORMAT or file.endswith(SITE_SUFFIX):
        yield from _table(data, Site, ())
    elif said == SCENARIO_FORMAT or file.endswith(SCENARIO_SUFFIX):
        yield from _table(data, Scenario, ())
        yield from _table(data.get("site"), Site, ("site",))


def _table(data: Any, table: Any, path: TreePath) -> Iterator[Stated]:
    if not isinstance(data, dict):
        return
    for row in rows(table):
        if row.name in data:
            yield from _value(data[row.name], row.kind, (*path, row.name))


def _value(data: Any, kind: Any, path: TreePath) -> Iterator[Stated]:
    quantity, item = quantity_of(kind), item_of(kind)
    if quantity is not None:
        yield Stated(path, quantity, data)
    elif item is not None:
        for number, entry in enumerate(data if isinstance(data, list) else ()):
            yield from _value(entry, item, (*path, number))
    elif is_step(kind):
        word = data.get("do") if isinstance(data, dict) else None
        step = step_kinds().get(word) if isinstance(word, str) else None
        if step is not None:
            yield from _table(data, step, path)
    elif dataclasses.is_dataclass(kind):
        yield from _table(data, kind, path)
