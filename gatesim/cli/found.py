"""Stories that a search has found, written as scenario files beside the user's own."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from gatesim.cli.talk import write_whole
from gatesim.errors import BadUsage
from gatesim.scenario.read import SCENARIO_SUFFIX


def write_story(tree: dict[str, Any], site_file: str, path: str) -> None:
    """Write the file whole or not at all.  Its site is named by a path where that may be done (it lies below the
    nearest folder with `sites/`), and stands in the file where not."""
    from gatesim.scenario.write import text_of
    from gatesim.search.tries import site_tree

    folder = Path(path).resolve().parent
    if not folder.is_dir():
        raise BadUsage(f"cannot write {path}: there is no folder {os.path.dirname(path) or '.'}")
    root = next((one for one in (folder, *folder.parents) if (one / "sites").is_dir()), folder)
    target = Path(site_file).resolve()
    site: Any = os.path.relpath(target, folder).replace(os.sep, "/") if target.is_relative_to(root) else \
        site_tree(site_file)
    write_whole(path, text_of({**tree, "site": site}).encode())


def file_name(*parts: str) -> str:
    """A scenario file's name out of words."""
    name = "-".join("".join(c if c.isalnum() else "-" for c in part) for part in parts)
    while "--" in name:
        name = name.replace("--", "-")
    return name.strip("-") + SCENARIO_SUFFIX
