"""Every requirement there is: one file each, found beside this one by its `REQUIREMENT`."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pathlib import Path
from types import MappingProxyType

from gatesim.errors import ModelError
from gatesim.requirements.requirement import Requirement


def gather(package: str, names: list[str]) -> dict[str, Requirement]:
    """The requirements in these modules of a package, by id, in the order of the ids.  Raises ModelError on
    duplicates."""
    found: dict[str, Requirement] = {}
    for name in names:
        requirement: Requirement | None = getattr(import_module(f"{package}.{name}"), "REQUIREMENT", None)
        if requirement is None:
            continue
        if requirement.id in found:
            raise ModelError(f"two requirements have the id {requirement.id}; the second stands in {name}")
        found[requirement.id] = requirement
    return dict(sorted(found.items()))


@cache
def requirements() -> MappingProxyType[str, Requirement]:
    """Every requirement by its id, in the order of the ids."""
    names = sorted(file.stem for file in Path(__file__).parent.glob("*.py") if not file.stem.startswith("_"))
    return MappingProxyType(gather(__package__, names))
