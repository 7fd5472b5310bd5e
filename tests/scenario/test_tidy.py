"""Files laid out: the same values and comments, the same again, whatever the layout was."""

from __future__ import annotations

import json
import re
from contextlib import suppress
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import example, given
from hypothesis import settings as at_most
from hypothesis import strategies as st
from ruamel.yaml import YAML

from gatesim.errors import BadInput
from gatesim.scenario.model import Scenario
from gatesim.scenario.quantities import quantities
from gatesim.scenario.read import collect, read_scenario
from gatesim.scenario.tidy import tidied, tidy

ROOT = Path(__file__).parents[2]
SITE = ROOT / "scenarios" / "sites" / "mill-lane.site.yaml"
FIRST = ROOT / "scenarios" / "first-look.scenario.yaml"

UNTIDY = """\ufeff# what it is about\r
\r
\r
format:   gatesim-scenario/1   # eol\r
title: 'A  x'
# before teaches
teaches:
    >-
      The front edge meets
      # no comment
        force.

      more
site : sites/a.site.yaml


ends: 60s
steps:
# of the first step
- at:    "1 s"     # when
  do:  command
     # inside
  command: open
-
   at: '27s'
   do: fault
   lasts: +1.5s # flickers
      # deep, behind the last step
# below the steps
expect: [ {requirement: a}, {requirement: b,
   outcome: fail},   # in a flow
    # alone in a flow
   ]
notes: "plain text
         on two\\
    lines"    # behind it
   # under the text
# the end


"""
TIDY = """# what it is about

format: gatesim-scenario/1  # eol
title: 'A  x'
# before teaches
teaches:
  >-
  The front edge meets
  # no comment
    force.

  more
site: sites/a.site.yaml

ends: "60 s"
steps:
  # of the first step
  - at: "1 s"  # when
    do: command
    # inside
    command: open
  -
    at: "27 s"
    do: fault
    lasts: "+1.5 s"  # flickers
    # deep, behind the last step
  # below the steps
expect: [ {requirement: a}, {requirement: b,
    outcome: fail},  # in a flow
  # alone in a flow
  ]
notes: "plain text
  on two\\
  lines"  # behind it
# under the text
# the end
"""


def test_an_untidy_file_is_laid_out() -> None:
    assert tidy(UNTIDY.encode(), "x.scenario.yaml") == TIDY


def test_it_stays_as_it_is_laid_out() -> None:
    assert tidy(TIDY.encode(), "x.scenario.yaml") == TIDY


@pytest.mark.parametrize("file", [file for kind in collect([str(ROOT / "scenarios")]) for file in kind][::6])
def test_shipped_files_are_tidy(file: str) -> None:
    before, after = tidied(file)
    assert after == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a: [1,\n", "is not YAML here"),
        ("a: 1\na: 2\n", "stands here again"),
        ("a: &x 1\n", "anchors"),
        ("", "is empty"),
        ("a: \x07\n", "hidden character"),
    ],
)
def test_what_is_no_yaml_is_told_with_its_place(text: str, said: str) -> None:
    with pytest.raises(BadInput, match=r"x\.site\.yaml:[12]:\d+: .*" + said):
        tidy(text.encode(), "x.site.yaml")


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("250ms", '"250 ms"'), ("'250   ms'", '"250 ms"'), ("-3 s", '"-3 s"'), ("3 mm", "3 mm"), ("250", "250"),
        ("250 parsec", "250 parsec"),
        ("1_000 ms", "1_000 ms"), ('"2.5 s"', '"2.5 s"'), ("[1 s]", "[1 s]"),
    ],
)
def test_only_what_can_be_read_as_its_quantity_is_written_anew(given: str, wanted: str) -> None:
    head = "format: gatesim-scenario/1\ntitle: 250ms\nends: "
    assert tidy(f"{head}{given}\n".encode(), "x.scenario.yaml") == f"{head}{wanted}\n"


def test_blanks_that_are_a_part_of_a_text_stay() -> None:
    for text in ("a: |-\n x\n   \nb: y\n", "a: >-\n x\n  \n   z\n \nb: y\n"):
        made = tidy(text.encode(), "x.site.yaml")
        assert yaml.safe_load(made) == yaml.safe_load(text)
        assert tidy(made.encode(), "x.site.yaml") == made


def test_a_block_with_its_own_indentation_is_moved_or_refused() -> None:
    for text in ("a: |2\n    two more\n  and none\n", "a:\n  - |1\n   x\n    y\n", "a: |+\n  x\n\n\n",
                 "a: |-\n\n  x\n"):
        with suppress(BadInput):
            assert yaml.safe_load(tidy(text.encode(), "x.site.yaml")) == yaml.safe_load(text)


# --- any layout ---------------------------------------------------------------------------------------------------


class Layout:
    """Writes a tree in any layout that YAML allows, by a stream of choices."""

    def __init__(self, draw: Any) -> None:
        self.draw = draw
        self.comments: list[str] = []

    def pick(self, *choices: Any) -> Any:
        return choices[self.draw(st.integers(0, len(choices) - 1))]

    def file(self, tree: dict[str, Any]) -> str:
        lines = [*self.between(), *self.table(tree, 0), *self.between()]
        newline = self.pick("\n", "\n", "\r\n")
        return newline.join(lines) + self.pick("", newline, newline * 3)

    def between(self) -> list[str]:
        made = []
        for _ in range(self.pick(0, 0, 0, 1, 2)):
            blank = self.pick("", " ", None)  # two blanks could be a part of a text above
            made.append(" " * self.pick(0, 1, 2, 5) + self.comment() if blank is None else blank)
        return made

    def comment(self) -> str:
        self.comments.append(self.pick("# one", "#two: 'x", "# - three", "#", "# \"four\" # five"))
        return self.comments[-1]

    def behind(self) -> str:
        return "   " + self.comment() if self.pick(0, 0, 0, 0, 1) else self.pick("", " ")

    def table(self, tree: dict[str, Any], pad: int) -> list[str]:
        made: list[str] = []
        for key, value in tree.items():
            made += self.between() if made else []
            made += self.entry(" " * pad + key + self.pick("", "", " ") + ":", value, pad)
        return made

    def entry(self, head: str, value: Any, pad: int) -> list[str]:
        gap = self.pick(" ", "  ", "    ")
        if isinstance(value, str):
            return self.text(head, gap, value, pad)
        if self.pick(0, 0, 0, 1) or not value:
            return [head + gap + json.dumps(value, ensure_ascii=False) + self.behind()]
        if isinstance(value, dict):
            return [head + self.behind(), *self.between(), *self.table(value, pad + self.pick(1, 2, 4))]
        inner = pad + self.pick(0, 0, 2, 3)
        made = [head + self.behind()]
        for one in value:
            made += self.between()
            made += self.item(one, inner)
        return made

    def item(self, value: Any, pad: int) -> list[str]:
        if not isinstance(value, dict):
            return self.entry(" " * pad + "-", value, pad)
        gap = self.pick(1, 1, 3)
        first, *rest = self.table(value, pad + 1 + gap)
        return [" " * pad + "-" + " " * gap + first.lstrip(), *rest]

    def text(self, head: str, gap: str, value: str, pad: int) -> list[str]:
        plain = value.replace(" ", "").isalnum() and value[0].isalpha()
        ways = [lambda: [head + gap + json.dumps(value, ensure_ascii=False) + self.behind()]]
        if plain:
            ways.append(lambda: [head + gap + value + self.behind()])
        if plain and "  " not in value and not value.endswith(" "):
            deep = " " * (pad + self.pick(1, 2, 6))
            block = " " * (pad + 6)  # deeper than any comment, which would be a part of it
            ways += [lambda: [f"{head}{gap}{self.pick('>-', '|-')}", block + value],
                     lambda: [head + self.pick("", " "), deep + value + self.behind()],
                     lambda: [head + gap + value.replace(" ", "\n" + deep, 1).split("\n")[0],
                              *[deep + more + self.behind() for more in value.split(" ", 1)[1:]]]]
        return self.pick(*ways)()


@st.composite
def layouts(draw: Any, tree: dict[str, Any]) -> tuple[str, list[str]]:
    layout = Layout(draw)
    return layout.file(tree), layout.comments


SCENARIO_TREE = yaml.load(FIRST.read_text(), Loader=yaml.BaseLoader)


@pytest.fixture(scope="module")
def beside_a_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A place for a scenario whose site can be read."""
    folder = tmp_path_factory.mktemp("scenarios")
    (folder / "sites").mkdir()
    (folder / "sites" / SITE.name).write_bytes(SITE.read_bytes())
    return folder / FIRST.name


def value_of(file: Path, text: str) -> Scenario:
    """What it says; where its expectations stand is its layout."""
    file.write_bytes(text.encode())
    said = read_scenario(file, {row["requirement"]: () for row in SCENARIO_TREE["expect"]}, ())
    return replace(said, expected_at=())


def by_ruamel(text: str) -> tuple[Any, list[str]]:
    """Data and comments as another reader finds them."""
    reader = YAML(typ="rt", pure=True)
    data = reader.load(StringIO(text))
    comments = {id(token): token.value for token in _tokens(data)}  # one token may hang on two nodes
    lines = "\n".join(comments.values()).split("\n")
    return json.loads(json.dumps(data)), sorted(line.strip() for line in lines if line.strip())


def _tokens(node: Any) -> list[Any]:
    found: list[Any] = []
    if hasattr(node, "ca"):
        found += _flat([node.ca.comment, node.ca.end, *node.ca.items.values()])
    for value in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        found += _tokens(value)
    return found


def _flat(tokens: Any) -> list[Any]:
    if isinstance(tokens, list | tuple):
        return [one for each in tokens for one in _flat(each)]
    return [tokens] if hasattr(tokens, "value") else []


@at_most(max_examples=25)
@given(data=st.data())
def test_any_layout_says_the_same_keeps_its_comments_and_stays(beside_a_site: Path, data: st.DataObject) -> None:
    tree = SCENARIO_TREE | {"teaches": "some thing", "expect": SCENARIO_TREE["expect"][:2]}
    text, comments = data.draw(layouts(tree))
    made = tidy(text.encode(), "x.scenario.yaml")
    assert tidy(made.encode(), "x.scenario.yaml") == made
    assert yaml.load(made, Loader=yaml.BaseLoader) == tree == yaml.load(text, Loader=yaml.BaseLoader)
    assert value_of(beside_a_site, made) == value_of(beside_a_site, text)
    lines = made.split("\n")
    assert [line for line in lines if line != line.rstrip()] == []
    assert "\r" not in made
    assert "\n\n\n" not in made
    assert made.endswith("\n")
    for comment in set(comments):
        assert sum(line.endswith(comment) for line in lines) >= comments.count(comment)


def test_a_scenario_laid_out_is_the_same_scenario(beside_a_site: Path) -> None:
    """By the reader of scenarios; the comments by a reader that is not ours."""
    text = re.sub(r"^    ", "       ", FIRST.read_text(), flags=re.MULTILINE)
    text = text.replace("  - at", "  # a step\n  -    at").replace('"1 s"', "1s  # soon")
    made = tidy(text.encode(), FIRST.name)
    assert made != text
    assert by_ruamel(made)[1] == by_ruamel(text)[1] == ["# a step"] * 3 + ["# soon"]
    assert value_of(beside_a_site, made) == value_of(beside_a_site, text)


@example(raw=b"- - a\n  - b\n-   # x\n  - c\n")
@example(raw=b"? a\n: b\n")
@example(raw=b"--- {a: b}\n...\n")
@given(raw=st.text(st.sampled_from("ab-:#,[]{}'\"|> \n?\\&*1"), max_size=40).map(str.encode))
@at_most(max_examples=300)
def test_rubbish_is_refused_or_laid_out_without_a_change(raw: bytes) -> None:
    try:
        made = tidy(raw, "x.site.yaml")
    except BadInput:
        return
    assert yaml.load(made, Loader=yaml.BaseLoader) == yaml.load(raw.decode(), Loader=yaml.BaseLoader)
    assert tidy(made.encode(), "x.site.yaml") == made


def test_quantities_are_found_by_the_models() -> None:
    tree = yaml.load(FIRST.read_text(), Loader=yaml.BaseLoader)
    found = {stated.path: stated.value for stated in quantities(tree, FIRST.name)}
    assert found == {("ends",): "60 s", ("steps", 0, "at"): "1 s", ("steps", 1, "at"): "27 s",
                     ("steps", 2, "at"): "30 s", ("steps", 2, "position"): "2.4 m"}
    tree["site"] = yaml.load(SITE.read_text(), Loader=yaml.BaseLoader)
    more = {stated.path for stated in quantities(tree, FIRST.name)}
    assert ("site", "transmitters", 1, "cell", "knee") in more
    assert not list(quantities(["x"], "x.site.yaml"))
