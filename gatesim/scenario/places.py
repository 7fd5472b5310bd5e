"""Where in a file something stands that a result speaks of."""

from __future__ import annotations

from pathlib import Path

from gatesim.errors import BadInput
from gatesim.scenario.strict import read_tree


def named(file: str) -> dict[str, tuple[int, int]]:
    """The tables of a site file that have a name: line and column, from 1, of each one's first.  Empty where the file
    can't be read (again)."""
    try:
        tree = read_tree(Path(file), file)
    except BadInput:
        return {}
    found: dict[str, tuple[int, int]] = {}
    for path, spot in sorted(tree.keys.items(), key=lambda entry: entry[1]):
        if path[-1] == "name":
            holder = tree.data
            for part in path:
                holder = holder[part]
            found.setdefault(holder, (spot.line, spot.column))
    return found
