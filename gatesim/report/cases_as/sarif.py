"""SARIF 2.1.0 (an OASIS standard): each finding a result at the line of its expectation, each rule that one names.

Every result is of kind `fail` and level `error`.  SARIF has the kinds `open` and `notApplicable` for what was not
judged, but they go with level `none`, which readers leave out; what was to be judged and was not must be seen.  A
residual risk is of kind `review`.
"""

from __future__ import annotations

import json
import os
import re
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import quote

from gatesim.report.cases import Cases, Finding, Note, Place, Weight
from gatesim.report.cases import Rule as Held
from gatesim.shown import on_one_line, visible

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"
RESIDUAL = Held("residual-risk", "Nothing finds this fault in service: a person must look after it.", "ours")
_PLACEHOLDER = re.compile(r"\{(\d+)\}")


def render(cases: Cases) -> str:
    """The whole log."""
    found = list(cases.findings())
    rules = list(dict.fromkeys([*(finding.rule for finding in found), *([RESIDUAL] if cases.notes else [])]))
    results = [_finding(finding, rules.index(finding.rule)) for finding in found]
    results += [_note(note, len(rules) - 1) for note in cases.notes]
    run = {
        "tool": {"driver": {"name": "gatesim", "version": cases.version, "rules": [_rule(rule) for rule in rules]}},
        "automationDetails": {"id": f"gatesim {cases.command}/"},
        "columnKind": "unicodeCodePoints",
        "invocations": [{"executionSuccessful": all(finding.weight is Weight.FAILURE for finding in found)}],
        "results": results,
        "properties": {"summary": on_one_line(cases.closing), "cases": sum(1 for _ in cases.cases())},
    }
    return json.dumps({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}, indent=1, ensure_ascii=False) + "\n"


def _rule(rule: Held) -> dict[str, Any]:
    return {
        "id": on_one_line(rule.id),
        "shortDescription": {"text": _text(rule.sentence)},
        "help": {"text": _text(f"{rule.sentence} Source: {rule.source}.")},
        "defaultConfiguration": {"level": "note" if rule is RESIDUAL else "error"},
    }


def _finding(finding: Finding, number: int) -> dict[str, Any]:
    # The same finding has the same print from run to run, wherever its line has moved to.
    own = "\0".join((finding.place.file, finding.rule.id, finding.title))
    return {
        "ruleId": on_one_line(finding.rule.id),
        "ruleIndex": number,
        "kind": "fail",
        "level": "error",
        "message": {"text": _text("\n".join((finding.title, *finding.lines)))},
        "locations": [_location(finding.place)],
        "partialFingerprints": {"findingHash/v1": sha256(own.encode("utf-8", "backslashreplace")).hexdigest()},
    }


def _note(note: Note, number: int) -> dict[str, Any]:
    return {
        "ruleId": RESIDUAL.id,
        "ruleIndex": number,
        "kind": "review",
        "level": "none",
        "message": {"text": _text("\n".join((note.title, *note.lines)))},
        "locations": [_location(note.place)],
    }


def _location(place: Place) -> dict[str, Any]:
    spot: dict[str, Any] = {"artifactLocation": {"uri": _uri(place.file)}}
    if place.line:
        spot["region"] = {"startLine": place.line, "startColumn": place.column}
    return {"physicalLocation": spot}


def _uri(file: str) -> str:
    """A relative path as a relative reference (RFC 3986), an absolute one as a file URI; odd bytes as %XX."""
    path = Path(file)
    raw = quote(os.fsencode(path.as_posix()))
    return f"file://{raw}" if path.is_absolute() else raw


def _text(text: str) -> str:
    """A message (SARIF 3.11): what would read as an embedded link or a placeholder is taken apart."""
    return _PLACEHOLDER.sub(r"{ \1 }", visible(text).replace("](", "] ("))
