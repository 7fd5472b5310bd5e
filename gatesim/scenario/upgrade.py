"""Files of older formats made into files of today's: a table of steps, each from one version to the next.

A step changes lines of the text, so that comments and layout stay.  `format` says kind and version of a file, as
`gatesim-site/1`; version 0 is a file from before `format`, whose kind its name tells.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from gatesim.errors import BadInput, Trouble
from gatesim.scenario.read import SCENARIO_SUFFIX, SITE_SUFFIX, other_format
from gatesim.scenario.strict import Tree, parse_tree, raise_all, read_bytes, shown

_KINDS = {SITE_SUFFIX: "gatesim-site", SCENARIO_SUFFIX: "gatesim-scenario"}


class Step(NamedTuple):
    """From a version to the next one."""

    kind: str
    """`gatesim-site` or `gatesim-scenario`."""
    before: int
    says: str
    change: Callable[[str, Tree], str]
    """The text and its tree to the text of the next version."""


class Upgraded(NamedTuple):
    """A file as it stands, as it is to be, and what the steps say."""

    before: str
    after: str
    steps: tuple[str, ...]


def _headed(text: str, tree: Tree, wanted: str) -> str:
    """`format` as the first key, below the comments that head the file."""
    line = tree.spot(()).line
    lines = text.splitlines(keepends=True)
    newline = "\r\n" if lines[0].endswith("\r\n") else "\n"
    return "".join([*lines[: line - 1], f"format: {wanted}{newline}", *lines[line - 1 :]])


STEPS = (
    Step("gatesim-site", 0, "format: gatesim-site/1 said in the first line",
         lambda text, tree: _headed(text, tree, "gatesim-site/1")),
    Step("gatesim-scenario", 0, "format: gatesim-scenario/1 said in the first line",
         lambda text, tree: _headed(text, tree, "gatesim-scenario/1")),
)
"""Every step that there is; a later format adds its own below."""


def upgraded(path: str, steps: tuple[Step, ...] = STEPS) -> Upgraded:
    """A site or scenario file brought to the format that the last step leads to.

    BadInput where it is no YAML that is read here, its format is unknown or newer, or a step can't change it.
    """
    file = shown(path)
    raw = read_bytes(Path(path), file)
    kind = next(kind for suffix, kind in _KINDS.items() if path.endswith(suffix))
    table = {step.before: step for step in steps if step.kind == kind}
    today = max(table) + 1
    text = before = raw.decode("utf-8", "replace").removeprefix("\ufeff")
    told: list[str] = []
    tree = _tree(text, file)
    for version in range(_version(tree, kind, today), today):
        text = table[version].change(text, tree)
        told.append(table[version].says)
        tree = _changed(text, tree, kind, version + 1)
    return Upgraded(before, text, tuple(told))


def _tree(text: str, file: str) -> Tree:
    tree = parse_tree(text.encode(), file)
    raise_all(list(tree.troubles))
    return tree


def _changed(text: str, before: Tree, kind: str, version: int) -> Tree:
    """The tree after a step, which must be readable and of the next version."""
    tree = parse_tree(text.encode(), before.file)
    said = None if tree.troubles or not isinstance(tree.data, dict) else tree.data.get("format")
    if said != f"{kind}/{version}":
        hint = f"write the file as a table of lines, format: {kind}/{version} above them"
        raise BadInput((Trouble(*before.spot(()), "the format can't be said here", hint),))
    return tree


def _version(tree: Tree, kind: str, today: int) -> int:
    """The version that the file says it has; BadInput if it is none that is known."""
    if not isinstance(tree.data, dict):
        raise BadInput((Trouble(*tree.spot(()), "the file is no table", f"it begins with format: {kind}/{today}"),))
    if "format" not in tree.data:
        return 0
    given, spot = tree.data["format"], tree.spot(("format",))
    known = [f"{kind}/{version}" for version in range(1, today + 1)]
    if given not in known:
        raise BadInput((Trouble(*spot, *other_format(given, f"{kind}/{today}")),))
    return known.index(given) + 1
