"""Options that several commands share, each said once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from gatesim.cli.talk import Talk
from gatesim.shown import System, shown_in


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


def result(command: F) -> F:
    """--format, --output, -q and -v."""
    command = loudness(command)
    command = click.option(
        "-o", "--output", metavar="FILE", default=None, help="Write the result here, whole or not at all."
    )(command)
    return click.option(
        "--format",
        "style",
        type=click.Choice(["text", "json"]),
        default="text",
        show_default=True,
        help="For people or for programs.",
    )(command)


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


def roles(command: F) -> F:
    """--controller, --receiver and --classifier: the logic under test."""
    for role in ("classifier", "receiver", "controller"):
        command = click.option(
            f"--{role}", metavar="SPEC", default=None, help=f"Your own {role}: module:Name or file.py:Name."
        )(command)
    return command
