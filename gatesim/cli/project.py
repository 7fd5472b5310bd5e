"""Where a user's project stands: there the store is, and files are named from there."""

from __future__ import annotations

import os
from pathlib import Path

from gatesim.cli.settings import OWN, SHARED

STORE = ".gatesim/store.sqlite"
"""Of the project's folder."""


def folder() -> Path:
    """The nearest folder, from the working one upward, that has a gatesim.toml or pyproject.toml; where none has, the
    working one."""
    here = Path.cwd()
    heads = (OWN, SHARED)
    return next((one for one in (here, *here.parents) if any((one / head).is_file() for head in heads)), here)


def store(given: str | None) -> Path:
    """The store: as given, or the project's own."""
    if given is not None:
        return Path(given)
    path = folder() / STORE
    try:
        return path.relative_to(Path.cwd())
    except ValueError:  # the project's folder is above
        return path


def named(file: str) -> str:
    """A file's name from the project's folder, the same from wherever and however it is given."""
    return Path(os.path.relpath(file, folder())).as_posix()
