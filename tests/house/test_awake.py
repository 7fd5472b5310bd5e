"""No test is asleep: each can fail."""

from __future__ import annotations

import ast


def _awake(function: ast.FunctionDef | ast.AsyncFunctionDef, helpers: set[str]) -> bool:
    for node in ast.walk(function):
        if isinstance(node, ast.Assert | ast.Raise):
            return True
        if isinstance(node, ast.keyword) and node.arg == "check" and getattr(node.value, "value", None) is True:
            return True  # a subprocess whose failure raises
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if name in {"raises", "fail", "validate", "check_schema", "run_state_machine_as_test"} or name in helpers:
                return True
    return False


def _asleep(path: str, tree: ast.Module) -> list[str]:
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    helpers: set[str] = set()
    # A test may leave the asserting to helpers of its file, and they to others.
    while more := {f.name for f in functions if f.name not in helpers and _awake(f, helpers)}:
        helpers |= more
    return [f"{path}:{f.name}" for f in functions if f.name.startswith("test_") and f.name not in helpers]


def test_every_test_can_fail(tests) -> None:
    assert [
        name
        for path, tree in tests.items()
        if path.rpartition("/")[2].startswith("test_")
        for name in _asleep(path, tree)
    ] == []


def test_a_sleeping_test_is_seen() -> None:
    assert _asleep("t.py", ast.parse("def test_x():\n    check()\ndef check():\n    pass")) == ["t.py:test_x"]
    assert not _asleep("t.py", ast.parse("def test_x():\n    check()\ndef check():\n    assert 1"))


def test_no_test_waits_for_the_wall_clock(tests) -> None:
    sleeping = [
        path
        for path, tree in tests.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "sleep"
    ]
    assert not sleeping
