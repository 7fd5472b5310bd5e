"""Words that may not stand in what the project ships."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

SHIPPED = (".py", ".md", ".yaml", ".toml", ".json")
NEVER = (
    r"\bcompl(?:ies|iant)\b",
    r"\bcertified\b",
    r"\bguarantee[ds]?\b",
    r"\bpypi\b",
    r"pythonhosted",
    r"(?-i:\bTODO\b|\bFIXME\b|\bXXX\b)",
)
"""Claims that no simulator can make, hosts, and notes to oneself."""


def _files(root: Path) -> list[Path]:
    said = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=root, capture_output=True, text=True, check=False
    )
    names = (
        said.stdout.split("\n") if said.returncode == 0 else [str(path.relative_to(root)) for path in root.rglob("*")]
    )
    return [
        root / name
        for name in names
        if name.endswith(SHIPPED) and (root / name).is_file() and not name.startswith((".venv", "tests/"))
    ]


@pytest.mark.parametrize("pattern", NEVER)
def test_words_that_never_stand(root, pattern) -> None:
    wanted = re.compile("(?i:" + pattern + ")")
    files = _files(root)
    assert len(files) > 50
    found = [
        f"{path.relative_to(root)}:{number}: {line.strip()}"
        for path in files
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if wanted.search(line)
    ]
    assert found == []


def test_a_word_is_found() -> None:
    assert re.search(NEVER[0], "this gate complies with")
