"""A tree of tables, lists and texts written as YAML that the strict reader takes."""

from __future__ import annotations

import re
from typing import Any

_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9 _./()-]*")
_WORDS = frozenset({"true", "false", "yes", "no", "on", "off", "null", "y", "n"})
"""What other YAML readers turn into something else."""


def scalar(text: str) -> str:
    """A text as it stands in a file: plain where every reader takes it for text, else quoted."""
    if _PLAIN.fullmatch(text) and text.lower() not in _WORDS and not text.endswith(" "):
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    return f'"{escaped}"'


def text_of(tree: dict[str, Any]) -> str:
    """The file of a table of texts, lists and tables."""
    return "\n".join(_table(tree, 0)) + "\n"


def _table(tree: dict[str, Any], depth: int) -> list[str]:
    lines: list[str] = []
    for name, value in tree.items():
        lines += _entry(f"{'  ' * depth}{name}:", value, depth + 1)
    return lines


def _entry(head: str, value: Any, depth: int) -> list[str]:
    if isinstance(value, str):
        return [f"{head} {scalar(value)}"]
    if not value:
        return [f"{head} []" if isinstance(value, list) else f"{head} {{}}"]
    if isinstance(value, dict):
        return [head, *_table(value, depth)]
    return [head, *_list(value, depth)]


def _list(entries: list[Any], depth: int) -> list[str]:
    lines: list[str] = []
    pad = "  " * depth
    for entry in entries:
        if isinstance(entry, dict) and entry:
            made = _table(entry, depth + 1)
            lines += [f"{pad}- {made[0].lstrip()}", *made[1:]]
        else:
            lines += _entry(f"{pad}-", entry, depth + 1)
    return lines
