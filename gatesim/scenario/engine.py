"""pydantic's engine, given the model's shapes without a detour through types: what every file is read with.

The same rows as `shapes.Shapes` make it; that one gives pydantic the types that it needs for a JSON Schema, and takes
four times as long to load; a test holds that both find the same faults.  Faults are told here in our words.
"""

from __future__ import annotations

import dataclasses
import typing
from enum import Enum
from functools import lru_cache
from typing import Any, NamedTuple

from gatesim.plant.site import Site
from gatesim.scenario.shapes import (
    Row,
    checked,
    is_step,
    item_of,
    listed,
    offer,
    quantity_of,
    rows,
    step_kinds,
)
from gatesim.scenario.strict import BROKEN, MOST_TROUBLES
from gatesim.units import clip, example


@lru_cache(maxsize=128)
def _table(table: type, build: bool) -> Any:
    """The core schema of a table: its keys, no others; read into the dataclass itself where `build`."""
    from pydantic_core import core_schema as c

    fields = {row.name: c.typed_dict_field(_kind(row), required=row.required) for row in rows(table)}
    read = c.typed_dict_schema(fields, extra_behavior="forbid")
    return c.no_info_after_validator_function(lambda found: table(**found), read) if build else read


def _kind(row: Row) -> Any:
    from pydantic_core import core_schema as c

    if row.name == "do":
        return c.literal_schema(list(typing.get_args(row.kind)))
    kind: Any = row.kind
    item = item_of(kind)
    if item is not None:
        return c.tuple_variable_schema(_kind(Row(row.name, item, True, None)))
    if is_step(kind):
        kinds = {word: _table(typing.cast("type", step), build=True) for word, step in step_kinds().items()}
        return c.tagged_union_schema(kinds, discriminator="do")
    if dataclasses.is_dataclass(kind):
        return _table(typing.cast("type", kind), build=True)
    return c.no_info_plain_validator_function(checked(row))


@lru_cache(maxsize=2)
def reader(table: type, build: bool) -> Any:
    """What reads a Site (`build`), or the stated part of a Scenario (as a dict)."""
    from pydantic_core import SchemaValidator

    return SchemaValidator(_table(table, build))


class Fault(NamedTuple):
    """One fault found by a shape: where in the tree, at the key or the value, what and what instead."""

    path: tuple[str | int, ...]
    at_key: bool
    message: str
    hint: str


def check(table: type, data: Any) -> tuple[Any, tuple[Fault, ...]]:
    """Read a tree into a Site (or a Scenario's stated fields): the value, or None and all faults."""
    from pydantic_core import ValidationError

    try:
        return reader(table, build=table is Site).validate_python(data), ()
    except ValidationError as error:
        found = error.errors(include_url=False)
    sound = [one for one in found if one["input"] is not BROKEN][: 2 * MOST_TROUBLES]
    faults = (_fault(table, data, one) for one in sound)
    return None, tuple(fault for fault in faults if fault is not None)


def _fault(table: type, data: Any, error: Any) -> Fault | None:
    path, tables = _walk(table, data, error["loc"])
    kind, last, holder = error["type"], error["loc"][-1] if error["loc"] else "", tables[-1]
    if kind == "gatesim":
        context = error["ctx"]
        return Fault(path, False, error["msg"], context.get("hint", ""))
    if kind == "extra_forbidden":
        legal = [row.name for row in rows(holder)] if holder else []
        where = f" in {_title(path[:-1])}" if len(path) > 1 else ""
        return Fault(path, True, f"unknown key {clip(str(last))}{where}", offer(str(last), legal))
    if kind == "missing":
        return Fault(path, True, f"key {clip(str(last))} is missing{_in(path)}", _what(holder, str(last)))
    if kind == "union_tag_not_found":
        given = _at(data, path)
        if not isinstance(given, dict):
            return Fault(path, False, "a step is due here", f"with at and do; do is one of {listed(step_kinds())}")
        if given.get("do") is BROKEN:
            return None
        return Fault(path, False, "key 'do' is missing in this step", f"legal are {listed(step_kinds())}")
    if kind == "union_tag_invalid":
        word = str(error["input"]["do"])
        return Fault((*path, "do"), False, f"unknown step kind {clip(word)}", offer(word, step_kinds()))
    if kind in {"dict_type", "model_attributes_type", "tuple_type"}:
        wanted = "a list (- entry)" if kind == "tuple_type" else "a table (key: value)"
        return Fault(path, False, f"{wanted} is due here", "")
    return Fault(path, False, clip(str(error["msg"]), 120)[1:-1], "")


def _walk(table: type, data: Any, loc: tuple[Any, ...]) -> tuple[tuple[str | int, ...], list[Any]]:
    """The tree path of pydantic's location (which also holds a union's tag), and the tables along it."""
    path: tuple[str | int, ...] = ()
    kind: Any = table
    holder: Any = table
    for part in loc:
        if is_step(kind):
            kind = holder = step_kinds().get(str(part))
            continue
        if isinstance(part, int):
            path, kind = (*path, part), item_of(kind)
        else:
            row = next((row for row in rows(kind) if row.name == part), None) if _is_table(kind) else None
            if row is None or part not in (_at(data, path) or {}):
                return (path if row is not None else (*path, part)), [holder]
            path, kind = (*path, part), row.kind
        if _is_table(kind):
            holder = kind
    return path, [holder]


def _is_table(kind: Any) -> bool:
    return isinstance(kind, type) and dataclasses.is_dataclass(kind)


def _at(data: Any, path: tuple[str | int, ...]) -> Any:
    for part in path:
        data = data[part]
    return data


def _title(path: tuple[str | int, ...]) -> str:
    """Words for a place: ("edges", 1) is "edges, entry 2"."""
    return ", ".join(f"entry {part + 1}" if isinstance(part, int) else clip(part)[1:-1] for part in path)


def _in(path: tuple[str | int, ...]) -> str:
    return f" in {_title(path)}" if path else ""


def _what(table: Any, name: str) -> str:
    """What a missing key would have to hold."""
    row = next((row for row in rows(table) if row.name == name), None) if table else None
    if row is None:
        return ""
    quantity = quantity_of(row.kind)
    if quantity is not None:
        return f"a {quantity.dimension.value}, such as {example(quantity.dimension)}"
    if isinstance(row.kind, type) and issubclass(row.kind, Enum):
        return f"legal are {listed([member.value for member in row.kind])}"
    return ""
