"""Files in: sites and scenarios, all faults at once with file, line and column.

The reader imports neither requirements nor faults: their ids are arguments.  pydantic and YAML are loaded on the first
call.  Nothing but `BadInput` (and `BadUsage` from `collect`) comes out of a user's mistake.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path
from typing import Any

from gatesim.errors import BadInput, BadUsage, Trouble
from gatesim.plant.site import Site
from gatesim.scenario import engine, shapes
from gatesim.scenario.check_scenario import Catalogue, check_scenario
from gatesim.scenario.check_site import check_site
from gatesim.scenario.model import Scenario
from gatesim.scenario.override import overridden
from gatesim.scenario.shapes import SCENARIO_FORMAT, SITE_FORMAT
from gatesim.scenario.strict import BROKEN, Spot, Tree, TreePath, raise_all, read_tree, shown
from gatesim.units import clip

SCENARIO_SUFFIX = ".scenario.yaml"
SITE_SUFFIX = ".site.yaml"
SKIPPED = frozenset({"node_modules", "__pycache__", "venv", "site-packages"})
"""Folders that are never searched; besides hidden ones and those with a pyvenv.cfg."""


def read_site(path: str | os.PathLike[str], requirement_ids: Mapping[str, Collection[str]] | None = None) -> Site:
    """Read and check a site file.  Raises BadInput with all its faults.

    `requirement_ids`: those that `limit_overrides` may name; None: not checked.
    """
    tree = read_tree(Path(path), shown(path))
    troubles = list(tree.troubles)
    body = _body(tree, SITE_FORMAT, troubles)
    site = None if body is None else _site(body, requirement_ids, troubles)
    raise_all(troubles)
    assert site is not None
    return site


def read_scenario(
    path: str | os.PathLike[str],
    requirement_ids: Mapping[str, Collection[str]],
    fault_ids: Collection[str],
    *,
    measures: Mapping[str, str] | None = None,
    fault_places: Callable[[str, Site], Collection[str]] | None = None,
    cells: Collection[str] | None = None,
) -> Scenario:
    """Read and check a scenario file with its site, overrides applied.  Raises BadInput with all faults of both.

    `requirement_ids` maps each requirement's id to the names of its failures; `fault_ids` holds the fault kinds.  The
    others make more checks possible: each requirement's unit ("us", "um", "mN", "1"), the devices of a site where a
    fault kind can sit, the cells of the coverage matrix.
    """
    catalogue = Catalogue(requirement_ids, fault_ids, measures, fault_places, cells)
    place = Path(path)
    tree = read_tree(place, shown(path))
    troubles = list(tree.troubles)
    body = _body(tree, SCENARIO_FORMAT, troubles)
    if body is None:
        raise_all(troubles)
    assert body is not None
    data = dict(body.data)
    data.pop("site", None)
    found, faults = engine.check(Scenario, data)
    troubles += _told(body, faults)
    partial = _by_entry(found if found is not None else _rescued(data, faults))
    site_file, site = _site_of(body, place, partial.get("overrides", {}), requirement_ids, troubles)

    def say(path: TreePath, message: str, hint: str) -> None:
        troubles.append(_trouble(body.spot(path), message, hint))

    check_scenario(partial, site, catalogue, say)
    raise_all(troubles)
    assert site is not None
    return Scenario(**found, site=site, file=shown(path), site_file=site_file, expected_at=_expected_at(body))


def _expected_at(body: Tree) -> tuple[tuple[int, int], ...]:
    """Where each expectation stands, and last the list."""
    spots = [body.spot(("expect", k)) for k in range(len(body.data["expect"]))]
    return tuple((spot.line, spot.column) for spot in (*spots, body.spot(("expect",), key=True)))


def collect(paths: Iterable[str | os.PathLike[str]]) -> tuple[list[str], list[str]]:
    """The scenario files and the site files among these files and folders, sorted, each once, named as they were given.

    Folders are searched without following links to folders; hidden ones, virtual environments and the like are left
    out.  Raises BadUsage for a path that is absent or a file of neither kind.
    """
    scenarios: dict[str, str] = {}
    sites: dict[str, str] = {}

    def keep(file: str) -> bool:
        for suffix, kept in ((SCENARIO_SUFFIX, scenarios), (SITE_SUFFIX, sites)):
            if file.endswith(suffix):
                kept.setdefault(os.path.realpath(file), file)
                return True
        return False

    for path in sorted({os.fspath(path) for path in paths}):
        try:
            is_folder, exists = os.path.isdir(path), os.path.lexists(path)
        except (OSError, ValueError):
            is_folder, exists = False, False
        if is_folder:
            for file in _found_under(path):
                keep(file)
        elif not exists:
            raise BadUsage(f"there is no file or folder {clip(shown(path), 200)}")
        elif not keep(path):
            raise BadUsage(f"{clip(shown(path), 200)} is neither a *{SCENARIO_SUFFIX} nor a *{SITE_SUFFIX} file")
    return sorted(scenarios.values()), sorted(sites.values())


def _found_under(folder: str) -> list[str]:
    found = []
    for here, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not _skipped(os.path.join(here, name), name))
        found += [os.path.join(here, name) for name in files if not name.startswith(".")]
    # "." is how one says "here", not a part of the names that one would give.
    return sorted(name.removeprefix("./") for name in found) if folder == "." else sorted(found)


def _skipped(path: str, name: str) -> bool:
    return name.startswith(".") or name in SKIPPED or os.path.lexists(os.path.join(path, "pyvenv.cfg"))


def _trouble(spot: Spot, message: str, hint: str = "") -> Trouble:
    return Trouble(spot.file, spot.line, spot.column, message, hint)


def _told(tree: Tree, faults: Iterable[engine.Fault]) -> list[Trouble]:
    return [_trouble(tree.spot(fault.path, fault.at_key), fault.message, fault.hint) for fault in faults]


# --- header ----------------------------------------------------------------------------------------------------


def _body(tree: Tree, wanted: str, troubles: list[Trouble]) -> Tree | None:
    """The tree without its `format`, once that is seen to be ours; None where it makes no sense to read on."""
    kinds = {SITE_FORMAT: "a site", SCENARIO_FORMAT: "a scenario"}
    if not tree.complete:
        return None
    if not isinstance(tree.data, dict):
        if not tree.troubles:
            troubles.append(_trouble(tree.spot(()), f"{kinds[wanted]} file is a table", f"begin with format: {wanted}"))
        return None
    data = dict(tree.data)
    if "format" not in data:
        said = f"the first key must be format: {wanted}"
        troubles.append(_trouble(tree.spot(()), said, f"this is not {kinds[wanted]} file"))
    else:
        if next(iter(data)) != "format":
            troubles.append(_trouble(tree.spot(("format",), key=True), "format must be the first key", "move it up"))
        given = data.pop("format")
        if given != wanted and given is not BROKEN:
            spot = tree.spot(("format",))
            if isinstance(given, str) and given in kinds:
                troubles.append(_trouble(spot, f"this is {kinds[given]} file", f"{kinds[wanted]} file is due here"))
                return None
            said = clip(given) if isinstance(given, str) else "this"
            troubles.append(_trouble(spot, f"{said} is not a format that is read here", f"write {wanted}"))
    return Tree(tree.file, data, tree.values, tree.keys)


# --- scenarios: what could be read of a broken one ---------------------------------------------------------------

_LISTS = ("steps", "expect", "overrides", "covers")


def _rescued(data: dict[str, Any], faults: tuple[engine.Fault, ...]) -> dict[str, Any]:
    """The stated fields of a scenario of which some are broken, so that the sound ones are checked as well.

    Entries of lists that hold a fault are left out, and stand as None to keep the numbering.
    """
    whole: dict[str, Any] = {"steps_broken": True}
    broken = {fault.path[:2] for fault in faults} | {fault.path[:1] for fault in faults if len(fault.path) < 2}
    stand_in: dict[str, Any] = {"title": "x", "teaches": "x", "ends": "1 s", "steps": [], "expect": []}
    for name in (*_LISTS, "ends"):
        given = data.get(name)
        if (name,) in broken or given is None or given is BROKEN:
            continue
        if name == "ends":
            one, wrong = engine.check(Scenario, {**stand_in, name: given})
            whole |= {} if one is None or wrong else {name: one[name]}
        elif isinstance(given, list):
            entries: list[Any] = []
            for k, entry in enumerate(given):
                one = None
                if (name, k) not in broken and entry is not BROKEN:
                    one, _ = engine.check(Scenario, {**stand_in, name: [entry]})
                entries.append(None if one is None else one[name][0])
            whole[name] = tuple(entries)
    return whole


def _by_entry(found: Mapping[str, Any]) -> dict[str, Any]:
    """The stated fields with each list as {number: entry}, without the broken ones."""
    made = dict(found)
    for name in _LISTS:
        made[name] = {k: entry for k, entry in enumerate(found.get(name, ())) if entry is not None}
    return made


# --- sites -----------------------------------------------------------------------------------------------------


def _site(tree: Tree, requirement_ids: Mapping[str, Collection[str]] | None, troubles: list[Trouble]) -> Site | None:
    """The site of a tree without `format`; its faults are added to `troubles`."""
    site, faults = engine.check(Site, tree.data)
    troubles += _told(tree, faults)
    if not isinstance(site, Site):
        return None
    for made in check_site(site, requirement_ids):
        if not made.warning:
            troubles.append(_trouble(tree.spot(made.path), made.message, made.remedy))
    return site


def _site_of(
    body: Tree,
    place: Path,
    overrides: Mapping[int, Any],
    requirement_ids: Mapping[str, Collection[str]],
    troubles: list[Trouble],
) -> tuple[str, Site | None]:
    """Name of the site file ("" where inline) and the site with the overrides, or None where it has faults."""
    given = body.data.get("site")
    file = ""
    if given is BROKEN:
        return file, None
    if isinstance(given, dict):
        cut = {path[1:]: spot for path, spot in body.values.items() if path[:1] == ("site",)}
        keys = {path[1:]: spot for path, spot in body.keys.items() if path[:1] == ("site",) and len(path) > 1}
        base: Tree | None = Tree(body.file, given, cut, keys)
    elif isinstance(given, str):
        path = _site_path(given, place, body.spot(("site",)), troubles)
        if path is None:
            return file, None
        file = shown(os.path.normpath(place.parent / given))
        base = _site_body(path, file, troubles)
    else:
        hint = "the path of a site file, or a whole site as a table"
        said = "key 'site' is missing" if given is None else "a path or a table is due here"
        troubles.append(_trouble(body.spot(("site",), key=True), said, hint))
        base = None
    if base is None:
        return file, None
    before = len(troubles)
    site = _site(base, requirement_ids, troubles)
    if overrides:
        site = _overridden(body, base, overrides, requirement_ids, troubles, sound=len(troubles) == before)
    return file, site


def _overridden(
    body: Tree,
    base: Tree,
    overrides: Mapping[int, Any],
    requirement_ids: Mapping[str, Collection[str]],
    troubles: list[Trouble],
    sound: bool,
) -> Site | None:
    """The site with its overrides.  Of a site that has faults of its own, only the settings' names are checked."""

    def say(spot: Spot, message: str, hint: str) -> None:
        troubles.append(_trouble(spot, message, hint))

    spots = tuple((body.spot(("overrides", k, "setting")), body.spot(("overrides", k, "value"))) for k in overrides)
    changed = overridden(base, tuple(overrides.values()), spots, say)
    return _site(changed, requirement_ids, troubles) if sound else None


def _site_body(path: Path, name: str, troubles: list[Trouble]) -> Tree | None:
    try:
        tree = read_tree(path, name)
    except BadInput as bad:
        troubles += bad.troubles
        return None
    troubles += tree.troubles
    return _body(tree, SITE_FORMAT, troubles)


def _site_path(given: str, place: Path, spot: Spot, troubles: list[Trouble]) -> Path | None:
    """The site file that a scenario names, links resolved; it lies below the nearest folder that holds `sites/`."""
    if "\\" in given or Path(given).is_absolute() or "\n" in given or not given.strip():
        said = f"{clip(given)} is not a relative path"
        troubles.append(_trouble(spot, said, "write it relative to this file, with /, such as sites/north.site.yaml"))
        return None
    try:
        here = place.resolve().parent
        target = (here / given).resolve()
        root = next((folder for folder in (here, *here.parents) if (folder / "sites").is_dir()), here)
        outside, there = not target.is_relative_to(root), target.is_file()
    except (OSError, ValueError, RuntimeError):
        outside, there = False, False
    if outside:
        said = f"site path {clip(given)} climbs above {clip(shown(root.name or str(root)))}"
        hint = "it must stay below the nearest folder that holds sites/, links resolved"
        troubles.append(_trouble(spot, said, hint))
        return None
    if not there:
        troubles.append(_trouble(spot, f"there is no site file {clip(given, 100)}", _near_sites(place, given)))
        return None
    return target


def _near_sites(place: Path, given: str) -> str:
    """The site file that was probably meant."""
    folder = place.parent / os.path.dirname(given)
    try:
        there = sorted(name for name in os.listdir(folder) if name.endswith(SITE_SUFFIX))
    except (OSError, ValueError):
        return "the path counts from this file's folder"
    return shapes.offer(os.path.basename(given), [shown(name) for name in there]) or "the folder holds no site file"
