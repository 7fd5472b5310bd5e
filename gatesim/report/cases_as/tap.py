"""TAP, version 14 (the Test Anything Protocol's own specification): a line a case, what is wrong below it as YAML.

No line has a directive, for what they mark (skipped, or to be done) counts as good.  In a description `#` and `\\` are
escaped, so that no text can make itself one; the YAML is of double-quoted texts only, which JSON's are.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

from gatesim.report.cases import Case, Cases
from gatesim.shown import on_one_line, visible


def render(cases: Cases) -> str:
    """The whole stream."""
    told = list(cases.cases())
    lines = ["TAP version 14", f"1..{len(told)}"]
    for number, (suite, case) in enumerate(told, 1):
        lines.append(f"{'ok' if case.weight is None else 'not ok'} {number} - {_said(f'{suite.name}: {case.name}')}")
        lines += _diagnosis(case)
    for note in cases.notes:
        lines.append(f"# {on_one_line('; '.join((note.title, *note.lines)))}")
    lines.append(f"# {on_one_line(cases.closing)}")
    return "\n".join(lines) + "\n"


def _said(text: str) -> str:
    return on_one_line(text).replace("\\", "\\\\").replace("#", "\\#")


def _diagnosis(case: Case) -> Iterator[str]:
    yield "  ---"
    if case.weight is not None:
        yield f"  severity: {_text(case.weight.value)}"
        yield "  findings:"
        for finding in case.findings:
            yield f"    - title: {_text(finding.title)}"
            yield f"      rule: {_text(finding.rule.id)}"
            yield f"      at: {_text(str(finding.place))}"
            yield f"      text: {_text(chr(10).join(finding.lines))}"
    yield "  facts:" if case.facts else "  facts: {}"
    for name, value in case.facts:
        yield f"    {_text(name)}: {_text(value)}"
    yield "  ..."


def _text(text: str) -> str:
    return json.dumps(visible(text), ensure_ascii=False)
