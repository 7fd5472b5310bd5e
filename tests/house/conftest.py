"""The repository's own files."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@cache
def _trees(folder: str) -> dict[str, ast.Module]:
    return {
        path.relative_to(ROOT).as_posix(): ast.parse(path.read_text()) for path in sorted((ROOT / folder).rglob("*.py"))
    }


@pytest.fixture
def root() -> Path:
    return ROOT


@pytest.fixture
def sources() -> dict[str, ast.Module]:
    """Every source file of the package by its path."""
    return _trees("gatesim")


@pytest.fixture
def tests() -> dict[str, ast.Module]:
    """Every test file by its path."""
    return _trees("tests")
