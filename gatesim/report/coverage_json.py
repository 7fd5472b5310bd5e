"""Coverage of a controller's table as JSON: `gatesim-coverage/1`, and a suite as JSON lines: `gatesim-suite/1`."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from gatesim.report.as_json import as_json
from gatesim.search.driven import Driven
from gatesim.search.logic_cover import LogicCover
from gatesim.search.machine import Machine, row_words
from gatesim.search.suites import Distinct, Word, outputs

FORMAT, SUITE_FORMAT = "gatesim-coverage/1", "gatesim-suite/1"


def coverage_json(cover: LogicCover, told: Distinct, suite: tuple[Word, ...], driven: Driven | None, controller: str,
                  version: str) -> str:
    """One object.  Transitions are told by their place in `table`, which has every row in words."""
    machine, found = cover.machine, cover.findings
    return as_json({
        "format": FORMAT,
        "version": version,
        "controller": controller,
        "scenarios": cover.scenarios,
        "questions": cover.questions,
        "table": [row_words(row) for row in machine.table.rows],
        "before_running": {
            "unreachable_states": [mode.value for mode in found.unreachable],
            "unreachable_transitions": [machine.places[id(row)] for row in found.shadowed],
            "no_way_out": [mode.value for mode in found.no_way_out],
            "no_way_back": [mode.value for mode in found.no_way_back],
            "no_stop_or_lockout": [{"state": one.mode.value, "trigger": one.trigger.value, "ignored": one.ignored}
                                   for one in found.unanswered],
        },
        "states": {"reached": len(cover.states), "of": len(machine.modes),
                   "never": [mode.value for mode in cover.unused_states]},
        "transitions": {"reached": len(cover.rows), "of": len(machine.table.rows),
                        "never": [k for k in range(len(machine.table.rows)) if k not in cover.rows]},
        "pairs": {"reached": len(cover.all_pairs) - len(cover.unused_pairs), "of": len(cover.all_pairs),
                  "never": [list(pair) for pair in cover.unused_pairs]},
        "inputs": {"reached": len(cover.inputs), "of": len(machine.modes) * len(machine.inputs)},
        "suite": {"words": len(suite), "inputs": sum(map(len, suite)), "classes": told.classes,
                  "characterising": [[machine.inputs[x].words() for x in word] for word in told.words]},
        "driven": None if driven is None else _driven(machine, driven),
    })


def _driven(machine: Machine, driven: Driven) -> dict[str, Any]:
    missing = [(s, x) for s in sorted(machine.reached) for x in range(len(machine.inputs))
               if (s, x) not in driven.produced]
    return {
        "site": driven.site,
        "moves": driven.moves,
        "seconds": round(driven.seconds, 1),
        "transitions": driven.transitions,
        "transitions_not_exercised": [{"state": machine.modes[s].value, "input": machine.inputs[x].words()}
                                      for s, x in missing],
        "steps": driven.steps,
        "steps_not_exercised": driven.steps - driven.exercised,
        "characterising": [[machine.inputs[x].words() for x in word] for word in driven.words],
        "wrong_tables_alone": {name: {change.value: score._asdict() for change, score in scores.items()}
                               for name, scores in driven.alone.items()},
        "wrong_tables": {name: {change.value: score._asdict() for change, score in scores.items()}
                         for name, scores in driven.noticed.items()},
        "all_tried": driven.judged,
        "not_noticed": [one.words(machine.table) for one in driven.survivors],
    }


def suite_lines(machine: Machine, suite: Iterable[Word], controller: str) -> str:
    """A suite, a word a line: inputs (trigger and guards that hold, by their names in the code), the actions that each
    must bring (null: ignored), and the states passed, the first one before the first input."""
    words = tuple(suite)
    lines = [json.dumps({"format": SUITE_FORMAT, "controller": controller, "method": "W", "words": len(words),
                         "begins": machine.modes[machine.first].name})]
    for number, word in enumerate(words):
        state, states = machine.first, [machine.modes[machine.first].name]
        for x in word:
            state = machine.after[state][x]
            states.append(machine.modes[state].name)
        actions = [machine.outputs[k] for k in outputs(machine, word)]
        lines.append(json.dumps({
            "word": number,
            "inputs": [{"trigger": machine.inputs[x].trigger.name,
                        "holds": sorted(guard.name for guard in machine.inputs[x].holds)} for x in word],
            "actions": [None if one is None else [action.name for action in one] for one in actions],
            "states": states}))
    return "\n".join(lines) + "\n"
