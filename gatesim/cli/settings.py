"""Options that need not be typed: from GATESIM_* variables, gatesim.toml, or [tool.gatesim] of pyproject.toml.

The command line goes before the environment, the environment before the file, and in each what is said for one command
before what is said for all.  Only the nearest folder upwards that has settings counts, up to the root of a repository.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

import click

from gatesim.errors import BadInput, BadUsage, Trouble

FORMAT = "gatesim-settings/1"
PREFIX = "GATESIM_"
OWN, SHARED = "gatesim.toml", "pyproject.toml"
MOST_BYTES = 256 * 1024
ONLY_TYPED = frozenset({"output", "help", "version"})
"""Options that are no settings."""
CODE = ("controller", "receiver", "classifier")
"""Options that name code, whose paths count from the settings' folder."""

Options = Mapping[str, Mapping[str, click.Option]]
"""Of each command, its options by their long names without dashes."""


class Setting(NamedTuple):
    """A value for an option: of one command, or ("") of all that have it."""

    option: str
    command: str
    value: Any
    source: str
    """`gatesim.toml:3` or `GATESIM_SEED`."""
    rank: int
    """The higher goes first."""


class Settings(NamedTuple):
    """All that is set, what goes first before the rest."""

    values: tuple[Setting, ...]
    notes: tuple[str, ...]
    """About variables that mean nothing here."""

    def of(self, command: str, options: Mapping[str, click.Option]) -> dict[str, Setting]:
        """What is in force for a command, by option."""
        found: dict[str, Setting] = {}
        for one in self.values:
            if one.option in options and one.command in ("", command):
                found.setdefault(one.option, one)
        return found


def options_of(command: click.Command) -> dict[str, click.Option]:
    """The options of a command that may be set, by their long names without dashes."""
    return {
        name: parameter
        for parameter in command.params
        if isinstance(parameter, click.Option)
        for name in (option.removeprefix("--") for option in parameter.opts if option.startswith("--"))
        if name not in ONLY_TYPED
    }


def may_be_set(environ: Mapping[str, str], here: Path) -> bool:
    """Whether anything is set at all (cheap)."""
    return any(name.startswith(PREFIX) for name in environ) or _file(here) is not None


def settings(environ: Mapping[str, str], here: Path, known: Callable[[], Options]) -> Settings:
    """Read environment and file.  BadInput or BadUsage with everything that is wrong in them."""
    options = known()
    troubles: list[Trouble] = []
    values = [*_from_environment(environ, options), *_from_file(here, options, troubles)]
    if troubles:
        raise BadInput(tuple(troubles))
    read = {one.source for one in values}
    notes = [f"gatesim: {name} is no setting{_near(name, _variables(options))}" for name in sorted(environ)
             if name.startswith(PREFIX) and name not in read]
    return Settings(tuple(sorted(values, key=lambda one: -one.rank)), tuple(notes))


# --- environment --------------------------------------------------------------------------------------------------


def _variables(options: Options) -> dict[str, tuple[str, str]]:
    """Each variable's command and option."""
    named = {_variable(command, option): (command, option) for command in options for option in options[command]}
    return named | {_variable("", option): ("", option) for command in options for option in options[command]}


def _variable(command: str, option: str) -> str:
    return PREFIX + "_".join(part.upper().replace("-", "_") for part in (command, option) if part)


def _from_environment(environ: Mapping[str, str], options: Options) -> Iterator[Setting]:
    wrong: list[str] = []
    for name, (command, option) in _variables(options).items():
        if name in environ:
            parameter = _parameter(options, command, option)
            value: Any = environ[name].split(",") if parameter.multiple else environ[name]
            why = _refused(parameter, value)
            if why:
                wrong.append(f"{name} = {environ[name]!r}: {why}")
            yield Setting(option, command, value, name, 4 if command else 3)
    if wrong:
        raise BadUsage("; ".join(wrong))


def _parameter(options: Options, command: str, option: str) -> click.Option:
    return options[command][option] if command else next(found[option] for found in options.values() if option in found)


# --- file ---------------------------------------------------------------------------------------------------------


def _file(here: Path) -> Path | None:
    for folder in (here, *here.parents):
        own, shared = folder / OWN, folder / SHARED
        if own.is_file():
            return own
        if shared.is_file() and b"tool.gatesim" in _bytes(shared):
            return shared
        if (folder / ".git").exists():
            return None
    return None


def _bytes(file: Path) -> bytes:
    try:
        with file.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise BadInput((Trouble(_shown(file), 1, 1, f"can't be read: {error.strerror}"),)) from None


def _shown(file: Path) -> str:
    return os.path.relpath(file)


def _from_file(here: Path, options: Options, troubles: list[Trouble]) -> Iterator[Setting]:
    file = _file(here)
    if file is None:
        return
    text = _text(file)
    data: Any = _parsed(text, file)
    heading = "" if file.name == OWN else "tool.gatesim"
    if heading:
        data = data.get("tool", {}).get("gatesim", {})
    if not isinstance(data, dict):
        troubles.append(Trouble(_shown(file), *_place(text, "tool", "gatesim"), "tool.gatesim is no table"))
        return
    reader = _Reader(file, text, heading, options, troubles)
    for name, value in data.items():
        if isinstance(value, dict):
            yield from reader.table(name, value)
        else:
            yield from reader.setting("", name, value)


def _text(file: Path) -> str:
    raw = _bytes(file)
    if len(raw) > MOST_BYTES:
        raise BadInput((Trouble(_shown(file), 1, 1, f"is larger than {MOST_BYTES // 1024} KiB"),))
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        raise BadInput((Trouble(_shown(file), 1, 1, "is not UTF-8 text"),)) from None


def _parsed(text: str, file: Path) -> dict[str, Any]:
    import tomllib

    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said, _, place = str(error).partition(" (at ")
        found = re.findall(r"\d+", place) or [str(text.count("\n") + 1), "1"]
        raise BadInput((Trouble(_shown(file), int(found[0]), int(found[-1]), f"is not TOML: {said}"),)) from None


class _Reader:
    """Settings of a file, each looked at, with its line."""

    def __init__(self, file: Path, text: str, heading: str, options: Options, troubles: list[Trouble]) -> None:
        self.file, self.text, self.heading, self.options, self.troubles = file, text, heading, options, troubles

    def table(self, command: str, values: dict[str, Any]) -> Iterator[Setting]:
        """Those of one command."""
        if command not in self.options:
            self._say(command, "", f"there is no command {command!r}{_near(command, self.options)}")
            return
        for name, value in values.items():
            yield from self.setting(command, name, value)

    def setting(self, command: str, name: str, value: Any) -> Iterator[Setting]:
        """One setting, if it is one."""
        option = name.replace("_", "-")
        legal = self.options[command] if command else {name: 0 for found in self.options.values() for name in found}
        if option not in legal:
            owner = f"`gatesim {command}` has no option --{option}" if command else f"{name} is no setting"
            self._say(command, name, owner + _near(option, legal))
            return
        parameter = _parameter(self.options, command, option)
        why = _wrong_kind(parameter, value) or _refused(parameter, value)
        if why:
            self._say(command, name, f"{name} = {value!r}: {why}")
            return
        source = f"{_shown(self.file)}:{_place(self.text, self.heading, command, name)[0]}"
        yield Setting(option, command, self._from_here(option, value), source, 2 if command else 1)

    def _from_here(self, option: str, value: Any) -> Any:
        """A path to code, as it is from where gatesim runs."""
        if option in CODE and isinstance(value, str) and re.match(r"[^:]+\.py:", value):
            return os.path.join(os.path.relpath(self.file.parent), value)
        return value

    def _say(self, command: str, name: str, message: str) -> None:
        self.troubles.append(Trouble(_shown(self.file), *_place(self.text, self.heading, command, name), message))


def _place(text: str, *path: str) -> tuple[int, int]:
    """Line and column of a key, as its table's heading and its own line say; of the nearest that is found."""
    wanted = [part for whole in path if whole for part in whole.split(".")]
    heading: list[str] = []
    best = (1, 1, 0)
    for number, line in enumerate(text.splitlines(), 1):
        table = re.match(r"\s*\[([^\[\]]+)\]", line)
        key = re.match(r"\s*([A-Za-z0-9_.\-\" ]+?)\s*=", line)
        if table:
            heading = _keys(table[1])
        here = heading if table else [*heading, *_keys(key[1])] if key else []
        if here and here == wanted[: len(here)] and len(here) > best[2]:
            best = (number, len(line) - len(line.lstrip()) + 1, len(here))
    return best[:2]


def _keys(text: str) -> list[str]:
    return [part.strip().strip('"') for part in text.split(".")]


# --- values -------------------------------------------------------------------------------------------------------


def _wrong_kind(parameter: click.Option, value: Any) -> str:
    """Why a TOML value is of the wrong kind; "" where it is right."""
    if parameter.multiple:
        return "" if isinstance(value, list) else "a list is due"
    if parameter.is_flag:
        return "" if isinstance(value, bool) else "true or false is due"
    number = isinstance(parameter.type, (click.IntRange, click.FloatRange, click.types.IntParamType))
    if number:
        return "" if isinstance(value, (int, float)) and not isinstance(value, bool) else "a number is due"
    return "" if isinstance(value, str) else "a text in quotes is due"


def _refused(parameter: click.Option, value: Any) -> str:
    """Why an option does not take a value; "" where it does."""
    try:
        for one in value if parameter.multiple else [value]:
            parameter.type.convert(one, parameter, None)
    except click.BadParameter as error:
        return error.message.rstrip(".")
    return ""


def _near(name: str, legal: Any) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name, list(legal), 1)
    return f"; did you mean {near[0]!r}?" if near else ""
