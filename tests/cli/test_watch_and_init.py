"""`watch` judges again what changed; `init` begins a project that passes."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from gatesim.cli import starting, watching
from gatesim.cli.wanted import Wanted
from gatesim.cli.watching import Watcher
from gatesim.errors import BadUsage

LATER = 5_000_000_000


def touched(file: Path) -> None:
    """As if saved a little later."""
    now = file.stat()
    os.utime(file, ns=(now.st_atime_ns, now.st_mtime_ns + LATER))


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    starting.start(str(tmp_path / "p"))
    monkeypatch.chdir(tmp_path / "p")
    return tmp_path / "p"


def rounds(monkeypatch: pytest.MonkeyPatch, *between: Callable[[], object]) -> None:
    """What happens between the looks; then Ctrl-C."""
    todo = list(between)

    def wait() -> None:
        if not todo:
            raise KeyboardInterrupt
        todo.pop(0)()

    monkeypatch.setattr(watching, "wait", wait)


# --- watch --------------------------------------------------------------------------------------------------------


def test_only_what_changed_is_judged_again(gatesim, project, monkeypatch) -> None:
    block = project / "scenarios" / "block-while-closing.scenario.yaml"
    rounds(monkeypatch, lambda: None,
           lambda: block.write_text(block.read_text().replace('"2.4 m"', '"2.4"')),
           lambda: (project / "scenarios" / "healthy-both-ways.scenario.yaml").unlink())
    said = gatesim("watch", "scenarios")
    assert said.code == 130
    assert said.err.splitlines() == [
        "4 judged, 0 not as expected; 0 unchanged. Watching; Ctrl-C ends it.",
        "1 judged, 1 not as expected; 3 unchanged. Watching; Ctrl-C ends it.",
        "",
        "interrupted",
    ]
    assert said.out.count("as expected  scenarios/") == 4
    assert "ERROR        scenarios/block-while-closing.scenario.yaml" in said.out
    assert "21:15: '2.4' needs a unit" in said.out


def test_scenarios_follow_their_site(project) -> None:
    watcher = Watcher(["scenarios"])
    first = watcher.look()
    assert (len(first.scenarios), first.known, first.logic) == (4, 4, False)
    assert watcher.look().nothing
    touched(project / "scenarios" / "sites" / "gate.site.yaml")
    again = watcher.look()
    assert again.scenarios == first.scenarios
    assert again.sites == ("scenarios/sites/gate.site.yaml",)


def test_a_site_outside_the_watched_paths_counts_too(project) -> None:
    file = "scenarios/block-while-closing.scenario.yaml"
    watcher = Watcher([file])
    assert watcher.look().scenarios == (file,)
    site = project / "scenarios" / "sites" / "gate.site.yaml"
    touched(site)
    due = watcher.look()
    assert (due.scenarios, due.sites) == ((file,), ())
    site.unlink()
    assert watcher.look().scenarios == (file,)
    assert watcher.look().nothing
    (project / "scenarios" / "healthy-both-ways.scenario.yaml").unlink()
    assert watcher.look().nothing


def test_a_new_scenario_and_a_new_site_of_one_are_seen(project) -> None:
    watcher = Watcher(["scenarios"])
    watcher.look()
    block = project / "scenarios" / "block-while-closing.scenario.yaml"
    other = project / "scenarios" / "sites" / "other.site.yaml"
    other.write_bytes((project / "scenarios" / "sites" / "gate.site.yaml").read_bytes())
    (project / "scenarios" / "new.scenario.yaml").write_text(block.read_text().replace("gate.site", "other.site"))
    due = watcher.look()
    assert (due.scenarios, due.known) == (("scenarios/new.scenario.yaml",), 5)
    touched(other)
    assert watcher.look().scenarios == ("scenarios/new.scenario.yaml",)


def test_all_is_judged_again_when_the_logic_is_saved(gatesim, project, monkeypatch) -> None:
    logic = project / "ours.py"
    sound = "from gatesim.plant.logic.controller_reference import ReferenceController as Ours\n"
    logic.write_text(sound)
    rounds(monkeypatch, lambda: logic.write_text("def ("), lambda: logic.write_text(sound + "# again\n"))
    said = gatesim("watch", "scenarios", "--controller", "ours.py:Ours")
    assert said.code == 130
    assert said.err.count("4 judged, 0 not as expected; 0 unchanged") == 2
    assert "SyntaxError" in said.err or "invalid syntax" in said.err
    assert watching.files_of(Wanted(controller="ours.py:Ours", receiver="run:cat ours.py")) == ["ours.py", "ours.py"]


def test_a_folder_that_is_gone_for_a_moment_is_said_once(gatesim, project, monkeypatch) -> None:
    away = project / "away"
    rounds(monkeypatch, lambda: (project / "scenarios").rename(away), lambda: None,
           lambda: away.rename(project / "scenarios"))
    said = gatesim("watch", "scenarios")
    assert said.code == 130
    assert said.err.count("there is no file or folder 'scenarios'") == 1


def test_nothing_to_watch_is_said(gatesim, tmp_path) -> None:
    assert gatesim("watch", tmp_path).code == 5
    assert gatesim("watch", tmp_path / "absent").code == 2


# --- init ---------------------------------------------------------------------------------------------------------


def test_what_is_made_passes_and_is_tidy(gatesim, tmp_path, monkeypatch) -> None:
    said = gatesim("init", tmp_path / "new")
    assert (said.code, said.err) == (0, f"Next: gatesim check {tmp_path / 'new'}\n")
    monkeypatch.chdir(tmp_path / "new")
    checked = gatesim("check", ".")
    assert checked.code == 0
    assert "4 as expected, 0 differ" in checked.out
    assert checked.err == ""  # nothing to warn of either
    assert gatesim("fmt", "--check", ".").code == 0
    assert gatesim("upgrade", "--check", ".").code == 0
    assert gatesim("settings").out.startswith("nothing is set")
    assert os.access("check.sh", os.X_OK)
    assert sorted(said.out.splitlines()) == sorted(
        f"written: {path}" for path in (tmp_path / "new").rglob("*") if path.is_file())


def test_every_file_names_its_schema_as_editors_want_it(project) -> None:
    for file in project.rglob("*.yaml"):
        head = file.read_text().partition("\n")[0]
        place = head.removeprefix("# yaml-language-server: $schema=")
        assert place != head
        schema = (file.parent / place).resolve()
        assert schema == project / "schemas" / f"{file.name.rsplit('.', 2)[1]}.schema.json"
        assert schema.is_file()


def test_nothing_is_written_over(gatesim, tmp_path) -> None:
    (tmp_path / "README.md").write_text("mine")
    said = gatesim("init", tmp_path)
    assert said.code == 2
    assert "README.md is there already; nothing is written" in said.err
    assert [path.name for path in tmp_path.iterdir()] == ["README.md"]
    assert (tmp_path / "README.md").read_text() == "mine"
    (tmp_path / "README.md").rename(tmp_path / "other.md")
    assert gatesim("init", tmp_path).code == 0
    assert gatesim("init", tmp_path).code == 2


def test_a_failure_on_the_way_leaves_nothing(tmp_path, monkeypatch) -> None:
    real, left = os.replace, [3]

    def full(*args: str) -> None:
        left[0] -= 1
        if left[0] < 0:
            raise OSError(28, "No space left on device")
        real(*args)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(BadUsage, match=r"No space left.*nothing is written"):
        starting.start(str(tmp_path / "new"))
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "file").write_text("x")
    with pytest.raises(BadUsage, match="cannot make"):
        starting.start(str(tmp_path / "file" / "new"))


def test_every_starter_file_is_used() -> None:
    room = Path(starting.__file__).with_name("starter")
    assert {path.name for path in room.iterdir() if path.is_file()} == set(starting.PLACES)
