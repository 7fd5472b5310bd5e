"""`gatesim-run/1`: one scenario's verdicts and its whole trace for programs."""

from __future__ import annotations

import json

from gatesim import __version__
from gatesim.report.as_json import as_json
from gatesim.report.assemble import trace_of
from gatesim.report.check_json import scenario_object
from gatesim.report.judged import Judged
from gatesim.run import RunResult

FORMAT = "gatesim-run/1"


def run_json(result: Judged, run: RunResult) -> str:
    """The scenario as in `gatesim-check/1`, and beside it the lines of the trace as objects."""
    said = {
        "format": FORMAT,
        "version": __version__,
        "scenario": scenario_object(result),
        "trace": [json.loads(line) for line in trace_of(run).splitlines()],
    }
    return as_json(said)
