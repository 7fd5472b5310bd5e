"""What shells are given, and what they then offer."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import click
import pytest
from click.shell_completion import BashComplete, ShellComplete

from gatesim.cli.completing import PLACES
from gatesim.cli.main import PROGRAM

SHELLS = ("bash", "zsh", "fish")


def offered(*words: str) -> list[tuple[str, str]]:
    """What is offered for the last word."""
    complete = ShellComplete(PROGRAM, {}, "gatesim", "_GATESIM_COMPLETE")
    return [(item.type, item.value) for item in complete.get_completions(list(words[:-1]), words[-1])]


@pytest.mark.parametrize("shell", SHELLS)
def test_a_script_for_each_shell(gatesim, shell) -> None:
    said = gatesim("completion", shell)
    assert said.code == 0
    assert f"_GATESIM_COMPLETE={shell}_complete" in said.out
    assert said.err == ""


def test_bash_takes_the_script(gatesim, tmp_path: Path) -> None:
    bash = shutil.which("bash")
    assert bash is not None
    file = tmp_path / "script"
    file.write_text(gatesim("completion", "bash").out)
    said = subprocess.run([bash, "-c", f". {file}; complete -p gatesim"], capture_output=True, text=True, check=True)
    assert "_gatesim_completion gatesim" in said.stdout
    assert BashComplete.name == "bash"


def test_an_unknown_shell_is_refused(gatesim) -> None:
    assert gatesim("completion", "basch").code == 2


def test_commands_options_and_choices_are_offered() -> None:
    assert ("plain", "check") in offered("ch")
    assert ("plain", "--matrix") in offered("check", "--ma")
    assert offered("list", "f") == [("plain", "faults")]


def test_ids_are_offered() -> None:
    assert offered("explain", "reversal-b") == [("plain", "reversal-begun")]
    assert ("plain", "loop-open") in offered("explain", "loop-")
    assert any(value.startswith("controller-") for _, value in offered("explain", "controller-"))


def test_files_are_left_to_the_shell() -> None:
    assert offered("check", "scen") == [("file", "scen")]
    assert offered("init", "n") == [("dir", "n")]


def test_help_says_what_each_command_and_each_option_does() -> None:
    context = click.Context(PROGRAM)
    for name in PROGRAM.list_commands(context):
        command = PROGRAM.get_command(context, name)
        assert command.help, name
        assert command.get_short_help_str(), name
        options = [one for one in command.params if isinstance(one, click.Option)]
        assert options
        assert [option.name for option in options if not option.help] == [], name


def test_every_argument_that_names_a_file_is_known_as_one() -> None:
    """By its name in `--help`: an argument of a new name would complete to nothing."""
    context = click.Context(PROGRAM)
    called = {
        argument.metavar
        for name in PROGRAM.list_commands(context)
        for argument in PROGRAM.get_command(context, name).params
        if isinstance(argument, click.Argument) and not isinstance(argument.type, click.Choice)
    }
    assert called - {*PLACES, "DIR", "ID", None} == set()
