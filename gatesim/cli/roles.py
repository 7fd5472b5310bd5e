"""Loading logic under test: `module:Name` or `file.py:Name`.

What is named may be an object with `start` and `step`, or a class or function that makes one when called without
arguments.  Loading runs the file's code: it is the user's own program.
"""

from __future__ import annotations

import importlib
import importlib.util
import os
import sys
from difflib import get_close_matches
from types import ModuleType
from typing import Any

from gatesim.errors import BadUsage, LogicError
from gatesim.plant.logic.contract import ClassifierDo, ControllerDo, ReceiverDo, Roles


def load_roles(controller: str | None, receiver: str | None, classifier: str | None) -> Roles:
    """The reference logic, with the given roles put in its place."""
    from gatesim.run import default_roles

    roles = default_roles()
    if classifier is not None:
        roles = roles._replace(classifier=load_role("classifier", classifier))
    if receiver is not None:
        roles = roles._replace(receiver=load_role("receiver", receiver))
    if controller is not None:
        roles = roles._replace(controller=load_role("controller", controller))
    return roles


def load_role(role: str, spec: str) -> Any:
    """One role.  BadUsage if it can't be found, LogicError if its own code dies while it is loaded."""
    place, colon, name = spec.rpartition(":")
    if not colon or not place or not name:
        raise BadUsage(f"--{role} {spec}: expected module:Name or file.py:Name")
    module = _module(role, spec, place)
    if not hasattr(module, name):
        near = get_close_matches(name, [known for known in vars(module) if not known.startswith("_")], 1)
        raise BadUsage(f"--{role} {spec}: {place} has no {name!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
    found = getattr(module, name)
    logic = _made(role, spec, found) if isinstance(found, type) or not _fits(found) else found
    if not _fits(logic):
        raise BadUsage(
            f"--{role} {spec}: a {role} has start(settings, kept) and step(state, seen, now); "
            f"{name!r} gives a {type(logic).__name__} without them"
        )
    return UnderTest(role, spec, logic)


class UnderTest:
    """Logic from outside: whatever it raises, or answers outside its contract, is its own LogicError."""

    def __init__(self, role: str, spec: str, logic: Any) -> None:
        self.said, self.logic, self.does = f"{role} {spec}", logic, _DOES[role]

    def start(self, settings: Any, kept: bytes | None) -> tuple[Any, Any]:
        """The logic's own `start`."""
        return self._answer("start", self.logic.start, settings, kept)

    def step(self, state: Any, seen: Any, now: float) -> tuple[Any, Any]:
        """The logic's own `step`."""
        return self._answer("step", self.logic.step, state, seen, now)

    def _answer(self, call: str, method: Any, *args: Any) -> tuple[Any, Any]:
        when = f" at {args[2]} us" if call == "step" else ""
        try:
            answer = method(*args)
        except Exception as error:
            raise LogicError(f"{self.said} died in {call}{when}: {type(error).__name__}: {error}") from error
        if not isinstance(answer, tuple) or len(answer) != 2 or not isinstance(answer[1], self.does):
            raise LogicError(
                f"{self.said} must answer {call} with (state, {self.does.__name__}){when}; it gave {_shown(answer)}"
            )
        return answer


_DOES: dict[str, type] = {"classifier": ClassifierDo, "receiver": ReceiverDo, "controller": ControllerDo}


def _shown(answer: Any) -> str:
    if isinstance(answer, tuple):
        return f"({', '.join(type(part).__name__ for part in answer)})"
    return type(answer).__name__


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
