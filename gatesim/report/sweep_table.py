"""A sweep as one flat table: its rows, and beside them its pairs and combinations where there are any.

The names are those of `gatesim-sweep/1`; what does not concern a kind of row is empty in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from gatesim.report.sweep_json import pair_json, row_json, spans, way_json
from gatesim.report.table import Cell, Column, Table
from gatesim.search.pairs import Paired
from gatesim.search.sweep import Swept
from gatesim.search.ways import Ways

COLUMNS = (
    *(Column(name, str) for name in ("site", "seed", "version", "kind", "fault", "device", "then", "then_device",
                                     "direction", "phase", "duration", "when", "values", "found", "outcome")),
    *(Column(name, bool) for name in ("differs", "residual_risk", "graver")),
    Column("requirement", str),
    *(Column(f"{name}_us", int) for name in ("worst", "bound", "limit", "margin", "worst_at", "onset", "at")),
    Column("runs", int),
    *(Column(name, str) for name in ("coverage", "why", "window_us", "gaps_us")),
    *(Column(f"contacts_{name}", int) for name in ("tried", "edge_missed", "force_missed", "gate_missed", "rescued",
                                                   "unprotected_us")),
)
"""A seed is a text: it may be larger than what 64 bits with a sign hold."""


def sweep_table(swept: Swept, version: str, paired: Paired | None = None, ways: Ways | None = None) -> Table:
    """The table.  Times are whole microseconds; spans are texts such as "1000-2500 4000-4100"."""
    same = {"site": swept.site, "seed": str(swept.seed), "version": version}
    flat: Iterable[Mapping[str, Any]] = _rows(swept, paired, ways)
    return Table(COLUMNS, tuple(tuple(_cell((same | dict(row)).get(column.name)) for column in COLUMNS)
                                for row in flat))


def _rows(swept: Swept, paired: Paired | None, ways: Ways | None) -> Iterator[dict[str, Any]]:
    for row in swept.rows:
        said = row_json(row)
        contacts = {f"contacts_{name}": value for name, value in (said["contacts"] or {}).items()}
        yield {"kind": "row", **said, **contacts, "residual_risk": row.residual}
    for pair in () if paired is None else paired.rows:
        yield {"kind": "pair", **pair_json(pair), "residual_risk": pair.graver}
    for way in () if ways is None else ways.rows:
        said = way_json(way)
        values = "; ".join(f"{one['name']}={one['value']}" for one in said.pop("values"))
        yield {"kind": "combination", **said, "values": values}


def _cell(value: Any) -> Cell:
    if isinstance(value, list):
        return spans(value)
    cell: Cell = value
    return cell
