"""What stands beside the verdicts of a check, as cases: an earlier check, and golden traces."""

from __future__ import annotations

from collections.abc import Sequence

from gatesim.report.against import told
from gatesim.report.cases import NOT_JUDGED, Case, Finding, Note, Place, Rule, Suite, Weight, command_line, facts_of
from gatesim.report.golden_text import Beside, State
from gatesim.search.margins import Compared
from gatesim.search.store import Head

MARGIN = Rule("margin-kept", "What passes has not lost more than the stated share of its margin.", "ours")
GOLDEN = Rule("golden-trace", "A run gives the events that were accepted.", "ours")


def against_suite(head: Head, found: Compared, percent: float, warn: bool) -> tuple[Suite, tuple[Note, ...]]:
    """A case for each loss, or one that nothing is worse; where losses are to be said only (`warn`), they are notes."""
    name, facts = f"against {head.name}", facts_of([("margin_loss_percent", percent), ("margins", found.margins),
                                                    ("scenarios", found.scenarios), ("new scenarios", found.new)])
    said = [(loss.file, f"{loss.file}: {told(loss)}") for loss in found.losses]
    if not found.scenarios and not found.losses:
        none = f"{head.name!r} keeps none of these scenarios"
        nothing = Finding(Weight.ERROR, NOT_JUDGED, none, Place("."), (), None)
        return Suite(name, "", facts, (Case("nothing is worse", (nothing,)),)), ()
    if warn or not said:
        notes = tuple(Note(f"margin: {text}", (), Place(file)) for file, text in said)
        return Suite(name, "", (*facts, *facts_of(("worse", text) for _, text in said)),
                     () if said else (Case("nothing is worse"),)), notes
    cases = tuple(
        Case(f"{loss.file}: {loss.requirement or 'the scenario'}", (Finding(
            Weight.FAILURE, MARGIN, text, Place(loss.file),
            (f"Against {head.name}; a pass may lose {percent:g} % of its margin.",
             *(["Its site has changed."] if loss.site_changed else ()),
             f"Run it again: {command_line('gatesim', 'run', loss.file)}"), None),))
        for loss, (_, text) in zip(found.losses, said, strict=True)
    )
    return Suite(name, "", facts, cases), ()


def golden_suite(compared: Sequence[Beside]) -> Suite:
    """A case for each golden trace; scenarios that have none are told in the facts."""
    none = [one.scenario for one in compared if one.state is State.NONE]
    cases = [Case(one.scenario, _golden(one)) for one in compared if one.state is not State.NONE]
    if none and not cases:
        nothing = Finding(Weight.ERROR, NOT_JUDGED, "there is no golden trace at all", Place(none[0]),
                          ("--accept writes one for each scenario.",), None)
        cases = [Case("golden traces", (nothing,))]
    return Suite("golden traces", "", facts_of([("has none", ", ".join(none))]), tuple(cases))


def _golden(one: Beside) -> tuple[Finding, ...]:
    if one.state is State.AGREES:
        return ()
    weight, said = ((Weight.ERROR, f"the golden trace cannot be read: {one.why}") if one.state is State.BROKEN
                    else (Weight.FAILURE, "the run differs from its golden trace"))
    again = command_line("gatesim", "check", one.scenario, "--golden")
    return (Finding(weight, GOLDEN, f"{one.scenario}: {said}", Place(one.golden), (f"Run it again: {again}",), None),)
