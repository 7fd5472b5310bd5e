"""The wiring of a site: for a person, for a spreadsheet (CSV), and `gatesim-wiring/1` for programs."""

from __future__ import annotations

import csv
import json
from io import StringIO

from gatesim import __version__
from gatesim.bench.wire.points import VERSION, Point, Wiring
from gatesim.report.plain import Page

FORMAT = "gatesim-wiring/1"
COLUMNS = ("table", "address", "count", "name", "meaning")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def hash_of(wiring: Wiring) -> str:
    """The map hash as it is written everywhere."""
    return f"{wiring.digest:08x}"


def addresses(point: Point) -> str:
    """The addresses of an entry, from 0 on."""
    return f"{point.address}" if point.size == 1 else f"{point.address}-{point.address + point.size - 1}"


def draw(console: Page, site: str, wiring: Wiring) -> None:
    """Print it as a table for each kind."""
    console.print(f"Wiring of {site}, as a Modbus TCP server; map hash {hash_of(wiring)}", style="bold", markup=False,
                  soft_wrap=True)
    console.print("Addresses count from 0, as they stand in a request.", markup=False, soft_wrap=True)
    wide = max(len(point.name) for point in wiring.points)
    for table in dict.fromkeys(point.table for point in wiring.points):
        console.print()
        console.print(f"{table.value}s", style="bold", markup=False, soft_wrap=True)
        for point in wiring.points:
            if point.table is table:
                line = f"  {addresses(point):>7}  {point.name:<{wide}}  {point.says}"
                console.print(line, markup=False, soft_wrap=True)


def as_csv(wiring: Wiring) -> str:
    """The same as CSV; what a spreadsheet would take for a formula begins with an apostrophe."""
    page = StringIO()
    out = csv.writer(page, lineterminator="\n")
    out.writerow(COLUMNS)
    for point in wiring.points:
        words = [f"'{text}" if text.startswith(_FORMULA) else text for text in (point.name, point.says)]
        out.writerow((point.table.value, point.address, point.size, *words))
    return page.getvalue()


def as_json(site: str, wiring: Wiring) -> str:
    """`gatesim-wiring/1`."""
    said = {
        "format": FORMAT,
        "version": __version__,
        "site": site,
        "map_version": VERSION,
        "map_hash": hash_of(wiring),
        "points": [dict(zip(COLUMNS, (point.table.value, *point[1:]), strict=True)) for point in wiring.points],
    }
    return json.dumps(said, indent=1, ensure_ascii=False) + "\n"
