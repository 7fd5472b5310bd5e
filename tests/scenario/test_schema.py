"""The exported schemas, the documentation and the words of the formats are in step with the models."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import is_dataclass as is_table
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from gatesim.cli import known
from gatesim.plant.site import Site
from gatesim.scenario.model import Scenario
from gatesim.scenario.read import read_scenario, read_site
from gatesim.scenario.schema import default_text, scenario_schema, site_schema, tables_in, with_reference, words_of
from gatesim.scenario.shapes import item_of, quantity_of, rows, scalar_reader, scalar_schema, step_kinds

DATA = Path(__file__).parent / "data"
SITE = DATA / "sites" / "quarry-lane.site.yaml"
SCENARIO = DATA / "wall-while-closing.scenario.yaml"
SHIPPED = Path(__file__).parents[2] / "scenarios"
CLoader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
PAGE = Path(__file__).parents[2] / "docs" / "file-formats.md"


made = {"site": cache(site_schema), "scenario": cache(scenario_schema)}
printed = cache(known.schema)


@cache
def validator(kind: str, with_ids: bool) -> jsonschema.Draft202012Validator:
    schema = printed(kind) if with_ids else made[kind]()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def faults(kind: str, data: Any, with_ids: bool = False) -> list[str]:
    return [error.message for error in validator(kind, with_ids).iter_errors(data)]


def test_the_examples_fit_their_schemas() -> None:
    site, scenario = yaml.safe_load(SITE.read_text()), yaml.safe_load(SCENARIO.read_text())
    assert faults("site", site) == []
    assert faults("scenario", scenario) == []
    del site["format"]
    assert faults("scenario", {**scenario, "site": site}) == []


@pytest.mark.parametrize(
    ("kind", "old", "new"),
    [
        ("site", "mass: 320 kg", "mass: 320"),
        ("site", "mass: 320 kg", "mass: 320 N"),
        ("site", "kind: sliding", "kind: rolling"),
        ("site", "travel: 4.2 m", "travl: 4.2 m"),
        ("site", "identity: 4711", "identity: -1"),
        ("site", "gatesim-site/1", "gatesim-site/2"),
        ("site", "name: Quarry Lane, north gate\n", ""),
        ("scenario", "do: press", "do: pres"),
        ("scenario", "command: close", "command: shut"),
        ("scenario", "site: sites/quarry-lane.site.yaml\n", ""),
        ("scenario", "times: 3", "times: 0"),
    ],
)
def test_what_the_reader_refuses_the_schema_refuses(kind: str, old: str, new: str) -> None:
    text = (SITE if kind == "site" else SCENARIO).read_text()
    assert old in text
    assert faults(kind, yaml.safe_load(text.replace(old, new, 1)))


def test_quantities_carry_their_units_into_the_schema() -> None:
    travel = made["site"]()["$defs"]["Gate"]["properties"]["travel"]
    assert re.fullmatch(travel["pattern"], "11.5 in")
    assert not re.fullmatch(travel["pattern"], "-1 m")
    assert travel["description"].startswith("Clear travel from the closed stop")
    assert travel["examples"] == ["11.5 in"]


def properties(node: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """Every key of every table of a schema, with where it stands."""
    if isinstance(node, dict):
        for name, found in node.get("properties", {}).items():
            yield (*path, name), found
        for name, inner in node.items():
            yield from properties(inner, path if name in {"properties", "$defs"} else (*path, name))
    elif isinstance(node, list):
        for inner in node:
            yield from properties(inner, path)


@pytest.mark.parametrize("kind", ["site", "scenario"])
def test_every_key_has_words_and_every_free_value_an_example_that_fits(kind: str) -> None:
    schema = made[kind]()
    found = list(properties(schema))
    assert len(found) > 150
    for path, key in found:
        # What a table says of itself may stand with the table alone.
        table = schema["$defs"].get(key.get("$ref", "").rpartition("/")[2], {})
        assert len(key.get("description", table.get("description", ""))) > 5, path
        if "type" in key and key["type"] not in ("array", "boolean") and not {"enum", "const"} & set(key):
            assert key["examples"], path
        for value in key.get("examples", ()):
            assert jsonschema.Draft202012Validator(key).is_valid(value), (path, value)
        if "pattern" in key:
            assert "with its unit (" in key["description"], path


def test_every_example_is_read_by_its_field() -> None:
    for table in tables():
        for row in rows(table):
            if row.name == "do" or item_of(row.kind) is not None or (isinstance(row.kind, type) and is_table(row.kind)):
                continue
            for value in scalar_schema(row).get("examples", ()):
                scalar_reader(row)(str(value))
            assert words_of(table).get(row.name), (table, row.name)


def test_every_shipped_file_fits_its_schema() -> None:
    """By jsonschema, which knows nothing of the reader."""
    counts = {"site": 0, "scenario": 0}
    for file in sorted(SHIPPED.rglob("*.yaml")):
        kind = file.name.rsplit(".", 2)[1]
        assert faults(kind, yaml.load(file.read_text(), Loader=CLoader), with_ids=True) == [], file
        counts[kind] += 1
    assert counts["site"] > 10
    assert counts["scenario"] > 100


@pytest.mark.parametrize(("old", "new"), [
    ("requirement: reversal-after-standstill", "requirement: reversal-after-standing"),
    ("fault: loop-open", "fault: loop-opened"),
    ("open closing mid-travel", "open closing at noon"),
])
def test_ids_that_do_not_exist_are_refused_by_the_printed_schema(old: str, new: str) -> None:
    text = (SHIPPED / "open-closing.scenario.yaml").read_text()
    assert faults("scenario", yaml.safe_load(text), with_ids=True) == []
    assert old in text
    assert faults("scenario", yaml.safe_load(text.replace(old, new, 1)), with_ids=True)


def tables() -> list[Any]:
    return [*tables_in(Site), *tables_in(Scenario), *step_kinds().values()]


def test_defaults_are_told_as_the_reader_reads_them() -> None:
    for table in tables():
        for row in rows(table):
            said = default_text(row)
            if said in {"", "absent"} or item_of(row.kind) is not None:
                continue
            assert scalar_reader(row)(said) == row.default, (table, row.name)


def our_words() -> Iterator[str]:
    for table in tables():
        for row in rows(table):
            yield row.name
            kind = item_of(row.kind) or row.kind
            if isinstance(kind, type) and issubclass(kind, Enum):
                yield from (member.value for member in kind)
    yield from step_kinds()


def test_no_word_of_ours_is_something_else_to_another_reader() -> None:
    words = sorted({*our_words(), "format", "site"})
    assert len(words) > 150
    for word in words:
        assert yaml.safe_load(word) == word, word
        assert word.lower() not in {"on", "off", "yes", "no", "y", "n", "null", "true", "false", "~"}


def test_every_field_is_readable_and_documented() -> None:
    """Each scalar has a grammar; each quantity its range; the page names each key."""
    page = PAGE.read_text(encoding="utf-8")
    for table in tables():
        assert (table.__doc__ or "").strip()
        for row in rows(table):
            assert f"`{row.name}`" in page
            quantity = quantity_of(row.kind)
            assert quantity is None or quantity.high is not None
    assert words_of(step_kinds()["command"])["every"].startswith("Repeat")


def test_the_page_is_in_step_with_the_models() -> None:
    """If this fails: write `with_reference(page)` of gatesim.scenario.schema back to docs/file-formats.md."""
    page = PAGE.read_text(encoding="utf-8")
    assert with_reference(page) == page


def test_the_pages_examples_are_read(tmp_path: Path) -> None:
    blocks = re.findall(r"```yaml\n# (\S+)\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.S)
    assert [name.rsplit(".", 2)[1] for name, _ in blocks] == ["site", "scenario"]
    for name, text in blocks:
        file = tmp_path / name
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, encoding="utf-8")
    requirements = {"reversal-begun": ("too late",), "overtravel": ("overtravel used up",)}
    site = read_site(tmp_path / blocks[0][0], requirements)
    scenario = read_scenario(tmp_path / blocks[1][0], requirements, ("open",))
    assert scenario.site.gate == site.gate
