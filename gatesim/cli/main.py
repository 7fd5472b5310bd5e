"""The program's front: a group that loads a command when it is asked for, and the mapping of failures to exit codes."""

from __future__ import annotations

import os
import pkgutil
import signal
import sys
import traceback
from collections.abc import Sequence
from difflib import get_close_matches
from importlib import import_module
from pathlib import Path

import click

from gatesim import __version__
from gatesim.cli import commands, completing, settings
from gatesim.cli.codes import Exit, code_of
from gatesim.cli.talk import Talk
from gatesim.errors import BadInput, GatesimError

EPILOG = """\b
Exit codes:
    0  everything as expected
    1  a verdict differs from what was expected
    2  bad input or usage
    3  gatesim's own fault, or the logic under test died
    5  nothing found to work on
  130  interrupted

\b
Options may stand in gatesim.toml, in [tool.gatesim] of pyproject.toml, or in
variables such as GATESIM_SEED; `gatesim settings` shows what is in force.

\b
gatesim tells what a model does. It does not say that a gate is safe, and it
does not replace tests on the gate, the local codes, or licensed people.
"""


class Commands(click.Group):
    """Commands are the files of `gatesim/cli/commands`; a file is imported when its command is needed."""

    def list_commands(self, context: click.Context) -> list[str]:
        return sorted(found.name for found in pkgutil.iter_modules(commands.__path__))

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in self.list_commands(context):
            return None
        command = import_module(f"{commands.__name__}.{name}").COMMAND
        assert isinstance(command, click.Command)
        for parameter in command.params:
            if isinstance(parameter, click.Argument) and parameter.type is click.STRING:
                parameter.type = completing.of_argument(parameter)
        return command

    def resolve_command(
        self, context: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        known = self.list_commands(context)
        if args and not args[0].startswith("-") and args[0] not in known:
            near = get_close_matches(args[0], known, 1)
            hint = f"did you mean {near[0]!r}?" if near else f"there are: {', '.join(known)}"
            raise click.UsageError(f"there is no command {args[0]!r}; {hint}", context)
        return super().resolve_command(context, args)


@click.group(
    cls=Commands,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, message="gatesim %(version)s")
@click.pass_context
def PROGRAM(context: click.Context) -> None:  # noqa: N802 - a value, made by the decorators
    """Tries the faults of an automated gate's protective devices, and judges each reaction against a time limit."""
    here = Path.cwd()
    if context.invoked_subcommand is None or not settings.may_be_set(os.environ, here):
        return
    found = settings.settings(os.environ, here, lambda: all_options(context))
    for note in found.notes:
        context.ensure_object(Talk).complain(note)
    name = context.invoked_subcommand
    command = PROGRAM.get_command(context, name)
    assert command is not None
    options = settings.options_of(command)
    given = found.of(name, options)
    context.default_map = {name: {str(options[option].name): one.value for option, one in given.items()}}


def all_options(context: click.Context) -> dict[str, dict[str, click.Option]]:
    """The options of every command that may be set."""
    commands = {name: PROGRAM.get_command(context, name) for name in PROGRAM.list_commands(context)}
    return {name: settings.options_of(command) for name, command in commands.items() if command is not None}


def serve(args: Sequence[str] | None = None) -> Exit:
    """Run one command line; never raises for what a user can do."""
    talk = Talk()
    try:
        code = PROGRAM.main(args=args, prog_name="gatesim", standalone_mode=False, obj=talk)
        return Exit(code) if isinstance(code, int) else Exit.AS_EXPECTED
    except click.ClickException as error:
        error.show()
        return Exit.BAD_INPUT
    except (click.Abort, KeyboardInterrupt):
        talk.complain("interrupted")
        return Exit.INTERRUPTED
    except GatesimError as error:
        _explain(talk, error)
        return code_of(error)
    except Exception as error:  # noqa: BLE001 - the last place where a failure of ours can be told as such
        _explain(talk, error)
        return Exit.OUR_FAULT
    finally:
        programs = sys.modules.get("gatesim.bench.child")
        if programs is not None:
            programs.end_all()


def _explain(talk: Talk, error: Exception) -> None:
    ours = not isinstance(error, GatesimError)
    if talk.loudness > 0 and (ours or error.__cause__ is not None):
        talk.complain("".join(traceback.format_exception(error)).rstrip())
    if not ours:
        talk.complain(str(error) if isinstance(error, BadInput) else f"gatesim: {error}")
        return
    talk.complain(
        f"gatesim: {type(error).__name__}: {error}\n"
        f"This is gatesim's own fault, not yours. Please report it with the files, the command line and "
        f"what `gatesim --version` says ({__version__}); the same command with -v shows where it happened."
    )


def _ended(number: int, _: object) -> None:
    sys.exit(128 + number)


def main() -> None:
    """The entry point."""
    # Ended from outside, it still ends the programs that it has started.
    signal.signal(signal.SIGTERM, _ended)
    sys.exit(serve())
