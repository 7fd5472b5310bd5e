"""JSON Schema (2020-12) and reference tables of both file formats, from the same models that read the files."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import textwrap
from enum import Enum
from functools import lru_cache
from itertools import pairwise
from typing import Any, NamedTuple

from gatesim.plant.site import Site
from gatesim.scenario.model import Expectation, Override, Scenario, Step
from gatesim.scenario.shapes import (
    SCENARIO_FORMAT,
    SITE_FORMAT,
    WHOLE,
    Row,
    Shapes,
    is_step,
    item_of,
    quantity_of,
    rows,
    step_kinds,
)
from gatesim.units import UNITS, Dimension, example, format_quantity

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_FORMAT_SAID = "Kind and version of the file; the first key."
_SITE_SAID = "Path of the site file, relative to this file and with /; or a whole site as a table, without format."


@lru_cache(maxsize=64)
def words_of(table: Any) -> dict[str, str]:
    """The attribute docstrings of a dataclass and its bases, each on one line."""
    said: dict[str, str] = {}
    for base in reversed(table.__mro__):
        if not dataclasses.is_dataclass(base):
            continue
        source: type = base if isinstance(base, type) else type(base)
        body = ast.parse(textwrap.dedent(inspect.getsource(source))).body[0]
        assert isinstance(body, ast.ClassDef)
        for field, text in pairwise(body.body):
            match field, text:
                case (ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str() as words))):
                    said[name] = " ".join(words.split())
    return said


def default_text(row: Row) -> str:
    """A field's default as a file would say it; "" where it is required, "absent" where it may be left out."""
    if row.required:
        return ""
    if row.default is None or row.default == () or row.default == "":
        return "absent"
    quantity = quantity_of(row.kind)
    if quantity is not None:
        return format_quantity(row.default, quantity.dimension)
    if isinstance(row.default, Enum):
        return str(row.default.value)
    return str(row.default).lower() if isinstance(row.default, bool) else str(row.default)


def _describe(table: type, name: str) -> str:
    row = next(row for row in rows(table) if row.name == name)
    default = default_text(row)
    said = [words_of(table).get(name, ""), f"Default: {default}." if default not in {"", "absent"} else ""]
    quantity = quantity_of(row.kind)
    if quantity is not None:
        units = ", ".join(UNITS[quantity.dimension])
        said.append(f"A {quantity.dimension.value} with its unit ({units}).")
    return " ".join(part for part in said if part)


class Ids(NamedTuple):
    """The ids that files may name, for editors that offer them; none: any text."""

    requirements: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    cells: tuple[str, ...] = ()


def site_schema(ids: Ids = Ids()) -> dict[str, Any]:  # noqa: B008 - a value that never changes
    """The JSON Schema of a site file."""
    import pydantic

    made: dict[str, Any] = pydantic.TypeAdapter(Shapes(_describe).table(Site)).json_schema()
    return _headed(_offering(made, ids), SITE_FORMAT, "A site file of gatesim")


def scenario_schema(ids: Ids = Ids()) -> dict[str, Any]:  # noqa: B008 - a value that never changes
    """The JSON Schema of a scenario file."""
    import pydantic

    shapes = Shapes(_describe)
    made: dict[str, Any] = pydantic.TypeAdapter(shapes.table(Scenario, build=False)).json_schema()
    inline: dict[str, Any] = pydantic.TypeAdapter(shapes.table(Site)).json_schema()
    made.setdefault("$defs", {}).update(inline.pop("$defs", {}))
    made["$defs"]["Site"] = inline
    made["properties"]["site"] = {
        "description": _SITE_SAID,
        "anyOf": [{"type": "string", "minLength": 1, "examples": ["sites/mill-lane.site.yaml"]},
                  {"$ref": "#/$defs/Site"}],
    }
    made["required"] = ["site", *made["required"]]
    return _headed(_offering(made, ids), SCENARIO_FORMAT, "A scenario file of gatesim")


def _offering(made: dict[str, Any], ids: Ids) -> dict[str, Any]:
    """The schema with the ids that a file may name as its legal words."""
    defs = made.get("$defs", {})
    fields = [(defs.get("LimitOverride"), "requirement", ids.requirements),
              (defs.get("Expectation"), "requirement", ids.requirements), (defs.get("Fault"), "fault", ids.faults)]
    for table, name, legal in fields:
        if table is not None and legal:
            table["properties"][name]["enum"] = list(legal)
    if "covers" in made["properties"] and ids.cells:
        made["properties"]["covers"]["items"] = {"enum": list(ids.cells)}
    return made


def _headed(made: dict[str, Any], wanted: str, title: str) -> dict[str, Any]:
    head = {"const": wanted, "description": _FORMAT_SAID, "default": wanted}
    made["properties"] = {"format": head, **made["properties"]}
    made["required"] = ["format", *made["required"]]
    made["title"] = title
    return {"$schema": DIALECT, **made}


# --- tables for the documentation --------------------------------------------------------------------------------


def _kind_text(row: Row) -> str:
    kind, item = row.kind, item_of(row.kind)
    if item is not None:
        return "list of steps" if is_step(item) else f"list of {_kind_text(row._replace(kind=item))}"
    quantity = quantity_of(kind)
    if quantity is not None:
        return f"{quantity.dimension.value}, `{example(quantity.dimension)}`"
    if kind is bool:
        return "`true` or `false`"
    if kind is int:
        low, high = WHOLE[row.name]
        return f"whole number, {low} to {high}"
    if isinstance(kind, type) and issubclass(kind, Enum):
        return "one of " + ", ".join(f"`{member.value}`" for member in kind)
    if dataclasses.is_dataclass(kind):
        return f"table *{_heading(kind)}*" if isinstance(kind, type) else ""
    if row.name == "do":
        return f"`{kind.__args__[0]}`"
    return "text"


def _heading(table: Any) -> str:
    """ReceiverTable: "receiver"; WiredInput: "wired input"."""
    name = table.__name__.removesuffix("Table")
    return "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in name).strip()


def _table(table: type, level: str, title: str) -> list[str]:
    lines = [f"{level} {title}", "", " ".join((table.__doc__ or "").split()), ""]
    lines += ["| key | value | default | meaning |", "|---|---|---|---|"]
    said = words_of(table)
    for row in rows(table):
        default = "required" if row.required else default_text(row)
        lines.append(f"| `{row.name}` | {_kind_text(row)} | {default} | {said.get(row.name, '')} |")
    return [*lines, ""]


def tables_in(table: type) -> list[type]:
    """A table and those below it, each once, in the order of the file (steps left out)."""
    found = [table]
    for row in rows(table):
        kind = item_of(row.kind) or row.kind
        if isinstance(kind, type) and dataclasses.is_dataclass(kind) and kind not in found:
            found += [inner for inner in tables_in(kind) if inner not in found]
    return found


def reference() -> str:
    """The reference of both formats in Markdown: units, site, scenario, steps."""
    lines = ["### Units", "", "| dimension | units | example |", "|---|---|---|"]
    for dimension in Dimension:
        units = ", ".join(f"`{unit}`" for unit in UNITS[dimension])
        lines.append(f"| {dimension.value} | {units} | `{example(dimension)}` |")
    lines += ["", "### The site file", "", f"`format: {SITE_FORMAT}`, then:", ""]
    for table in tables_in(Site):
        lines += _table(table, "####", _heading(table))
    lines += ["### The scenario file", "", f"`format: {SCENARIO_FORMAT}`, `site`, then:", ""]
    lines += [f"`site`: {_SITE_SAID}", ""]
    for table in (Scenario, Override, Expectation):
        lines += _table(table, "####", _heading(table))
    lines += ["### Steps", "", "Every step has `at`, `do` and, to repeat it, `every` and `times`.", ""]
    base: Any = Step
    shared = {row.name for row in rows(base)}
    kinds: dict[str, Any] = dict(step_kinds())
    for word, kind in kinds.items():
        said = words_of(kind)
        lines += [f"#### `do: {word}`", "", " ".join((kind.__doc__ or "").split()), ""]
        lines += ["| key | value | default | meaning |", "|---|---|---|---|"]
        own = [row for row in rows(kind) if row.name not in shared | {"do"}]
        for row in own:
            default = "required" if row.required else default_text(row)
            lines.append(f"| `{row.name}` | {_kind_text(row)} | {default} | {said.get(row.name, '')} |")
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


BEGIN, END = "<!-- reference: begin -->\n", "<!-- reference: end -->"


def with_reference(page: str) -> str:
    """A Markdown page with the reference of today between its two marks (docs/file-formats.md)."""
    before, _, rest = page.partition(BEGIN)
    _, mark, after = rest.partition(END)
    if not mark:
        raise ValueError("the page has no marks for the reference")
    return before + BEGIN + reference() + END + after
