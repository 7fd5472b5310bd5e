"""The files of a new project: a site, scenarios, schemas for editors, a script for CI and a README."""

from __future__ import annotations

import json
import os
from functools import cache
from importlib.resources import files

from gatesim import __version__
from gatesim.cli import known
from gatesim.cli.talk import write_whole
from gatesim.errors import BadUsage

PLACES = {
    "README.md": "README.md",
    "check.sh": "check.sh",
    "workflow.yml": ".github/workflows/gatesim.yml",
    "gatesim.toml": "gatesim.toml",
    "gitignore": ".gitignore",
    "gate.site.yaml": "scenarios/sites/gate.site.yaml",
    "healthy-both-ways.scenario.yaml": "scenarios/healthy-both-ways.scenario.yaml",
    "block-while-closing.scenario.yaml": "scenarios/block-while-closing.scenario.yaml",
    "wire-breaks-while-closing.scenario.yaml": "scenarios/wire-breaks-while-closing.scenario.yaml",
    "link-lost-while-closing.scenario.yaml": "scenarios/link-lost-while-closing.scenario.yaml",
}
"""Each file of `starter/`, and where it goes."""

PROGRAMS = frozenset({"check.sh"})


@cache
def contents() -> dict[str, bytes]:
    """Path in the new project to content."""
    room = files("gatesim.cli") / "starter"
    made = {place: (room / name).read_text(encoding="utf-8").replace("{version}", __version__).encode()
            for name, place in PLACES.items()}
    for kind in ("site", "scenario"):
        text = json.dumps(known.schema(kind), indent=1, ensure_ascii=False) + "\n"
        made[f"schemas/{kind}.schema.json"] = text.encode()
    return made


def start(folder: str) -> list[str]:
    """Write a new project into a folder, which is made if need be; give the paths written.

    BadUsage, and nothing written, where one of its files is there already or can't be written.
    """
    made = {os.path.join(folder, place): content for place, content in contents().items()}
    there = sorted(path for path in made if os.path.lexists(path))
    if there:
        named = ", ".join(there[:3]) + (f" and {len(there) - 3} more" if len(there) > 3 else "")
        raise BadUsage(f"{named} {'is' if len(there) == 1 else 'are'} there already; nothing is written")
    new_folders: list[str] = []
    written: list[str] = []
    try:
        for path, content in made.items():
            _make(os.path.dirname(path), new_folders)
            write_whole(path, content, 0o755 if os.path.basename(path) in PROGRAMS else None)
            written.append(path)
    except (BadUsage, OSError) as error:
        for path in written:
            os.unlink(path)
        for path in reversed(new_folders):
            os.rmdir(path)
        said = f"cannot make {folder}: {error.strerror}" if isinstance(error, OSError) else str(error)
        raise BadUsage(f"{said}; nothing is written") from None
    return sorted(made)


def _make(folder: str, made: list[str]) -> None:
    """Make a folder with those above it, and note the new ones."""
    if folder and not os.path.isdir(folder):
        _make(os.path.dirname(folder), made)
        os.mkdir(folder)
        made.append(folder)
