"""`gatesim diagram` from the command line."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree as ET

LAMP = Path(__file__).parents[1] / "search" / "lamp_logic.py"


def test_the_path_of_a_run_and_what_no_scenario_exercises(gatesim, scenario, tmp_path) -> None:
    file = tmp_path / "x.svg"
    said = gatesim("diagram", scenario, "--run", scenario, "-o", file)
    assert (said.code, said.out, said.err) == (0, "", f"written: {file}\n")
    page = file.read_text()
    ET.fromstring(page)
    assert "never exercised by 1 scenario." in page
    assert f"the path of {scenario}." in page
    # What the story tells: it opens to its end, closes, meets the block, turns round and stands.
    text = gatesim("diagram", "--run", scenario, "--format", "mermaid").out
    steps = ["start command [start allowed] (step 1, 5)", "test passed [towards open] (step 2)",
             "end reached (step 3)", "test passed (step 6)", "demand (step 7)", "distance done (step 10)"]
    assert all(f": {step}\n" in text for step in steps)
    assert "never" not in text


def test_a_controller_of_ones_own(gatesim) -> None:
    said = gatesim("diagram", "--controller", f"{LAMP}:Lamp", "--format", "mermaid")
    assert said.code == 0
    assert '    state "stuck" as s2\n' in said.out
    assert "    s1 --> s2: edge fault\n" in said.out


def test_a_controller_without_a_table_is_told(gatesim) -> None:
    said = gatesim("diagram", "--controller", "docs/examples/first_controller.py:First")
    assert said.code == 2
    assert "its module has no TABLE" in said.err


def test_no_scenarios_is_said(gatesim, tmp_path) -> None:
    assert gatesim("diagram", tmp_path).code == 5
