"""Overrides: one setting of the site changed for one scenario.

Applied to the site's text before it is read, so that an override is read by the same grammar as the file, and its
faults are told at its own line.
"""

from __future__ import annotations

import copy
from typing import Any

from gatesim.plant.site import Site
from gatesim.scenario.model import Override
from gatesim.scenario.shapes import item_of, offer, rows
from gatesim.scenario.strict import Spot, Tree, TreePath
from gatesim.units import BadQuantity, clip

FIXED = frozenset({"name", "format"})
"""Keys that no override may change: what others look things up by."""


def overridden(site: Tree, overrides: tuple[Override, ...], spots: tuple[tuple[Spot, Spot], ...], say: Any) -> Tree:
    """A copy of a site's tree with the overrides in place; their values stand at their own spots.

    `spots`: of each override's setting and value.  `say(spot, message, hint)` notes a setting that does not exist.
    """
    changed = Tree(site.file, copy.deepcopy(site.data), dict(site.values), dict(site.keys))
    done: dict[TreePath, Spot] = {}
    for override, (at_setting, at_value) in zip(overrides, spots, strict=True):
        try:
            path = find(changed.data, override.setting)
        except BadQuantity as bad:
            say(at_setting, bad.message, bad.hint)
            continue
        if path in done:
            said = f"{clip(override.setting)} is overridden again; first in line {done[path].line}"
            say(at_setting, said, "keep one of them")
            continue
        done[path] = at_setting
        holder = changed.data
        for part in path[:-1]:
            holder = holder[part]
        holder[path[-1]] = override.value
        changed.values[path] = changed.keys[path] = at_value
    return changed


def find(data: Any, setting: str) -> TreePath:
    """The tree path of a setting such as `edges.front edge.band_low`; BadQuantity where there is none."""
    path: TreePath = ()
    kind: Any = Site
    parts = setting.split(".")
    for k, part in enumerate(parts):
        item, last = item_of(kind), k == len(parts) - 1
        if item is not None:
            names = [entry.get("name") for entry in data] if isinstance(data, list) else []
            legal = [name for name in names if isinstance(name, str)]
            if part not in legal:
                raise BadQuantity(f"{clip(setting)}: no entry is named {clip(part)}", offer(part, legal))
            path, data, kind = (*path, names.index(part)), data[names.index(part)], item
        else:
            row = next((row for row in rows(kind) if row.name == part), None)
            if row is None:
                legal = [row.name for row in rows(kind)]
                raise BadQuantity(f"{clip(setting)}: no setting {clip(part)}", offer(part, legal))
            if last and part in FIXED:
                raise BadQuantity(f"{clip(setting)}: a name can't be overridden", "others look it up")
            path, kind = (*path, part), row.kind
            if not last and not (isinstance(data, dict) and part in data):
                raise BadQuantity(f"{clip(setting)}: the site has no {clip(part)}", "only what is there has settings")
            data = data.get(part) if isinstance(data, dict) else None
        if not last and item_of(kind) is None and not hasattr(kind, "__dataclass_fields__"):
            raise BadQuantity(f"{clip(setting)}: {clip(part)} holds a value, not settings", "the path ends there")
    item = item_of(kind)
    if item is not None and hasattr(item, "__dataclass_fields__"):
        names_text = "an entry's name and its setting, such as edges.front edge.band_low"
        raise BadQuantity(f"{clip(setting)} is a list", f"go on with {names_text}")
    if item is not None or hasattr(kind, "__dataclass_fields__"):
        raise BadQuantity(f"{clip(setting)} is no single setting", "name one setting in it")
    return path
