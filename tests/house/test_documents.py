"""What the documents show is run: each `$ gatesim ...` with its output; the README's two commands; links; changelog."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

import gatesim
from gatesim.cli.main import serve

ROOT = Path(__file__).parents[2]
DOCUMENTS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
_FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


class Shown(NamedTuple):
    """A command of a document and the output it shows."""

    document: str
    command: str
    output: str


def _blocks(text: str, language: str) -> list[str]:
    return [body for found, body in _FENCE.findall(text) if found == language]


def _shown(document: str, text: str) -> Iterator[Shown]:
    for block in _blocks(text, "console"):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, output = part.partition("\n")
            yield Shown(document, command, output)


ALL = [shown for path in DOCUMENTS for shown in _shown(path.relative_to(ROOT).as_posix(), path.read_text())]


def _agrees(shown: str, got: str) -> bool:
    """Equal line by line; a line `...` stands for any lines."""
    pattern = "".join("(?:.*\n)*?" if line.strip() == "..." else re.escape(line) + "\n" for line in shown.splitlines())
    return re.fullmatch(pattern, got) is not None


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shipped files where a command may write beside them."""
    place = tmp_path_factory.mktemp("copy")
    for name in ("scenarios", "docs", "tests/house"):
        shutil.copytree(ROOT / name, place / name, ignore=shutil.ignore_patterns("__pycache__"))
    return place


@pytest.mark.parametrize("shown", ALL, ids=lambda shown: f"{shown.document}: {shown.command}")
def test_a_shown_command_gives_what_is_shown(shown, copy, capsys, monkeypatch) -> None:
    monkeypatch.chdir(copy)
    monkeypatch.setenv("NO_COLOR", "1")
    program, *args = shlex.split(shown.command)
    assert program == "gatesim"
    serve(args)
    said = capsys.readouterr()
    got = said.out + said.err
    assert _agrees(shown.output, got), f"{shown.document} shows something else than\n{got}"


def test_there_are_shown_commands() -> None:
    assert any(shown.document == "README.md" for shown in ALL)


def test_agreement_is_exact_but_for_dots() -> None:
    assert _agrees("a\n...\nz\n", "a\nb\nc\nz\n")
    assert not _agrees("a\nz\n", "a\nb\nz\n")


def test_the_first_two_blocks_are_the_two_commands() -> None:
    text = (ROOT / "README.md").read_text()
    first, second = _blocks(text, "shell")[:2]
    assert first.startswith("python3 -m venv")
    assert first.endswith(".venv/bin/gatesim check scenarios\n")
    assert second.endswith("-m pytest -q -n auto --dist loadfile\n")
    assert (first.count("\n"), second.count("\n")) == (1, 1)
    # Nothing else in a fence comes before them.
    assert [language for language, _ in _FENCE.findall(text)][:2] == ["shell", "shell"]


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(path) -> None:
    targets = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", path.read_text())
    assert [target for target in targets if "://" not in target and not (path.parent / target).exists()] == []


def test_the_code_of_the_guide_stands_in_its_file() -> None:
    """Line by line and in order, whatever the depth."""
    guide = (ROOT / "docs" / "first-controller.md").read_text()
    code = [line.strip() for line in (ROOT / "docs" / "examples" / "first_controller.py").read_text().splitlines()]
    blocks = _blocks(guide, "python")
    assert len(blocks) == 2
    for block in blocks:
        lines = [line.strip() for line in block.splitlines()]
        assert any(code[k:k + len(lines)] == lines for k in range(len(code))), block


def test_the_changelog_has_this_version() -> None:
    assert f"\n## {gatesim.__version__}\n" in (ROOT / "CHANGELOG.md").read_text()


def test_every_command_stands_in_the_readme() -> None:
    import click

    from gatesim.cli.main import PROGRAM

    text = (ROOT / "README.md").read_text()
    names = PROGRAM.list_commands(click.Context(PROGRAM))
    assert [name for name in names if not re.search(rf"`gatesim {name}[ `]", text)] == []
