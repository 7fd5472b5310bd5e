"""The engine reads what pydantic reads by the types of the same shapes: the same values, and the same faults."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pydantic
import pydantic_core
import pytest

from gatesim.plant.site import Site
from gatesim.scenario.engine import reader
from gatesim.scenario.model import Scenario
from gatesim.scenario.shapes import Shapes
from gatesim.scenario.strict import BROKEN, read_tree

SHIPPED = Path(__file__).parents[2] / "scenarios"
SITES = sorted((SHIPPED / "sites").glob("*.site.yaml"))
STORIES = sorted(SHIPPED.glob("*.scenario.yaml"))[::4]
WRONG: tuple[Any, ...] = ("never", "", {}, {"do": "fly"}, [], ["x"], [{}], BROKEN)


def told(read: Any, data: Any) -> Any:
    """The value, or every fault."""
    try:
        return read.validate_python(data)
    except (pydantic.ValidationError, pydantic_core.ValidationError) as error:
        return [(one["type"], one["loc"], one["msg"], one["input"]) for one in error.errors(include_url=False)]


def paths(data: Any, here: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where every key and entry stands."""
    entries: Any = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in entries:
        yield (*here, key)
        yield from paths(value, (*here, key))


def spoilt(data: Any) -> Iterator[Any]:
    """The tree with one thing wrong, in every place: a key gone, a key too much, a value of another kind."""
    for number, path in enumerate(paths(data)):
        for change in ("gone", "more", WRONG[number % len(WRONG)]):
            made = copy.deepcopy(data)
            holder = made
            for part in path[:-1]:
                holder = holder[part]
            if change == "gone":
                del holder[path[-1]]
            elif change == "more" and isinstance(holder, dict):
                holder["colour"] = "green"
            elif change != "more":
                holder[path[-1]] = change
            yield made


@pytest.mark.parametrize("path", [*SITES, *STORIES], ids=lambda path: path.name)
def test_both_find_the_same_faults(path: Path) -> None:
    table: type = Site if path in SITES else Scenario
    ours, theirs = reader(table, table is Site), pydantic.TypeAdapter(Shapes().table(table, build=table is Site))
    data = dict(read_tree(path, path.name).data)
    del data["format"]
    data.pop("site", None)
    whole = told(ours, data)
    assert not isinstance(whole, list)
    assert whole == told(theirs, data)
    faults = 0
    for made in spoilt(data):
        found = told(ours, made)
        assert found == told(theirs, made)
        faults += isinstance(found, list)
    assert faults > len(data)
