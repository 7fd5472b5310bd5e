"""`fmt` and `upgrade`: files changed in place, whole or not at all."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest


@pytest.fixture
def files(tmp_path: Path, scenarios: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A scenario and its site, untidy and from before the format; run from their folder."""
    (tmp_path / "sites").mkdir()
    for name in ("first-look.scenario.yaml", "sites/mill-lane.site.yaml"):
        text = (scenarios / name).read_text().replace("seed: ", "seed:   ").replace("name: ", "name :  ")
        (tmp_path / name).write_text(text.replace('ends: "60 s"', "ends: 60s  # soon"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_fmt_writes_what_the_shipped_files_are(gatesim, files, scenarios) -> None:
    said = gatesim("fmt", ".")
    assert (said.code, said.err) == (0, "2 changed, 0 as they should be\n")
    assert said.out == "changed: first-look.scenario.yaml\nchanged: sites/mill-lane.site.yaml\n"
    assert (files / "sites/mill-lane.site.yaml").read_bytes() == (scenarios / "sites/mill-lane.site.yaml").read_bytes()
    assert '\nends: "60 s"  # soon\n' in (files / "first-look.scenario.yaml").read_text()
    assert gatesim("fmt", ".").err == "0 changed, 2 as they should be\n"
    assert gatesim("fmt", "--check", ".").code == 0


@pytest.mark.parametrize("command", ["fmt", "upgrade"])
def test_check_and_diff_write_nothing(gatesim, files, command) -> None:
    if command == "upgrade":
        file = files / "first-look.scenario.yaml"
        file.write_text(file.read_text().replace("format: gatesim-scenario/1\n", ""))
    before = {path: path.read_bytes() for path in files.rglob("*.yaml")}
    checked, shown = gatesim(command, "--check", "."), gatesim(command, "--diff", ".")
    assert (checked.code, shown.code) == (1, 0)
    assert "would change: first-look.scenario.yaml" in checked.out
    assert "+++ first-look.scenario.yaml (as it would be)" in shown.out
    assert gatesim(command, "--check", "--diff", ".").code == 1
    assert {path: path.read_bytes() for path in files.rglob("*.yaml")} == before


def test_upgrade_says_what_it_changed_and_the_file_is_judged_again(gatesim, files) -> None:
    gatesim("fmt", ".")
    for path in files.rglob("*.yaml"):
        path.write_text(re.sub("^format:.*\n", "", path.read_text(), flags=re.MULTILINE))
    assert "first key must be format" in gatesim("check", ".").out
    said = gatesim("upgrade", ".")
    assert (said.code, said.err) == (0, "2 changed, 0 as they should be\n")
    assert "    format: gatesim-site/1 said in the first line\n" in said.out
    assert gatesim("check", ".").code == 0
    assert gatesim("upgrade", ".").out == ""


def test_a_newer_file_is_told_and_the_others_are_upgraded(gatesim, files) -> None:
    newer, other = files / "sites" / "mill-lane.site.yaml", files / "first-look.scenario.yaml"
    newer.write_text(newer.read_text().replace("site/1", "site/2"))
    other.write_text(other.read_text().replace("format: gatesim-scenario/1\n", ""))
    said = gatesim("upgrade", ".")
    assert said.code == 2
    assert "sites/mill-lane.site.yaml:2:9: 'gatesim-site/2' is newer than what this gatesim reads" in said.err
    assert "1 changed, 0 as they should be, 1 not read" in said.err
    assert other.read_text().startswith("format: gatesim-scenario/1\n")


def test_what_is_no_yaml_is_left_alone(gatesim, files) -> None:
    broken = files / "first-look.scenario.yaml"
    broken.write_text("title: [\n")
    said = gatesim("fmt", ".")
    assert (said.code, said.out) == (2, "changed: sites/mill-lane.site.yaml\n")
    assert "first-look.scenario.yaml:" in said.err
    assert broken.read_text() == "title: [\n"


def test_nothing_to_do_is_said(gatesim, tmp_path) -> None:
    assert gatesim("fmt", tmp_path).code == 5
    assert gatesim("upgrade", tmp_path / "absent").code == 2


def test_rights_and_links_stay(gatesim, files) -> None:
    file = files / "first-look.scenario.yaml"
    file.chmod(0o600)
    (files / "link.scenario.yaml").symlink_to(file.name)
    assert gatesim("fmt", "link.scenario.yaml").code == 0
    assert (files / "link.scenario.yaml").is_symlink()
    assert file.stat().st_mode & 0o777 == 0o600
    assert "  # soon" in file.read_text()


def test_a_file_that_can_not_be_written_is_whole(gatesim, files, monkeypatch) -> None:
    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    before = (files / "first-look.scenario.yaml").read_bytes()
    monkeypatch.setattr(os, "replace", full)
    said = gatesim("fmt", "first-look.scenario.yaml")
    assert said.code == 2
    assert "No space left" in said.err
    assert (files / "first-look.scenario.yaml").read_bytes() == before
    assert sorted(path.name for path in files.iterdir()) == ["first-look.scenario.yaml", "sites"]
