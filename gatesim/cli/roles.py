"""Loading logic under test: `module:Name`, `file.py:Name`, or `run:COMMAND ARGS` for a program of its own.

What is named may be an object with `start` and `step`, or a class or function that makes one when called without
arguments.  Loading runs the file's code: it is the user's own program.
"""

from __future__ import annotations

import importlib
import importlib.util
import os
import sys
from collections.abc import Callable
from copy import deepcopy
from difflib import get_close_matches
from types import ModuleType
from typing import Any

from gatesim.bench.inside import UnderTest
from gatesim.cli.wanted import Wanted, duration
from gatesim.errors import BadUsage, LogicError
from gatesim.plant.logic.contract import Roles


def load_roles(wanted: Wanted, say: Callable[[str], None] | None = None) -> Roles:
    """The reference logic, with what is wanted put in its place and on its scan.

    `say` is told what a user should know of how the logic is run.
    """
    from gatesim.run import default_roles

    roles = default_roles()
    for role in ("classifier", "receiver", "controller"):
        spec = getattr(wanted, role)
        if spec is not None and spec.startswith("run:"):
            roles = roles._replace(**{role: _program(role, spec, wanted, say)})
        elif spec is not None:
            roles = roles._replace(**{role: load_role(role, spec, say)})
    return _on_scan(roles, wanted)


def _program(role: str, spec: str, wanted: Wanted, say: Callable[[str], None] | None) -> Any:
    """A role that another program plays."""
    from gatesim.bench.child import command_of
    from gatesim.bench.remote import Remote

    within = duration("answer-within", wanted.answer_within, 1_000) / 1_000_000
    scanned = wanted.scan is not None and wanted.scan_role == role
    return Remote(role, command_of(role, spec, within), say, scanned=scanned)


def _on_scan(roles: Roles, wanted: Wanted) -> Roles:
    if wanted.scan is None:
        for option in ("input_filter", "output_delay"):
            if getattr(wanted, option) is not None:
                raise BadUsage(f"--{option.replace('_', '-')} says more about --scan, which is not given")
        return roles
    from gatesim.bench.scan import FixedScan, ScanSettings

    scan = duration("scan", wanted.scan, 10)
    given = [duration(option, text) if text is not None else 0
             for option, text in (("input-filter", wanted.input_filter), ("output-delay", wanted.output_delay))]
    wrapped = FixedScan(wanted.scan_role, getattr(roles, wanted.scan_role), ScanSettings(scan, *given))
    return roles._replace(**{wanted.scan_role: wrapped})


def load_role(role: str, spec: str, say: Callable[[str], None] | None = None) -> Any:
    """One role.  BadUsage if it can't be found, LogicError if its own code dies while it is loaded."""
    place, colon, name = spec.rpartition(":")
    if not colon or not place or not name:
        raise BadUsage(f"--{role} {spec}: expected module:Name, file.py:Name or 'run:COMMAND ARGS'")
    module = _module(role, spec, place)
    if not hasattr(module, name):
        near = get_close_matches(name, [known for known in vars(module) if not known.startswith("_")], 1)
        raise BadUsage(f"--{role} {spec}: {place} has no {name!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
    found = getattr(module, name)
    return adopt(role, spec, found, say)


def adopt(role: str, spec: str, found: Any, say: Callable[[str], None] | None = None) -> Any:
    """An object that plays a role, or a class or function that makes one, as logic under test called `spec`."""
    logic = _made(role, spec, found) if isinstance(found, type) or not _fits(found) else found
    if not _fits(logic):
        raise BadUsage(
            f"--{role} {spec}: a {role} has start(settings, kept) and step(state, seen, now); "
            f"{spec.rpartition(':')[2]!r} gives a {type(logic).__name__} without them"
        )
    return UnderTest(role, spec, logic, _maker(role, spec, found, logic), say)


def _maker(role: str, spec: str, found: Any, logic: Any) -> Callable[[], Any] | None:
    """What makes another one, just as new; None where there is only the one."""
    if found is not logic:
        return lambda: _made(role, spec, found)
    try:
        pristine = deepcopy(logic)
    except Exception:  # noqa: BLE001 - whatever a user's object does when it is copied
        return None
    return lambda: deepcopy(pristine)


def _fits(logic: Any) -> bool:
    return callable(getattr(logic, "start", None)) and callable(getattr(logic, "step", None))


def _made(role: str, spec: str, maker: Any) -> Any:
    if not callable(maker):
        return maker
    try:
        return maker()
    except Exception as error:
        raise LogicError(f"--{role} {spec}: making it failed: {type(error).__name__}: {error}") from error


def _module(role: str, spec: str, place: str) -> ModuleType:
    try:
        return _from_file(place) if place.endswith(".py") else importlib.import_module(place)
    except FileNotFoundError:
        raise BadUsage(f"--{role} {spec}: there is no file {place}") from None
    except ModuleNotFoundError as error:
        if error.name is None or not (place == error.name or place.startswith(error.name + ".")):
            raise LogicError(f"--{role} {spec}: loading it failed: {error}") from error
        raise BadUsage(f"--{role} {spec}: there is no module {error.name!r}; for a file write file.py:Name") from None
    except Exception as error:
        raise LogicError(f"--{role} {spec}: loading it failed: {type(error).__name__}: {error}") from error


def _from_file(path: str) -> ModuleType:
    if not os.path.isfile(path):
        raise FileNotFoundError(path)
    name = "gatesim_user_" + os.path.basename(path)[:-3]
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise FileNotFoundError(path)
    module = importlib.util.module_from_spec(spec)
    # Dataclasses and pickles look their module up by name.
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
