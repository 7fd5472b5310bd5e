"""Lists and explanations of requirements, fault kinds, controllers and defective doubles."""

from __future__ import annotations

from collections.abc import Sequence
from inspect import cleandoc, getsource
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from gatesim.plant.faults.catalogue import Kind
from gatesim.report.figures import quantity
from gatesim.report.judged import RESIDUAL
from gatesim.requirements.requirement import Limit, Requirement, Source

if TYPE_CHECKING:
    from rich.console import Console

    from gatesim.search.doubles.base import Double


class Entry(NamedTuple):
    """One line of a list: id, sentence, and what else a program may want."""

    id: str
    sentence: str
    facts: dict[str, Any]


def fault_entry(kind: Kind) -> Entry:
    """A fault kind."""
    facts = {
        "found": kind.found.value,
        "residual_risk": kind.found in RESIDUAL,
        "shows": kind.shows,
        "must": kind.must,
        "missed_by": kind.missed_by,
    }
    return Entry(kind.id, kind.title, facts)


def double_entry(double: Double) -> Entry:
    """A defective double."""
    facts = {
        "role": double.role.value,
        "row": double.row,
        "differs": double.differs,
        "shown_by": double.shown_by or None,
        "equivalent": double.equivalent or None,
    }
    return Entry(double.name, double.bug, facts)


def requirement_entry(requirement: Requirement) -> Entry:
    """A requirement with its limits and source."""
    limits = {
        profile.value: None
        if limit is None
        else {"value": limit.value, "unit": requirement.measure.value, "source": source(limit.source)}
        for profile, limit in requirement.limits().items()
    }
    facts = {
        "run": requirement.run.value,
        "quantity": requirement.quantity or None,
        "failures": list(requirement.failures),
        "source": source(requirement.source),
        "limits": limits,
    }
    return Entry(requirement.id, requirement.sentence, facts)


def source(given: Source) -> str:
    """Document, clause and how far it was read, in one phrase."""
    where = ", ".join(part for part in (given.document, given.clause) if part and part != given.standing.value)
    analogue = ", an analogue: the clause is about another thing" if given.analogue else ""
    return f"{where} ({given.standing.value}{analogue})" if where else given.standing.value + analogue


def draw_list(console: Console, entries: Sequence[Entry], note: str = "") -> None:
    """Print a list."""
    wide = max((len(entry.id) for entry in entries), default=0)
    for entry in entries:
        more = f" [found {entry.facts['found']}]" if "found" in entry.facts else ""
        console.print(f"{entry.id:<{wide}}  {entry.sentence}{more}", markup=False, soft_wrap=True)
    if note:
        console.print()
        console.print(note, markup=False)


def draw_requirement(console: Console, requirement: Requirement) -> None:
    """Explain a requirement."""
    console.print(f"{requirement.id} (requirement)", style="bold", markup=False)
    console.print(requirement.sentence, markup=False)
    console.print(f"judges: {requirement.run.value}", markup=False)
    if requirement.quantity:
        console.print(f"measures: {requirement.quantity}", markup=False)
    for profile, limit in requirement.limits().items():
        console.print(f"limit in profile {profile.value!r}: {_limit(limit, requirement)}", markup=False)
    console.print(f"source: {source(requirement.source)}", markup=False)
    console.print(f"can fail as: {', '.join(requirement.failures) or 'fail'}", markup=False)
    _draw_theory(console, type(requirement))


def draw_fault(console: Console, kind: Kind) -> None:
    """Explain a fault kind."""
    console.print(f"{kind.id} (fault kind)", style="bold", markup=False)
    console.print(kind.title, markup=False)
    console.print(f"can be found: {kind.found.value}", markup=False)
    if kind.found in RESIDUAL:
        console.print("RESIDUAL RISK: nothing finds it in service.", style="bold yellow")
    console.print(f"shows as: {kind.shows}", markup=False)
    console.print(f"correct logic must: {kind.must}", markup=False)
    console.print(f"missed by: {kind.missed_by}", markup=False)
    _draw_theory(console, type(kind))


def draw_double(console: Console, double: Double) -> None:
    """Explain a defective double: its bug, and the one place at which it is other than the reference."""
    console.print(f"{double.name} (defective {double.role.value})", style="bold", markup=False)
    console.print(double.bug, markup=False)
    console.print(f"row of the fault catalogue: {double.row}", markup=False)
    console.print(f"differs from the reference: {double.differs}", markup=False)
    if double.shown_by:
        console.print(f"exposed by: scenarios/{double.shown_by}.scenario.yaml", markup=False)
    else:
        console.print(f"cannot be told from the reference: {double.equivalent}", markup=False)
    console.print()
    console.print("What it does otherwise:", markup=False)
    console.print(own_lines(double), markup=False, soft_wrap=True)


def own_lines(double: Double) -> str:
    """The source of the double's own class: whatever does not stand there is the reference's."""
    return getsource(cast("type", double.make)).rstrip()


def _limit(limit: Limit | None, requirement: Requirement) -> str:
    if limit is None:
        return "none; it holds or not"
    return f"{quantity(limit.value, requirement.measure)}, {source(limit.source)}"


def _draw_theory(console: Console, kind: type) -> None:
    if kind.__doc__:
        console.print()
        for paragraph in cleandoc(kind.__doc__).split("\n\n"):
            console.print(" ".join(paragraph.split()), markup=False)
