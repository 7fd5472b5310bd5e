"""docs/contract.md is in step with the contract."""

from __future__ import annotations

from pathlib import Path

from gatesim.bench.shapes import SHAPES
from gatesim.plant.logic import contract
from gatesim.report.contract_page import ROLES, contract_tables, with_tables

PAGE = Path(__file__).parents[2] / "docs" / "contract.md"


def test_the_page_is_as_generated() -> None:
    """If this fails: write `with_tables(page)` of gatesim.report.contract_page back to docs/contract.md."""
    page = PAGE.read_text(encoding="utf-8")
    assert with_tables(page) == page


def test_every_value_of_the_contract_stands_in_it() -> None:
    values = {kind for kind in vars(contract).values()
              if isinstance(kind, type) and hasattr(kind, "_fields") and kind.__module__ == contract.__name__}
    assert values - {contract.Roles} == {kind for kinds in ROLES.values() for kind in kinds}
    assert {kind for shape in SHAPES.values() for kind in shape[:3]} <= values


def test_a_member_stands_with_its_type_and_its_words() -> None:
    text = contract_tables()
    assert '| `order` | `Direction \\| None` | Direction, or null |' in text
    assert '| Brake | `HOLD` "hold", `RELEASE` "release" |' in text
