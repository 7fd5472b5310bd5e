"""Options that several commands share, each said once."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from gatesim.cli.settings import CODE
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted, WantedBeside
from gatesim.shown import System, shown_in

HTML = "html"
"""The format of a report that is one page for a browser."""


class _Whole(click.IntRange):
    name = "whole number"


_SEED = _Whole(min=0, max=2**64 - 1)

F = TypeVar("F", bound=Callable[..., Any])

pass_talk = click.make_pass_decorator(Talk, ensure=True)


def _louder(context: click.Context, _: click.Parameter, given: bool) -> None:
    if given:
        context.ensure_object(Talk).loudness = 1


def _quieter(context: click.Context, _: click.Parameter, given: bool) -> None:
    if given:
        context.ensure_object(Talk).loudness = -1


def loudness(command: F) -> F:
    """-q and -v."""
    command = click.option(
        "-v",
        "--verbose",
        is_flag=True,
        expose_value=False,
        callback=_louder,
        help="Say more (every frame, tracebacks).",
    )(command)
    return click.option(
        "-q", "--quiet", is_flag=True, expose_value=False, callback=_quieter, help="Say nothing beside the result."
    )(command)


def result_as(*more: str) -> Callable[[F], F]:
    """--format, --output, -q and -v; `more`: the formats beside text and JSON."""

    def with_options(command: F) -> F:
        command = loudness(command)
        command = click.option(
            "-o", "--output", metavar="FILE", default=None, help="Write the result here, whole or not at all."
        )(command)
        return click.option(
            "--format",
            "style",
            type=click.Choice(["text", "json", *more]),
            default="text",
            show_default=True,
            help="For people, for programs, for a CI, or as a page." if more else "For people or for programs.",
        )(command)

    return with_options


result = result_as()


def can_write_page(style: str, output: str | None) -> None:
    """BadUsage, before any work, where a page is asked for and can't be made or would go to a terminal."""
    if style != HTML:
        return
    from gatesim.errors import BadUsage
    from gatesim.report.html.pages import can_write

    can_write()
    if output in (None, "-") and sys.stdout.isatty():
        raise BadUsage("--format html is a page for a browser; give --output FILE, or redirect it")


def _units(context: click.Context, _: click.Parameter, given: str) -> None:
    system = System(given)
    context.ensure_object(Talk).system = system
    context.with_resource(shown_in(system))


def units(command: F) -> F:
    """--units."""
    return click.option(
        "--units",
        type=click.Choice([system.value for system in System]),
        default=System.SI.value,
        show_default=True,
        expose_value=False,
        callback=_units,
        help="Of the text: mm, m/s, N, or in, ft/s, lbf.",
    )(command)


def seed(command: F) -> F:
    """--seed."""
    return click.option(
        "--seed",
        type=_SEED,
        default=None,
        help="Use this seed instead of the scenario's own.",
    )(command)


def _say_code_from_settings(logic: Wanted) -> None:
    """Code that the command line does not name is never run unsaid."""
    context = click.get_current_context()
    for name in CODE:
        if getattr(logic, name) and context.get_parameter_source(name) is ParameterSource.DEFAULT_MAP:
            context.ensure_object(Talk).note(f"{name} from the settings: {getattr(logic, name)}")


def roles(command: F) -> F:
    """The logic under test and how it is called, gathered into one argument `logic`."""

    @wraps(command)
    def gathered(*args: Any, **given: Any) -> Any:
        logic = Wanted(**{name: given.pop(name) for name in Wanted._fields})
        _say_code_from_settings(logic)
        return command(*args, logic=logic, **given)

    made: Any = click.option("--scan-role", type=click.Choice(["controller", "receiver"]), default="controller",
                             show_default=True, help="Which role is on the fixed scan.")(gathered)
    for option, metavar, default, says in reversed(_LOGIC):
        made = click.option(f"--{option}", metavar=metavar, default=default, help=says)(made)
    result: F = made
    return result


def store(command: F) -> F:
    """--store."""
    return click.option("--store", metavar="FILE", default=None,
                        help="The store of --save.  [default: .gatesim/store.sqlite beside the nearest gatesim.toml "
                             "or pyproject.toml, else here]")(command)


def margin_loss(command: F) -> F:
    """--margin-loss."""
    return click.option("--margin-loss", "percent", metavar="PERCENT", type=click.FloatRange(min=0, max=100),
                        default=20.0, show_default=True,
                        help="A margin that lost more than this many per cent counts as worse.")(command)


def beside(command: F) -> F:
    """What stands beside the verdicts of a check, gathered into one argument `beside`."""

    @wraps(command)
    def gathered(*args: Any, **given: Any) -> Any:
        wanted = WantedBeside(**{name: given.pop(name) for name in WantedBeside._fields})
        return command(*args, beside=wanted, **given)

    made: Any = click.option("--accept", is_flag=True,
                             help="Write each scenario's golden trace beside it, where it is not there as it is."
                             )(gathered)
    made = click.option("--golden", is_flag=True,
                        help="Compare each run with the golden trace beside its scenario.")(made)
    made = click.option("--on-loss", type=click.Choice(["fail", "warn"]), default="fail", show_default=True,
                        help="With --against: whether what is worse gives exit code 1, or is said only.")(made)
    made = margin_loss(store(made))
    made = click.option("--against", metavar="NAME", default=None,
                        help="Compare with the check kept under this name, verdict by verdict.")(made)
    result: F = click.option("--save", metavar="NAME", default=None,
                             help="Keep the check under this name, scenario by scenario as they are judged.")(made)
    return result


_SPEC = "module:Name, file.py:Name or 'run:COMMAND ARGS'."
_LOGIC = (
    ("controller", "SPEC", None, f"Your own controller: {_SPEC}"),
    ("receiver", "SPEC", None, f"Your own receiver: {_SPEC}"),
    ("classifier", "SPEC", None, f"Your own classifier: {_SPEC}"),
    ("answer-within", "DURATION", "5 s", "How long a program may take for one answer.  [default: 5 s]"),
    ("scan", "DURATION", None, "Call the controller on a fixed scan, as a PLC works."),
    ("input-filter", "DURATION", None, "With --scan: how long an input must keep its value.  [default: 0 s]"),
    ("output-delay", "DURATION", None, "With --scan: from a scan to its outputs.  [default: 0 s]"),
)
