"""Where the scenarios that ship are: in the package of an installed wheel, else in the checkout beside it."""

from __future__ import annotations

from pathlib import Path

from gatesim.errors import NothingFound

_PACKAGE = Path(__file__).resolve().parents[1]
DEMO = "sites/mill-lane.site.yaml"


def shipped() -> Path:
    """The folder of the shipped scenarios, with their sites in `sites/`.  NothingFound where neither is there."""
    for folder in (_PACKAGE / "shipped", _PACKAGE.parent / "scenarios"):
        if (folder / DEMO).is_file():
            return folder
    raise NothingFound("the shipped scenarios are not here: name the ones to use with --scenarios PATH")
