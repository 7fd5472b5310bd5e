"""Files and functions that one can read at a sitting."""

from __future__ import annotations

import ast

FILE, FUNCTION = 400, 40

LONG_FILES: dict[str, str] = {
    "gatesim/events.py": "the common stimuli and events, a list of small named tuples",
    "gatesim/trace.py": "one format, written and read in one place",
    "gatesim/plant/site.py": "the tables of a site file, a list of fields",
    "gatesim/units.py": "every unit and its factor, in one table with its grammar",
    "gatesim/plant/wires.py": "the kinds of wire, a list of names",
}
LONG_FUNCTIONS: dict[str, str] = {}
"""Exceptions, each with why."""


def _length(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without its docstring."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    first = node.body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str):
        lines -= (first.end_lineno or first.lineno) - first.lineno + 1
    return lines


def test_files_are_short(root, sources) -> None:
    long = {path: len((root / path).read_text().splitlines()) for path in sources}
    assert {path: lines for path, lines in long.items() if lines > FILE and path not in LONG_FILES} == {}


def test_functions_are_short(sources) -> None:
    long = {
        f"{path}:{node.name}": _length(node)
        for path, tree in sources.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and _length(node) > FUNCTION
    }
    assert {name: lines for name, lines in long.items() if name not in LONG_FUNCTIONS} == {}
