"""Hostile text in every text field of a scenario and its site, through every format of `check` and `sweep`.

A later format joins by its reader in `readers.py`; a test fails while it has none.
"""

from __future__ import annotations

import dataclasses
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml
from readers import READERS, Read

from gatesim.cli.main import PROGRAM
from gatesim.plant.site import Site
from gatesim.scenario import shapes
from gatesim.scenario.model import Scenario
from gatesim.shown import HIDDEN

ROOT = Path(__file__).parents[2]
MARKUP = "=1+1<img src=x onerror=a()></script>]]>&# SKIP [/b]{0}](h)"
COMMAND = "@x %0A::error::y ##[warning]z $(id) `i` ' \" \\# SKIP ]]>"
"""Names have 60 characters at most and no full stop; what a browser, XML, TAP, a log's reader, rich's markup, a shell
or a spreadsheet would obey."""
FORMULAS = ("=cmd|' /C calc'!A0", "+1+1", "-1+1", "@SUM(1)", "\t=1+1", " =1", "＝1")
HIDING = ("\x1b[31mred\x1b[0m", "\x1b]0;title\x07", "\x9b31m", "a\x00b", "a\x08b", "\u202eevil", "\u2066x", "\ufffe")
"""Refused by the reader, with the place."""
LONG = "x" * 10_000


class Text(NamedTuple):
    """A place where a file has text: its path with `*` for each entry of a list."""

    of: str
    path: str


def _texts(table: Any, path: str = "") -> Iterator[str]:
    for row in shapes.rows(table):
        item = shapes.item_of(row.kind)
        kind = row.kind if item is None else item
        here = f"{path}{row.name}" + ("" if item is None else ".*")
        if shapes.is_step(kind):
            for word, step in shapes.step_kinds().items():
                yield from _texts(step, f"{here}<{word}>.")
        elif dataclasses.is_dataclass(kind):
            yield from _texts(kind, f"{here}.")
        elif kind is str:
            yield here


FIELDS = [*(Text("site", path) for path in _texts(Site)), *(Text("scenario", path) for path in _texts(Scenario))]
LONGER = [field for field in FIELDS if field.path.rpartition(".")[2] in shapes.LONG_TEXTS]

SITE = yaml.safe_load((ROOT / "scenarios" / "sites" / "long-acre.site.yaml").read_text())
BEAMS = yaml.safe_load((ROOT / "scenarios" / "sites" / "ferry-steps.site.yaml").read_text())


def _material() -> dict[str, Any]:
    """A site with something of each kind that has a name, and a short story about it."""
    site = json.loads(json.dumps(SITE))
    del site["format"]
    zone = next(zone for zone in site["zones"] if zone["direction"] == "closing")
    back = next(zone for zone in site["zones"] if zone["direction"] == "opening")
    edge = next(edge for edge in site["edges"] if edge["zone"] == zone["name"])
    site["wired_inputs"] = [BEAMS["wired_inputs"][0]]
    site["edges"].append({**BEAMS["edges"][0], "name": "wired edge", "zone": zone["name"]})
    site["beams"] = [{**BEAMS["beams"][0], "zones": [back["name"]], "start": back["start"], "end": back["end"]}]
    node = site["transmitters"][0]
    node |= {"radio_rule": "own", "own_rule": {"air_time": "36 s", "source": "a source"}}
    node["radio"]["interference"] = [{"name": "a neighbour", "begins": "1 s", "lasts": "1 s", "takes": "1 dB"}]
    site["limit_overrides"] = [{"requirement": "reversal-begun", "limit": "1.9 s", "source": "another source"}]
    beam = site["beams"][0]["name"]
    site["leaf_at"] = site["gate"]["travel"]
    story = [
        {"at": "0.1 s", "do": "command", "command": "close"},
        {"at": "0.3 s", "do": "obstruct", "obstruction": "block", "zone": zone["name"], "position": "7.8 m",
         "interrupts": [beam]},
        {"at": "3 s", "do": "clear", "obstruction": "block"},
        {"at": "3.1 s", "do": "press", "edge": edge["name"]},
        {"at": "3.2 s", "do": "interrupt", "beam": beam, "by": "someone"},
        {"at": "3.3 s", "do": "clear beam", "beam": beam, "by": "someone"},
        {"at": "3.4 s", "do": "push leaf", "direction": "opening", "distance": "1 mm", "by": "a hand"},
        {"at": "3.5 s", "do": "new cell", "transmitter": node["name"]},
        {"at": "3.6 s", "do": "fault", "fault": "loop-open", "device": edge["name"]},
    ]
    return {
        "format": "gatesim-scenario/1", "title": "A title", "teaches": "Nothing.", "site": site, "ends": "4 s",
        "steps": story, "covers": ["open opening at rest"],
        "expect": [{"requirement": "reversal-begun", "limit": "1 ms"},
                   {"requirement": "never-both-directions", "outcome": "fail", "failure": "both energised"}],
        "overrides": [{"setting": "drive.force_limit", "value": "240 N"}],
    }


def _with(field: Text, text: str) -> dict[str, Any]:
    """The material with this text in this field; what has a name keeps it wherever it is spoken of."""
    made = _material()
    holder: Any = made["site"] if field.of == "site" else made
    *way, last = field.path.removesuffix(".*").split(".")
    for step in way:
        name, _, kind = step.partition("*")
        if name:
            holder = holder[name] if name in holder else holder.setdefault(name, {})
        else:
            word = kind.strip("<>")
            holder = next(one for one in holder if not word or one["do"] == word)
    if last in NAMES and last in holder:
        return _renamed(made, holder[last], text)
    holder[last] = [text] if field.path.endswith("*") else text
    return made


NAMES = ("name", "obstruction")


def _renamed(value: Any, old: str, new: str) -> Any:
    if isinstance(value, dict):
        return {key: _renamed(inner, old, new) for key, inner in value.items()}
    if isinstance(value, list):
        return [_renamed(inner, old, new) for inner in value]
    return new if value == old else value


STYLES = {
    name: tuple(next(one for one in command.params if one.name == "style").type.choices)
    for name in ("check", "sweep")
    if (command := PROGRAM.get_command(None, name)) is not None
}
"""The formats of each command, as it states them itself."""


def test_every_format_has_a_reader() -> None:
    assert set(STYLES["check"]) | set(STYLES["sweep"]) == set(READERS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("hostile")


@pytest.fixture(scope="module")
def judged_once(folder) -> Iterator[None]:
    """Each file of the folder is read and judged once; what follows is written anew in each format."""
    from gatesim.cli import judge_file

    judge, done = judge_file.judge_file, {}

    def once(file: str, roles: Any, seed: int | None) -> Any:
        if not file.startswith(str(folder)):
            return judge(file, roles, seed)
        if file not in done:
            done[file] = judge(file, roles, seed)
        return done[file]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(judge_file, "judge_file", once)
        yield


@pytest.fixture(scope="module")
def written(folder) -> Callable[[Text, str], Path]:
    """The file with this text in this field."""
    made: dict[tuple[Text, str], Path] = {}

    def write(field: Text, text: str) -> Path:
        if (field, text) not in made:
            made[field, text] = folder / f"{len(made):03}.scenario.yaml"
            made[field, text].write_text(yaml.safe_dump(_with(field, text), sort_keys=False))
        return made[field, text]

    return write


@pytest.fixture
def shown(gatesim, tmp_path) -> Callable[..., tuple[int, Read]]:
    """What a format says, read by its reader; nothing hidden stands in it or in the talk."""

    def show(style: str, *paths: Path) -> tuple[int, Read]:
        out = tmp_path / "out"
        said = gatesim("check", *paths, "--format", style, "--output", out)
        assert HIDDEN.search(said.err + said.out) is None
        assert HIDDEN.search(out.read_bytes().decode()) is None
        return said.code, READERS[style](out.read_bytes())

    return show


@pytest.mark.parametrize("style", STYLES["check"])
@pytest.mark.parametrize("field", FIELDS, ids=lambda field: f"{field.of} {field.path}")
def test_hostile_text_breaks_no_format(field, style, judged_once, written, shown) -> None:
    markup, command = written(field, MARKUP), written(field, COMMAND)
    code, read = shown(style, markup, command)
    assert code in (1, 2)
    if read.bad is not None:
        assert read.bad >= 2
    files = [text for text in read.texts if markup.name in text]
    assert files
    if field.path == "title":
        # SARIF's messages know links and placeholders: there they are taken apart.
        wanted = MARKUP.replace("](", "] (").replace("{0}", "{ 0 }") if style == "sarif" else MARKUP
        assert any(wanted in text for text in read.texts)
        assert any(COMMAND in text for text in read.texts)


@pytest.mark.parametrize("style", STYLES["check"])
def test_what_hides_is_refused_and_written_out(style, judged_once, written, shown) -> None:
    hiding = [written(field, HIDING[k % len(HIDING)]) for k, field in enumerate(FIELDS)]
    hiding += [written(Text("scenario", "title"), text) for text in HIDING]
    code, read = shown(style, *hiding)
    assert code == 2
    if read.bad is not None:
        assert read.bad >= len(set(hiding))
    assert any("hidden character '\\x1b'" in text for text in read.texts)


@pytest.mark.parametrize("style", STYLES["check"])
def test_texts_of_ten_thousand_characters(style, judged_once, written, shown) -> None:
    too_long = [written(field, LONG) for field in FIELDS if field not in LONGER]
    assert shown(style, *too_long)[0] == 2
    code, read = shown(style, *(written(field, LONG) for field in LONGER))
    assert code == 1
    assert read.texts


TOLD = ("title", "name", "steps.*<obstruct>.obstruction", "edges.*.name", "beams.*.name")
"""What a story tells."""


@pytest.mark.parametrize("style", ["text", "json"])
@pytest.mark.parametrize("field", [field for field in FIELDS if field.path in TOLD], ids=lambda field: field.path)
def test_the_story_and_its_trace_hold_hostile_text(gatesim, written, tmp_path, field, style) -> None:
    for text in (MARKUP, COMMAND):
        said = gatesim("run", written(field, text), "--format", style, "--trace", tmp_path / "trace")
        assert said.code == 1
        assert HIDDEN.search(said.out + said.err) is None
        READERS[style](said.out.encode())
        assert [json.loads(line) for line in (tmp_path / "trace").read_text().splitlines()]


# --- what comes from elsewhere than the files' texts ------------------------------------------------------------------

DYING = r"""
class Dies:
    def start(self, settings, kept):
        raise ValueError("\x1b[31mred \u202e ]]> <b> \x9b1m %0A::error::x # SKIP \udcff")

    def step(self, state, seen, now):
        return state, None
"""


@pytest.mark.parametrize("style", STYLES["check"])
def test_words_of_dying_logic_are_written_out(shown, gatesim, tmp_path, style, scenarios) -> None:
    (tmp_path / "dies.py").write_text(DYING)
    out = tmp_path / "out"
    said = gatesim("check", scenarios / "first-look.scenario.yaml", "--controller", f"{tmp_path / 'dies.py'}:Dies",
                   "--format", style, "--output", out)
    assert said.code == 3
    read = READERS[style](out.read_bytes())
    assert HIDDEN.search(out.read_bytes().decode() + said.err) is None
    assert read.bad in (None, 1)
    # In JSON it is escaped, and read back as it was.
    assert any("\x1b[31mred" in text if style == "json" else "\\x1b[31mred" in text for text in read.texts)


SAYING = r"""
from gatesim.plant.logic.controller_reference import ReferenceController


class Says(ReferenceController):
    def step(self, state, seen, now):
        state, do = super().step(state, seen, now)
        said = (("\x1b]0;x\x07", "a\x00"),)
        return state, do._replace(order=None, mode="\x1b[31m \u202e\x9b1m ]]> <b>", notices=said)
"""


@pytest.mark.parametrize("command", [*(("check", style) for style in STYLES["check"]), ("run", "text"), ("run", "json"),
                                     ("replay", None)], ids=lambda command: " ".join(filter(None, command)))
def test_words_of_logic_that_lives_are_written_out(gatesim, tmp_path, monkeypatch, command, scenarios) -> None:
    (tmp_path / "says.py").write_text(SAYING)
    monkeypatch.setattr("sys.stdin", io.StringIO("n\n" * 9 + "v\n"))
    name, style = command
    options = () if style is None else ("--format", style)
    spec = f"{tmp_path / 'says.py'}:Says"
    said = gatesim(name, scenarios / "first-look.scenario.yaml", "--controller", spec, *options)
    assert said.code == 1
    assert HIDDEN.search(said.out + said.err) is None
    if style is not None:
        assert READERS[style](said.out.encode()).bad != 0
    if name != "check":
        assert r"\x1b[31m" in said.out or r"\u001b[31m" in said.out


@pytest.mark.parametrize("style", STYLES["check"])
def test_a_hostile_name_of_a_file(gatesim, tmp_path, style) -> None:
    place = tmp_path / "::error::[b]\x1b[2J,:%0A"
    place.mkdir()
    name = os.fsdecode(os.fsencode(place) + b"/=a\n<b>\xff ]]>.scenario.yaml")
    Path(name).write_text("nothing")
    out = tmp_path / "out"
    said = gatesim("check", name, "--format", style, "--output", out)
    assert said.code == 2
    assert HIDDEN.search(out.read_bytes().decode() + said.err) is None
    read = READERS[style](out.read_bytes())
    assert any("]]>.scenario.yaml" in text or "%5D%5D%3E.scenario.yaml" in text for text in read.texts)


@pytest.mark.skipif(sys.platform == "win32", reason="there is no pty")
def test_a_terminal_gets_no_sequences_but_our_own_colours(tmp_path, scenarios) -> None:
    (tmp_path / "dies.py").write_text(DYING)
    ours, theirs = os.openpty()
    command = [sys.executable, "-m", "gatesim", "check", str(scenarios / "first-look.scenario.yaml"), "--controller",
               f"{tmp_path / 'dies.py'}:Dies"]
    environment = {name: value for name, value in os.environ.items() if name != "NO_COLOR"} | {"TERM": "xterm"}
    with subprocess.Popen(command, stdout=theirs, stderr=theirs, stdin=subprocess.DEVNULL, cwd=ROOT,
                          env=environment) as process:
        os.close(theirs)
        raw = b""
        with suppress(OSError):  # Linux's way to say that the other end is closed
            while part := os.read(ours, 65_536):
                raw += part
        os.close(ours)
        assert process.wait(60) == 3
    said = raw.decode()
    coloured = re.findall("\x1b\\[[0-9;]*m", said)
    assert coloured
    assert "\x1b[31m" not in coloured  # what the logic asked for; our own are bold
    assert "\\x1b[31mred" in said
    assert HIDDEN.search(re.sub("\x1b\\[[0-9;]*m", "", said)) is None


def test_complaints_and_notes_are_written_out(gatesim, tmp_path, scenario) -> None:
    (tmp_path / "dies.py").write_text(DYING)
    for spec in (f"{tmp_path / 'dies.py'}:Dies", "no\x1b[31m\u202e:such"):
        said = gatesim("run", scenario, "--controller", spec)
        assert said.code in (2, 3)
        assert "\\x1b[31m" in said.err
        assert HIDDEN.search(said.err) is None


def test_marks_of_a_text_layout_are_only_text(gatesim, tmp_path) -> None:
    site = yaml.safe_load((ROOT / "scenarios" / "sites" / "orchard-row.site.yaml").read_text())
    path = tmp_path / "x.site.yaml"
    path.write_text(yaml.safe_dump(_renamed(site, "front edge", "[/b] [red]front[/red] :warning:"), sort_keys=False))
    for command in (["plan", path], ["band", path], ["sweep", path, "--fault", "edge-torn-loose", "--budget", "0.1",
                                                     "--jobs", "1"]):
        said = gatesim(*command)
        assert said.code in (0, 1)
        assert all(part in said.out for part in ("[/b]", "[red]front[/red]", ":warning:"))
