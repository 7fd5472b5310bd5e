"""A scenario written as the file that reads back as the same: what it states, and nothing that is default."""

from __future__ import annotations

import dataclasses
from enum import Enum
from typing import Any

from gatesim.scenario.model import Scenario
from gatesim.scenario.shapes import SCENARIO_FORMAT, Row, item_of, quantity_of, rows
from gatesim.scenario.write import text_of
from gatesim.units import format_quantity


def as_file(scenario: Scenario, site: str | None = None) -> str:
    """The file of a scenario.  `site`: the path of its site as the file states it; None: the whole site stands in it.

    Overrides are applied in the scenario's site already, so a file that holds the site states none.
    """
    stated = tree_of(scenario)
    if site is None:
        stated.pop("overrides", None)
    tree: dict[str, Any] = {"format": SCENARIO_FORMAT}
    for name in ("title", "teaches"):
        tree[name] = stated.pop(name)
    tree["site"] = tree_of(scenario.site) if site is None else site
    return text_of({**tree, **stated})


def tree_of(table: Any) -> dict[str, Any]:
    """The tables, lists and texts of a frozen value of the model: keys in its order, those that say the default left
    out."""
    made: dict[str, Any] = {}
    kind: Any = type(table)
    for row in rows(kind):
        value = getattr(table, row.name)
        if value is not None and (row.required or value != row.default):
            made[row.name] = _entry(row, value)
    return made


def _entry(row: Row, value: Any) -> Any:
    if isinstance(value, tuple):
        return [_entry(Row(row.name, item_of(row.kind), True, None), one) for one in value]
    if dataclasses.is_dataclass(value):
        return tree_of(value)
    quantity = quantity_of(row.kind)
    if quantity is not None:
        return format_quantity(value, quantity.dimension)
    if isinstance(value, Enum):
        return value.value
    return str(value).lower() if isinstance(value, bool) else str(value)
