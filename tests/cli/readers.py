"""Independent readers of what `check` and `sweep` print: each takes the bytes, fails on what is not of its format, and
says how many cases were good and how many not (None where the format does not say), with every text that it holds."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import subprocess
import tempfile
import warnings
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

DATA = Path(__file__).parents[1] / "data"
HERE = Path(__file__).parent


class Read(NamedTuple):
    good: int | None
    bad: int | None
    texts: tuple[str, ...]
    whole: Any = None


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield from (str(name), *_texts(inner))
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _texts(inner)


def read_text(raw: bytes) -> Read:
    text = raw.decode()
    assert text.endswith("\n")
    return Read(None, None, tuple(text.splitlines()))


def read_json(raw: bytes) -> Read:
    said = json.loads(raw)
    return Read(None, None, tuple(_texts(said)), said)


@cache
def _junit_schema() -> Any:
    from lxml import etree

    return etree.XMLSchema(etree.parse(DATA / "junit-10.xsd"))


def read_junit(raw: bytes) -> Read:
    """lxml against the schema that Jenkins's readers share (MIT, its head says whose), and junitparser."""
    from junitparser import Error, Failure, JUnitXml
    from lxml import etree

    tree = etree.fromstring(raw, etree.XMLParser(resolve_entities=False))
    _junit_schema().assertValid(tree)
    told = JUnitXml.fromstring(raw)
    cases = [case for suite in told for case in suite]
    results = [case.result for case in cases]
    assert all(isinstance(one, Failure | Error) for result in results for one in result)
    bad = sum(bool(result) for result in results)
    assert (told.tests, told.failures + told.errors) == (len(cases), bad)
    assert not told.skipped
    texts = [text for element in tree.iter() for text in (element.text, *element.attrib.values()) if text]
    return Read(len(cases) - bad, bad, tuple(texts), told)


TOO_NEW = "TAP specified version 14 but we don't know about versions later than 13"


@cache
def _newest_tap() -> int:
    """Perl's own reader knows version 14 from Test::Harness 3.45 on; before it says so, and reads all the same."""
    return 13 if TOO_NEW in _by_perl("TAP version 14\n1..1\nok 1 - a\n")["errors"] else 14


def _by_perl(text: str) -> Any:
    if shutil.which("perl") is None:
        if os.environ.get("CI") == "true":
            pytest.fail("perl is not here, and under CI=true this may not be skipped")
        pytest.skip("perl is not here")
    done = subprocess.run(["perl", str(HERE / "tap_reader.pl")], input=text.encode(), capture_output=True, check=True,
                          timeout=60)
    return json.loads(done.stdout)


def read_tap(raw: bytes) -> Read:
    """Perl's TAP::Parser, and PyYAML for what stands below the lines."""
    text = raw.decode()
    head, _, rest = text.partition("\n")
    assert head == "TAP version 14"
    told = _by_perl(f"TAP version {_newest_tap()}\n{rest}")
    assert told["errors"] == []
    assert told["unknown"] == []
    assert all(not test["directive"] for test in told["tests"])
    blocks = re.findall(r"^  ---\n(.*?)^  \.\.\.\n", rest, re.MULTILINE | re.DOTALL)
    assert len(blocks) == len(told["tests"]) == len(told["yaml"])
    whole = [yaml.safe_load(block) for block in blocks]
    good = sum(test["ok"] for test in told["tests"])
    names = [test["description"] for test in told["tests"]]
    return Read(good, len(names) - good, (*names, *_texts(whole)), (told["tests"], whole))


@cache
def _sarif_schema() -> Any:
    from jsonschema import Draft4Validator

    return Draft4Validator(json.loads((DATA / "sarif-2.1.0-rtm.5.json").read_text()))


def read_sarif(raw: bytes) -> Read:
    """The schema of SARIF 2.1.0, and sarif-tools."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        from sarif import loader

    said = json.loads(raw)
    assert [error.message for error in _sarif_schema().iter_errors(said)] == []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.sarif"
        path.write_bytes(raw)
        log = loader.load_sarif_file(str(path))
        records = log.get_records()
    spots = [spot["physicalLocation"]["artifactLocation"]["uri"] for one in said["runs"][0]["results"]
             for spot in one["locations"]]
    # RFC 3986, appendix A; a first segment with a colon would be a scheme (4.2).
    assert all(re.fullmatch(r"(file:///)?([A-Za-z0-9\-._~!$&'()*+,;=@/]|%[0-9A-F]{2})*", spot) for spot in spots)
    assert len(records) == len(said["runs"][0]["results"])
    failed = [one for one in said["runs"][0]["results"] if one["kind"] == "fail"]
    assert all(one["level"] == "error" for one in failed)
    assert not any(one["kind"] in ("pass", "notApplicable", "open") for one in said["runs"][0]["results"])
    return Read(None, len(failed), tuple(_texts(said)), said)


class Annotation(NamedTuple):
    kind: str
    properties: dict[str, str]
    message: str


def _back(text: str, marks: tuple[tuple[str, str], ...]) -> str:
    for mark, meant in marks:
        text = text.replace(mark, meant)
    return text


_DATA = (("%0D", "\r"), ("%0A", "\n"))
_PROPERTY = (*_DATA, ("%3A", ":"), ("%2C", ","))


def read_github(raw: bytes) -> Read:
    """As the runner reads a log by its documentation: a command is a line whose first mark is `::`, up to the next one
    stand its name and properties; the percent signs are taken back, `%25` last."""
    found = []
    lines = raw.decode().splitlines()
    for line in lines:
        if not line.lstrip().startswith("::"):
            assert "##[" not in line  # the runner's older spelling, which it takes anywhere in a line
            continue
        head, _, message = line.lstrip()[2:].partition("::")
        kind, _, listed = head.partition(" ")
        properties = dict(one.split("=", 1) for one in listed.split(",") if one)
        assert kind in ("error", "notice")
        assert set(properties) <= {"file", "line", "col", "title"}
        found.append(Annotation(kind, {name: _back(_back(value, _PROPERTY), (("%25", "%"),))
                                       for name, value in properties.items()},
                                _back(_back(message, _DATA), (("%25", "%"),))))
    assert len(lines) - len(found) == 1
    texts = [text for one in found for text in (*one.properties.values(), one.message)]
    return Read(None, sum(one.kind == "error" for one in found), (*texts, lines[-1]), found)


def read_csv(raw: bytes) -> Read:
    """Python's csv, strictly, and DuckDB's."""
    import duckdb

    assert raw.endswith(b"\r\n")
    rows = list(csv.reader(io.StringIO(raw.decode(), newline=""), strict=True))
    assert {len(row) for row in rows} == {len(rows[0])}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.csv"
        path.write_bytes(raw)
        with duckdb.connect() as store:
            again = store.execute("SELECT * FROM read_csv(?, header=true, all_varchar=true, nullstr='')",
                                  [str(path)]).fetchall()
    assert [[cell or "" for cell in row] for row in again] == rows[1:]
    for cell in (cell for row in rows for cell in row):
        is_text = re.fullmatch(r"-?\d+", cell) is None
        assert not (is_text and re.match(r"\s*[=+\-@]", cell)), f"a spreadsheet would calculate {cell}"
    return Read(None, None, tuple(cell for row in rows for cell in row), rows)


def read_parquet(raw: bytes) -> Read:
    """The Parquet reader of the Rust Arrow project, through arro3."""
    from arro3.io import read_parquet

    table = read_parquet(io.BytesIO(raw)).read_all()
    columns = {name: table.column(name).to_pylist() for name in table.column_names}
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    return Read(None, None, tuple(text for row in rows for text in _texts(row)), rows)


def read_html(raw: bytes) -> Read:
    """As lxml's parser of HTML takes it: what a text holds has become no element, no attribute and no script."""
    from lxml import html

    page = html.document_fromstring(raw.decode())
    scripts = page.xpath("//script")
    kinds = [script.get("type") for script in scripts]
    assert kinds.count("application/json") <= 1
    assert len(kinds) - kinds.count("application/json") == 1
    assert not page.xpath("//img | //iframe | //object | //embed | //base | //form[@action]")
    assert not [name for element in page.iter() for name in element.attrib if name.startswith("on")]
    assert not page.xpath("//@src")
    texts = [text.strip() for text in page.itertext(with_tail=True) if text.strip()]
    for script in scripts:
        if script.get("type") == "application/json":
            texts += _texts(json.loads(script.text))
    texts += [str(value) for element in page.iter() for value in element.attrib.values()]
    return Read(None, None, tuple(texts))


READERS: dict[str, Callable[[bytes], Read]] = {
    "text": read_text,
    "json": read_json,
    "junit": read_junit,
    "tap": read_tap,
    "sarif": read_sarif,
    "github": read_github,
    "csv": read_csv,
    "parquet": read_parquet,
    "html": read_html,
}
"""Every format of `check` and `sweep`: a new one needs a reader here (a test says so)."""
