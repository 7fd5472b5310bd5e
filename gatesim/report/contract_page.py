"""The tables of docs/contract.md: every value that the three roles exchange, from the contract itself."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from inspect import getdoc
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from gatesim.bench.codec import codec
from gatesim.plant.logic import contract

BEGINS = "<!-- generated from gatesim/plant/logic/contract.py -->"
ENDS = "<!-- end of what is generated -->"

ROLES: dict[str, tuple[Any, ...]] = {
    "Controller": (contract.ControllerSettings, contract.GuardedEdge, contract.ControllerSeen, contract.Report,
                   contract.ControllerDo),
    "Receiver": (contract.ReceiverSettings, contract.Paired, contract.ReceiverSeen, contract.Frame,
                 contract.ReceiverDo),
    "Classifier": (contract.ClassifierSettings, contract.EdgeBand, contract.ClassifierSeen, contract.ClassifierDo),
}


def python_type(kind: Any) -> str:
    """A type as one writes it."""
    if get_origin(kind) in (Union, UnionType):
        return " | ".join(python_type(arg) for arg in get_args(kind))
    if get_origin(kind) is not None:
        return f"{get_origin(kind).__name__}[{', '.join(python_type(arg) for arg in get_args(kind))}]"
    if kind is ...:
        return "..."
    return "None" if kind is type(None) else str(kind.__name__)


def _enums(kind: Any) -> Iterator[type[Enum]]:
    if isinstance(kind, type) and issubclass(kind, Enum):
        yield kind
    for arg in get_args(kind):
        yield from _enums(arg)


def _table(kind: Any) -> Iterator[str]:
    yield f"**{kind.__name__}.** {' '.join((getdoc(kind) or '').split())}"
    yield ""
    yield "| member | in Python | in JSON |"
    yield "|---|---|---|"
    for name, hint in get_type_hints(kind).items():
        python = python_type(hint).replace("|", "\\|")
        default = kind._field_defaults.get(name)
        more = f" = {default!r}" if name in kind._field_defaults else ""
        yield f"| `{name}` | `{python}{more}` | {codec(hint).words} |"
    yield ""


def contract_tables() -> str:
    """The generated part, in Markdown."""
    lines: list[str] = []
    enums: dict[str, type[Enum]] = {}
    for role, kinds in ROLES.items():
        lines += [f"### {role}", ""]
        for kind in kinds:
            lines += _table(kind)
            for hint in get_type_hints(kind).values():
                enums |= {enum.__name__: enum for enum in _enums(hint)}
    lines += ["### Words", "", "| type | its values, in Python and in JSON |", "|---|---|"]
    for name, enum in sorted(enums.items()):
        lines.append(f"| {name} | " + ", ".join(f'`{one.name}` "{one.value}"' for one in enum) + " |")
    return "\n".join(lines) + "\n"


def with_tables(page: str) -> str:
    """The page with its tables written anew."""
    before, _, rest = page.partition(BEGINS)
    _, _, after = rest.partition(ENDS)
    return f"{before}{BEGINS}\n\n{contract_tables()}\n{ENDS}{after}"
