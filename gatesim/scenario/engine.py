"""pydantic's engine, given the model's shapes without a detour through types: what every file is read with.

The same rows as `shapes.Shapes` make it; that one gives pydantic the types that it needs for a JSON Schema, and takes
four times as long to load.  A test holds that both find the same faults.
"""

from __future__ import annotations

import dataclasses
import typing
from functools import lru_cache
from typing import Any

from gatesim.scenario import shapes
from gatesim.scenario.shapes import Row


@lru_cache(maxsize=128)
def _table(table: type, build: bool) -> Any:
    """The core schema of a table: its keys, no others; read into the dataclass itself where `build`."""
    from pydantic_core import core_schema as c

    fields = {row.name: c.typed_dict_field(_kind(row), required=row.required) for row in shapes.rows(table)}
    read = c.typed_dict_schema(fields, extra_behavior="forbid")
    return c.no_info_after_validator_function(lambda found: table(**found), read) if build else read


def _kind(row: Row) -> Any:
    from pydantic_core import core_schema as c

    if row.name == "do":
        return c.literal_schema(list(typing.get_args(row.kind)))
    kind: Any = row.kind
    item = shapes.item_of(kind)
    if item is not None:
        return c.tuple_variable_schema(_kind(Row(row.name, item, True, None)))
    if shapes.is_step(kind):
        kinds = {word: _table(typing.cast("type", step), build=True) for word, step in shapes.step_kinds().items()}
        return c.tagged_union_schema(kinds, discriminator="do")
    if dataclasses.is_dataclass(kind):
        return _table(typing.cast("type", kind), build=True)
    return c.no_info_plain_validator_function(shapes.checked(row))


@lru_cache(maxsize=2)
def engine(table: type, build: bool) -> Any:
    """What reads a Site (`build`), or the stated part of a Scenario (as a dict)."""
    from pydantic_core import SchemaValidator

    return SchemaValidator(_table(table, build))
