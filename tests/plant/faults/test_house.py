"""Faults and logic know nothing of each other."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import gatesim

ROOT = Path(gatesim.__file__).parent
KINDS = sorted((ROOT / "plant" / "faults").glob("*.py"))
BLIND = sorted([*(ROOT / "plant" / "logic").glob("*.py"), *(ROOT / "requirements").glob("*.py")])


def imported(file: Path) -> set[str]:
    """Every module that a file imports, and every name that it takes from one."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            found |= {str(node.module)} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def test_there_is_something_to_look_at() -> None:
    assert sum("FAULT = " in one.read_text() for one in KINDS) > 40
    assert len(BLIND) > 10


@pytest.mark.parametrize("file", BLIND, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_no_logic_and_no_requirement_imports_faults(file: Path) -> None:
    forbidden = [name for name in imported(file) if name.startswith(("gatesim.plant.fault", "gatesim.scenario.agenda"))]
    assert not forbidden


@pytest.mark.parametrize("file", KINDS, ids=lambda file: file.stem)
def test_a_fault_imports_of_logic_only_the_contract(file: Path) -> None:
    logic = {name for name in imported(file) if name.startswith("gatesim.plant.logic.")}
    assert all(name.startswith("gatesim.plant.logic.contract") for name in logic)


@pytest.mark.parametrize("file", KINDS, ids=lambda file: file.stem)
def test_a_fault_imports_no_part_and_no_world(file: Path) -> None:
    plant = {name.split(".")[2] for name in imported(file) if name.startswith("gatesim.plant.")}
    assert plant <= {
        "cell_figures", "fault", "faults", "leaves", "logic", "loop_tables", "nets", "part", "site", "wires"}


@pytest.mark.parametrize("file", [one for one in KINDS if "FAULT = " in one.read_text()], ids=lambda file: file.stem)
def test_a_kind_stands_alone_and_is_small(file: Path) -> None:
    rooms = {".".join(name.split(".")[:4]) for name in imported(file) if name.startswith("gatesim.plant.faults")}
    assert rooms <= {"gatesim.plant.faults.places", "gatesim.plant.faults.shapes"}
    assert len(file.read_text().splitlines()) <= 130
