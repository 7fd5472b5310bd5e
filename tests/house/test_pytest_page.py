"""The Python of docs/pytest.md runs as it stands, and its table of options is whole."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gatesim import testing
from gatesim.pytest_plugin import OPTIONS

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/pytest.md").read_text()
BLOCKS = re.findall(r"^```python\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("number", range(len(BLOCKS)))
def test_a_shown_test_passes(number, monkeypatch) -> None:
    monkeypatch.chdir(ROOT)
    names: dict[str, object] = {"__name__": f"page_{number}"}
    exec(compile(BLOCKS[number], f"docs/pytest.md, block {number + 1}", "exec"), names)  # noqa: S102 - our own page
    tests = [one for name, one in names.items() if name.startswith("test_")]
    assert tests
    for test in tests:
        test()  # type: ignore[operator]


def test_there_are_shown_tests() -> None:
    assert len(BLOCKS) == 2


def test_the_page_has_every_option_and_every_name() -> None:
    for name in OPTIONS:
        assert f"`--gatesim-{name.replace('_', '-')} " in PAGE
        assert f"`gatesim_{name}`" in PAGE
    assert [name for name in testing.__all__ if name not in PAGE] in ([], ["NotMet", "Played"])
