"""A sweep in the formats of a CI and of a spreadsheet: what they say, and that nothing open is shown as good."""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import sweep_rows
from readers import READERS, Read
from test_hostile_text import COMMAND, FORMULAS, MARKUP, STYLES

from gatesim.cli.commands import sweep as command
from gatesim.report.as_json import as_json
from gatesim.report.html import sweep_page
from gatesim.report.sweep_json import row_json
from gatesim.report.table import Column, Table
from gatesim.report.table_as import render
from gatesim.shown import HIDDEN

OF_CASES = ("github", "junit", "sarif", "tap")


@pytest.fixture
def swept(gatesim, site, monkeypatch, tmp_path) -> Any:
    """Deliver rows made by hand as `sweep` does: (exit code, what the reader makes of it, the bytes)."""

    def show(style: str, device: str = "front edge", more: Any = None, rows: Any = None) -> tuple[int, Read, bytes]:
        made = sweep_rows.rows(device) if rows is None else rows
        monkeypatch.setattr(command, "_rows", lambda *_: (made, 0.25, None))
        monkeypatch.setattr(command, "_more", lambda *_: more or command.More())
        bench = SimpleNamespace(tasks=lambda *_: made)
        monkeypatch.setattr("gatesim.search.sweep.bench_for", lambda _: bench)
        # Rows made by hand have no story.
        monkeypatch.setattr(sweep_page, "_story", lambda *_: {"lines": [], "chains": []})
        out = tmp_path / "out"
        said = gatesim("sweep", site, "--seed", "7", "--format", style, "--output", out)
        assert HIDDEN.search(said.err) is None
        return said.code, READERS[style](out.read_bytes()), out.read_bytes()

    return show


def test_no_open_row_is_good_in_junit(swept) -> None:
    code, read, _ = swept("junit")
    assert code == 1
    cases = {case.name: case for suite in read.whole for case in suite}
    states = {name: [type(one).__name__ for one in case.result] for name, case in cases.items()}
    assert states == {
        "loop-open, front edge": [], "loop-short, front edge": ["Failure"], "weak-contact, front edge": ["Error"],
        "corroded-joint, front edge": ["Error"], "leakage-slow, front edge": [], "edge-torn-loose, front edge": [],
        "all rows made": [],
    }
    assert "coverage: sampled" in cases["leakage-slow, front edge"].system_out
    assert "residual risk: yes" in cases["edge-torn-loose, front edge"].system_out
    late = cases["loop-short, front edge"].result[0]
    assert "(seed 7)" in late.message
    assert "measured 2500.000 ms, limit 2000.000 ms, margin -500.000 ms" in late.text


def test_no_open_row_is_good_in_tap(swept) -> None:
    tests, _ = swept("tap")[1].whole
    assert [test["ok"] for test in tests] == [True, False, False, False, True, True, True]


def test_a_finding_stands_at_its_device(swept, site) -> None:
    number = site.read_text().splitlines().index("  - name: front edge") + 1
    annotations = swept("github")[1].whole
    assert [one.properties["line"] for one in annotations if one.kind == "error"] == [str(number)] * 3
    assert annotations[-1].properties["title"] == "residual risk: 1 rows"
    again = f"gatesim sweep {site} --fault loop-short --seed 7 --write ."
    assert annotations[0].message.endswith(f"Run it again: {again}")
    results = swept("sarif")[1].whole["runs"][0]["results"]
    regions = [one["locations"][0]["physicalLocation"].get("region", {}).get("startLine") for one in results]
    assert regions == [number, number, number, None]
    assert [one["kind"] for one in results] == ["fail", "fail", "fail", "review"]


@pytest.mark.parametrize("style", OF_CASES)
def test_what_was_not_made_is_an_error(swept, monkeypatch, style) -> None:
    all_rows = sweep_rows.rows()[:1]
    assert swept(style, rows=all_rows)[1].bad == 0
    monkeypatch.setattr(command, "_swept", lambda *given: _swept(given[0], given[1], given[2], 3))
    assert swept(style, rows=all_rows)[1].bad == 1


def _swept(site: str, seed: int, rows: Any, missing: int) -> Any:
    from gatesim.search.sweep import summed

    return summed(site, seed, rows, missing, 0.0)


@pytest.mark.parametrize("style", OF_CASES)
def test_pairs_and_combinations_are_cases_too(swept, style) -> None:
    read = swept(style, more=command.More(sweep_rows.paired(), sweep_rows.combined()))[1]
    assert read.bad == 3 + 1 + 1 + 1  # a pair not told, one not made, a combination late
    assert any("residual risk" in text and "pairs" in text for text in read.texts) or style == "tap"


def test_the_moves_of_a_scenario_are_told_apart(swept) -> None:
    rows = [sweep_rows.row(), sweep_rows.row(window=(10_000_000, 12_000_000))]
    names = [suite.name for suite in swept("junit", rows=rows)[1].whole]
    assert len(set(names)) == len(names) == 3


@pytest.mark.parametrize("style", STYLES["sweep"])
def test_the_same_rows_give_the_same_bytes(swept, style) -> None:
    more = command.More(sweep_rows.paired(), sweep_rows.combined())
    first, second = (hashlib.sha256(swept(style, more=more)[2]).hexdigest() for _ in range(2))
    assert first == second


@pytest.mark.parametrize("style", STYLES["sweep"])
@pytest.mark.parametrize("name", [MARKUP, COMMAND, *FORMULAS, "\x1b[31mred", "a\x00b\u202e", "x" * 10_000],
                         ids=lambda name: ascii(name)[1:12])
def test_hostile_names_break_no_format_of_a_sweep(swept, style, name) -> None:
    _, read, raw = swept(style, name, command.More(sweep_rows.paired(name), sweep_rows.combined(name)))
    assert read.texts
    if style != "parquet":  # no text, and read by no terminal
        assert HIDDEN.search(raw.decode()) is None


# --- tables -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("style", ["csv", "parquet"])
def test_a_table_has_the_rows_of_the_json(swept, style) -> None:
    more = command.More(sweep_rows.paired(), sweep_rows.combined())
    whole = swept(style, more=more)[1].whole
    told = [dict(zip(whole[0], row, strict=True)) for row in whole[1:]] if style == "csv" else whole
    assert [row["kind"] for row in told] == ["row"] * 6 + ["pair"] * 2 + ["combination"] * 2
    for row, made in zip(told, sweep_rows.rows(), strict=False):
        said = row_json(made)
        for name in ("fault", "device", "outcome", "coverage", "requirement", "why"):
            assert (row[name] or None) == (said[name] or None)
        for name in ("worst_us", "bound_us", "limit_us", "margin_us", "worst_at_us", "runs"):
            assert row[name] == ("" if said[name] is None else str(said[name]) if style == "csv" else said[name]) or (
                said[name] is None and row[name] is None)
        assert row["differs"] == (str(made.differs).lower() if style == "csv" else made.differs)
    assert told[1]["margin_us"] in ("-500000", -500_000)
    assert told[3]["gaps_us"] == "2000-2003 4000-4003"
    assert told[5]["contacts_edge_missed"] in ("8", 8)


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_is_only_a_text(text) -> None:
    table = Table((Column("a", str), Column("n", int)), ((text, -5),))
    rows = READERS["csv"](render("csv", table)).whole
    assert rows[1][0].startswith("'")
    assert rows[1][1] == "-5"
    kept = READERS["parquet"](render("parquet", table)).whole
    assert kept == [{"a": text, "n": -5}]


def test_an_empty_table_is_a_table() -> None:
    table = Table((Column("a", str), Column("b", bool)), ())
    assert render("csv", table) == b'"a","b"\r\n'
    assert READERS["parquet"](render("parquet", table)).whole == []


def test_without_the_extra_it_is_said_before_the_work(gatesim, site, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "duckdb", None)
    monkeypatch.setattr(command, "_rows", lambda *_: pytest.fail("it had begun"))
    said = gatesim("sweep", site, "--format", "parquet")
    assert said.code == 2
    assert said.err == "gatesim: --format parquet needs the extra `parquet`: pip install 'gatesim[parquet]'\n"


def test_duckdb_is_loaded_for_parquet_only(gatesim, swept, monkeypatch) -> None:
    monkeypatch.delitem(sys.modules, "duckdb", raising=False)
    monkeypatch.setitem(READERS, "csv", lambda raw: Read(None, None, ()))
    swept("csv")
    assert "duckdb" not in sys.modules


def test_parquet_goes_to_no_terminal(gatesim, site, monkeypatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    said = gatesim("sweep", site, "--format", "parquet")
    assert said.code == 2
    assert "give --output FILE" in said.err


def test_us_units_are_for_text(gatesim, scenario) -> None:
    for style in (style for style in STYLES["check"] if style not in ("text", "html")):
        said = gatesim("check", scenario, "--units", "us", "--format", style)
        assert said.code == 2
        assert f"`--format {style}`" in said.err


@pytest.mark.slow
def test_a_real_sweep_in_a_ci_format(gatesim, scenarios, tmp_path: Path) -> None:
    site, out = scenarios / "sites" / "orchard-row.site.yaml", tmp_path / "out"
    said = gatesim("sweep", site, "--fault", "edge-torn-loose", "--budget", "0.1", "--jobs", "1", "--format", "junit",
                   "--output", out)
    assert said.code == 0  # a residual risk that the catalogue knows; but time ended first, and that is never green
    read = READERS["junit"](out.read_bytes())
    assert (read.good, read.bad) == (1, 4)


def test_json_hides_nothing() -> None:
    text = as_json({"a": "\x1b\x9b\u202e\udcff é"})
    assert HIDDEN.search(text) is None
    assert READERS["json"](text.encode()).whole == {"a": "\x1b\x9b\u202e\udcff é"}
