"""Imports go one way; the doors of libraries; what the core may not touch."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

LAYERS = (
    "units",
    "errors",
    "shown",
    "events",
    "plant",
    "scenario",
    "trace",
    "spool",
    "requirements",
    "run",
    "bench",
    "search",
    "field",
    "report",
    "cli",
    "testing",
    "strategies",
    "pytest_items",
    "pytest_plugin",
    "conformance",
)

SIBLINGS_APART = {
    "plant.faults": {"catalogue", "places", "shapes"},
    "cli.commands": set(),
    "search.doubles": {"base", "catalogue"},
    "report.cases_as": set(),
    "report.table_as": set(),
}
"""Rooms whose files do not import one another, with the files that all may import."""

DOORS = {
    "simpy": ("gatesim/run.py",),
    "transitions": ("gatesim/plant/fsm.py",),
    "pydantic": ("gatesim/scenario/",),
    "yaml": ("gatesim/scenario/",),
    "rich": ("gatesim/report/", "gatesim/cli/"),
    "click": ("gatesim/cli/",),
    "jinja2": ("gatesim/report/html/pages.py",),
    "vcd": ("gatesim/report/waves.py",),
    "sqlite3": ("gatesim/search/store.py",),
    "hypothesis": ("gatesim/search/laws.py", "gatesim/strategies.py"),
    "pytest": ("gatesim/pytest_plugin.py", "gatesim/pytest_items.py"),
    "duckdb": ("gatesim/report/table_as/parquet.py",),
}
"""Libraries and the only files that import them."""

FORBIDDEN_IN_PLANT = {
    "time",
    "random",
    "os",
    "pathlib",
    "datetime",
    "secrets",
    "uuid",
    "io",
    "socket",
    "threading",
    "subprocess",
}


def _package(path: str) -> list[str]:
    return path.removesuffix("/__init__.py").removesuffix(".py").split("/")


def _imports(path: str, tree: ast.Module, *, typing_too: bool = True) -> Iterator[str]:
    """Every module that a file imports; names taken from a package count as its modules."""
    for node in _walk(tree, typing_too):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def _walk(node: ast.AST, typing_too: bool) -> Iterator[ast.AST]:
    for child in ast.iter_child_nodes(node):
        if not typing_too and isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
            continue
        yield child
        yield from _walk(child, typing_too)


def _upward(path: str, tree: ast.Module) -> list[str]:
    own = _package(path)
    if len(own) < 2 or own[1] not in LAYERS:
        return []
    rank = LAYERS.index(own[1])
    return [
        name
        for name in _imports(path, tree)
        if name.startswith("gatesim.") and (room := name.split(".")[1]) in LAYERS and LAYERS.index(room) > rank
    ]


def test_imports_go_one_way(sources) -> None:
    upward = {path: found for path, tree in sources.items() if (found := _upward(path, tree))}
    assert not upward


def test_an_upward_import_is_seen() -> None:
    assert _upward("gatesim/plant/x.py", ast.parse("from gatesim.run import run_scenario"))
    assert not _upward("gatesim/run.py", ast.parse("from gatesim.plant.world import World"))


def test_every_room_has_its_layer(sources) -> None:
    rooms = {_package(path)[1] for path in sources if len(_package(path)) > 1}
    assert rooms - set(LAYERS) <= {"__main__"}


@pytest.mark.parametrize("library", DOORS)
def test_a_library_has_one_door(sources, library) -> None:
    importers = [
        path for path, tree in sources.items() if any(name.split(".")[0] == library for name in _imports(path, tree))
    ]
    assert importers
    assert [path for path in importers if not path.startswith(DOORS[library])] == []


def test_the_plant_touches_no_clock_files_or_chance(sources) -> None:
    bad = {
        path: found
        for path, tree in sources.items()
        if path.startswith("gatesim/plant/")
        and (found := sorted({name.split(".")[0] for name in _imports(path, tree)} & FORBIDDEN_IN_PLANT))
    }
    assert not bad


def test_the_world_knows_no_part(sources) -> None:
    allowed = (
        "gatesim.plant.part",
        "gatesim.plant.fault.",
        "gatesim.plant.draws",
        "gatesim.events",
        "gatesim.errors",
        "gatesim.units",
    )
    names = [name for name in _imports("world", sources["gatesim/plant/world.py"]) if name.startswith("gatesim.")]
    assert names
    assert [name for name in names if not name.startswith(allowed)] == []


@pytest.mark.parametrize("room", ["gatesim/plant/logic/", "gatesim/requirements/"])
def test_logic_and_requirements_know_nothing_of_faults(sources, room) -> None:
    asking = [
        path
        for path, tree in sources.items()
        if path.startswith(room)
        if any(name.startswith("gatesim.plant.fault") for name in _imports(path, tree))
    ]
    assert not asking


@pytest.mark.parametrize("room", SIBLINGS_APART)
def test_siblings_do_not_import_one_another(sources, room) -> None:
    folder = "gatesim/" + room.replace(".", "/") + "/"
    crossing = [
        (path, name)
        for path, tree in sources.items()
        if path.startswith(folder) and path.removeprefix(folder).removesuffix(".py") not in SIBLINGS_APART[room]
        for name in _imports(path, tree)
        if name.startswith(f"gatesim.{room}.") and name.split(".")[3] not in SIBLINGS_APART[room]
    ]
    assert not crossing


def test_no_cycles(sources) -> None:
    modules = {".".join(_package(path)): path for path in sources}
    edges = {
        module: {
            target
            for name in _imports(path, sources[path], typing_too=False)
            if (target := _module_of(name, modules)) and target != module
        }
        for module, path in modules.items()
    }
    done: set[str] = set()
    while ready := [module for module in edges if module not in done and edges[module] <= done]:
        done.update(ready)
    # A package's lazy door names what lies below it; it is no import at load time.
    assert sorted(set(edges) - done - {"gatesim"}) == []


def _module_of(name: str, modules: dict[str, str]) -> str | None:
    while name and name not in modules:
        name = name.rpartition(".")[0]
    return name if name != "gatesim" else None
