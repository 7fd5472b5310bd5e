"""Parquet, by DuckDB (the extra `parquet`): texts as they are, whole numbers of 64 bits, truths; null where unknown."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from gatesim.errors import BadUsage
from gatesim.report.table import Table

_TYPES = {str: "VARCHAR", int: "BIGINT", bool: "BOOLEAN"}


def needs() -> None:
    """A BadUsage where DuckDB is not there."""
    try:
        import duckdb  # noqa: F401
    except ImportError:
        raise BadUsage("--format parquet needs the extra `parquet`: pip install 'gatesim[parquet]'") from None


def render(table: Table) -> bytes:
    """The table.  The same table gives the same bytes with the same DuckDB: it writes in one thread."""
    import duckdb

    needs()
    columns = ", ".join(f'"{column.name}" {_TYPES[column.kind]}' for column in table.columns)
    marks = ", ".join("?" for _ in table.columns)
    with tempfile.TemporaryDirectory(prefix="gatesim-") as folder:
        file = os.path.join(folder, "table.parquet")
        with duckdb.connect(config={"threads": 1}) as store:
            store.execute(f"CREATE TABLE swept ({columns})")
            if table.rows:
                store.executemany(f"INSERT INTO swept VALUES ({marks})", table.rows)
            # The name is ours: a fresh folder's.
            store.execute("COPY swept TO '" + file.replace("'", "''") + "' (FORMAT parquet)")
        return Path(file).read_bytes()
