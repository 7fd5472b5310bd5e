"""The Protocols that a user checks a controller of their own against."""

from __future__ import annotations

import subprocess
import sys

import pytest

GOOD = """
import gatesim
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings

class Mine:
    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[int, ControllerDo]:
        raise NotImplementedError

    def step(self, state: int, seen: ControllerSeen, now: float) -> tuple[int, ControllerDo]:
        raise NotImplementedError

mine: gatesim.Controller = Mine()
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "said"),
    [(GOOD, "Success"), (GOOD.replace("now: float", "now: str"), "Incompatible types"),
     (GOOD.replace("def step", "def stop"), "Incompatible types")],
)
def test_the_protocol_type_checks(text, said, tmp_path) -> None:
    pytest.importorskip("mypy")
    (tmp_path / "mine.py").write_text(text)
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path), str(tmp_path / "mine.py")],
        capture_output=True, text=True, check=False)
    assert said in done.stdout, done.stdout
    assert (done.returncode == 0) == (said == "Success")
