"""The pytest plugin's door: options, settings, fixtures, and the hook that meets scenario files.

It is loaded in every run of pytest where gatesim is installed, so nothing of gatesim is imported before a scenario file
or a fixture of ours is met.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from gatesim.pytest_items import ScenarioFile
    from gatesim.testing import Played

SUFFIX = ".scenario.yaml"
OPTIONS = {
    "seed": ("N", "Use this seed instead of each scenario's own."),
    "controller": ("SPEC", "The controller under test: module:Name, file.py:Name or 'run:COMMAND ARGS'."),
    "receiver": ("SPEC", "The receiver under test."),
    "classifier": ("SPEC", "The classifier under test."),
    "answer_within": ("DURATION", "How long a program may take for one answer."),
    "scan": ("DURATION", "Call the controller on a fixed scan."),
    "input_filter": ("DURATION", "With a scan: how long an input must keep its value."),
    "output_delay": ("DURATION", "With a scan: from a scan to its outputs."),
    "scan_role": ("ROLE", "Which role is on the fixed scan: controller or receiver."),
}
"""As those of `gatesim check`; each is an option --gatesim-NAME and a setting gatesim_NAME."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """Options and settings: fixtures do not reach items that are no Python functions."""
    group = parser.getgroup("gatesim", "gatesim: scenarios as tests")
    for name, (metavar, says) in OPTIONS.items():
        group.addoption(f"--gatesim-{name.replace('_', '-')}", metavar=metavar, default=None, help=says)
        parser.addini(f"gatesim_{name}", says, default=None)


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> ScenarioFile | None:
    """A scenario file is a collector of its own kind."""
    if not file_path.name.endswith(SUFFIX):
        return None
    from gatesim.pytest_items import ScenarioFile

    return ScenarioFile.from_parent(parent, path=file_path)


def pytest_unconfigure() -> None:
    """Programs that played a role are ended."""
    programs = sys.modules.get("gatesim.bench.child")
    if programs is not None:
        programs.end_all()


@pytest.fixture
def gatesim_run(request: pytest.FixtureRequest) -> Callable[..., Played]:
    """Run a scenario with the logic and seed of the options: `gatesim_run(path_or_scenario) -> Played`.

    A relative path counts from the folder of the test's file.
    """
    from gatesim.pytest_items import runner

    return runner(request.config, request.path.parent)
