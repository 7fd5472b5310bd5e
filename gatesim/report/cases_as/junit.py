"""JUnit XML, as far as the schema goes that most readers share (Jenkins's `junit-10.xsd`; tests/data has a copy).

It has `properties` for a suite only; what a case came to stands in its `system-out`.  There is no skipped case: what
was not judged although it was to be is a failure or an error, what need not be judged is told in the facts.  No time
and no date: the same input gives the same bytes.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable

from gatesim.report.cases import Case, Cases, Finding, Suite, Weight
from gatesim.shown import on_one_line, visible


def render(cases: Cases) -> str:
    """The whole document."""
    root = ET.Element("testsuites", {"name": f"gatesim {cases.command}"} | _counts(case for _, case in cases.cases()))
    for suite in cases.suites:
        root.append(_suite(suite, cases.version))
    if cases.notes:
        notes = ET.SubElement(root, "testsuite", {"name": "notes"} | _counts(()))
        _properties(notes, ((note.title, "; ".join(note.lines)) for note in cases.notes))
    ET.indent(root, " ")
    # Characters that XML can't hold were written out; ElementTree escapes all else, "]]>" included.
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _counts(cases: Iterable[Case]) -> dict[str, str]:
    weights = [case.weight for case in cases]
    return {
        "tests": str(len(weights)),
        "failures": str(weights.count(Weight.FAILURE)),
        "errors": str(weights.count(Weight.ERROR)),
    }


def _suite(suite: Suite, version: str) -> ET.Element:
    made = ET.Element("testsuite", {"name": on_one_line(suite.name)} | _counts(suite.cases), skipped="0",
                      file=on_one_line(suite.file))
    _properties(made, (("gatesim", version), *suite.facts))
    for case in suite.cases:
        one = ET.SubElement(made, "testcase", classname=on_one_line(suite.name), name=on_one_line(case.name))
        if case.weight is not None:
            _wrong(one, case.weight, case.findings)
        if case.facts:
            ET.SubElement(one, "system-out").text = visible(
                "\n".join(f"{name}: {value}" for name, value in case.facts))
    return made


def _properties(suite: ET.Element, facts: Iterable[tuple[str, str]]) -> None:
    holder = ET.SubElement(suite, "properties")
    for name, value in facts:
        ET.SubElement(holder, "property", name=on_one_line(name), value=on_one_line(value))


def _wrong(case: ET.Element, weight: Weight, findings: tuple[Finding, ...]) -> None:
    """One element for all findings: many readers show the first only."""
    # Readers that leave properties out show the message.
    said = "; ".join(f"{finding.title} (seed {finding.seed})" for finding in findings)
    told = ET.SubElement(case, weight.value, type=on_one_line(findings[0].rule.id), message=on_one_line(said, 1000))
    told.text = visible("\n\n".join(
        "\n".join((f"{finding.place}: {finding.title}", *finding.lines)) for finding in findings))
