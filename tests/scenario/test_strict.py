"""YAML read strictly: text stays text, places are right, hostile files are refused soon."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.errors import BadInput
from gatesim.scenario.strict import (
    BROKEN,
    MOST_BYTES,
    MOST_DEPTH,
    MOST_NODES,
    MOST_TROUBLES,
    Tree,
    parse_tree,
    raise_all,
    read_bytes,
    read_tree,
    shown,
)


def tree_of(text: str) -> Tree:
    return parse_tree(text.encode(), "f.yaml")


def test_every_scalar_stays_text() -> None:
    tree = tree_of('a: on\nb: 010\nc: 1:30\nd: 1e3\ne: [yes, 0x1, .nan, 2001-01-01]\nf: "~"\ng: true\n')
    assert not tree.troubles
    found = {"a": "on", "b": "010", "c": "1:30", "d": "1e3", "e": ["yes", "0x1", ".nan", "2001-01-01"], "f": "~"}
    assert tree.data == {**found, "g": "true"}


def test_values_and_keys_have_their_places() -> None:
    tree = tree_of("a:\n  - x\n  - {b: y,\n     c: \u00e9 z}\n")
    assert tree.values[("a", 0)][1:] == (2, 5)
    assert tree.keys[("a", 1, "b")][1:] == (3, 6)
    assert tree.values[("a", 1, "c")][1:] == (4, 9)
    assert tree.spot(("a", 1, "absent"), key=True)[1:] == (3, 5)
    assert tree.spot(("absent",))[1:] == (1, 1)


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, 1, "'a' stands here again; first in line 1"),
        ("a: &x 1\n", 1, 4, "anchors"),
        ("a: *x\n", 1, 4, "aliases"),
        ("a: 1\n<<: {b: 1}\n", 2, 1, "merge keys"),
        ("a: !!str 1\n", 1, 4, "tags"),
        ("a: !!python/object/apply:os.system [x]\n", 1, 4, "tags"),
        ("a: ! 1\n", 1, 4, "tags"),
        ("%YAML 1.1\n---\na: 1\n", 1, 1, "directives"),
        ("a: 1\n---\nb: 1\n", 2, 1, "second document"),
        ("a:\nb: 1\n", 1, 3, "a value is missing"),
        ("a: ~\n", 1, 4, "a value is missing"),
        ("a: [b, null]\n", 1, 8, "a value is missing"),
        ("? [a]\n: b\n", 1, 3, "one word"),
        ("a: b: c\n", 1, 5, "not YAML"),
        ("a:\n\t- b\n", 2, 1, "not YAML"),
        ('a: "\\0"\n', 1, 4, "hidden character"),
        ('a: "\\ud800"\n', 1, 7, "escape"),
        ("a: x\u202ey\n", 1, 5, "hidden character"),
        ("a: x\x00y\n", 1, 5, "hidden character"),
        ('a: "\\UFFFFFFFF"\n', 1, 7, "escape"),
        ("", 1, 1, "empty"),
        ("# only\n", 1, 1, "empty"),
    ],
)
def test_what_is_refused_has_its_place(text: str, line: int, column: int, said: str) -> None:
    troubles = tree_of(text).troubles
    assert troubles
    assert (troubles[0].line, troubles[0].column) == (line, column)
    assert said in f"{troubles[0].message}; {troubles[0].hint}"


def test_all_faults_of_a_file_are_told() -> None:
    tree = tree_of("a: &x 1\nb: *x\na: 2\nc: !t 3\nd:\n")
    assert [trouble.line for trouble in tree.troubles] == [1, 2, 3, 4, 5]
    assert tree.data["b"] is BROKEN


def test_depth_and_number_of_values_hold_at_their_very_ends() -> None:
    assert not tree_of("[" * (MOST_DEPTH - 1) + "[a]" + "]" * (MOST_DEPTH - 1)).troubles
    assert "deep" in tree_of("[" * MOST_DEPTH + "[a]" + "]" * MOST_DEPTH).troubles[0].message
    assert not tree_of("[" + "a," * (MOST_NODES - 1) + "]").troubles
    assert "more than" in tree_of("[" + "a," * MOST_NODES + "]").troubles[0].message


def test_text_that_is_not_utf8_is_refused_at_its_line() -> None:
    tree = parse_tree(b"a: b\nc: \xff\n", "f")
    assert (tree.troubles[0].line, tree.troubles[0].column) == (2, 4)
    assert parse_tree("a: b".encode("utf-16"), "f").troubles
    assert parse_tree("\ufeffa: b".encode(), "f").data == {"a": "b"}


def test_only_regular_files_of_a_bounded_size_are_read(tmp_path: Path) -> None:
    file = tmp_path / "f"
    file.write_bytes(b"#" * MOST_BYTES)
    assert len(read_bytes(file)) == MOST_BYTES
    file.write_bytes(b"#" * (MOST_BYTES + 1))
    with pytest.raises(BadInput, match="256 KiB"):
        read_bytes(file)
    for other in (tmp_path, tmp_path / "absent", Path("/dev/zero"), tmp_path / ("x" * 5000), Path("a\0b")):
        with pytest.raises(BadInput):
            read_bytes(other)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_does_not_hang_the_reader(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "p.site.yaml")
    with pytest.raises(BadInput, match="not a regular file"):
        read_tree(tmp_path / "p.site.yaml")


def test_a_path_can_always_be_printed() -> None:
    assert shown(os.fsdecode(b"a\xff\x1b[31m\n.yaml")).isprintable()


def test_many_troubles_are_cut_and_counted() -> None:
    tree = tree_of("- !a b\n" * 1000)
    with pytest.raises(BadInput) as caught:
        raise_all(tree.troubles * 3 + tree_of("- &a b\n" * 1000).troubles)
    assert len(caught.value.troubles) == MOST_TROUBLES + 1
    assert "more faults" in caught.value.troubles[-1].message


K = MOST_BYTES
HOSTILE: dict[str, bytes] = {
    "brackets": b"[" * K,
    "braces": b"{" * K,
    "flat list": b"- a\n" * (K // 4),
    "flat flow": b"[" + b"a," * (K // 2 - 1),
    "comments": b"#\n" * (K // 2),
    "newlines": b"\n" * K,
    "escapes": b'"' + b"\\x41" * (K // 4 - 1) + b'"',
    "many lines": b"a: " + b"b\n " * (K // 3 - 2),
    "words": b"a: " + b"b " * (K // 2 - 2),
    "long key": b"a" * (K - 3) + b": b",
    "keys": b"".join(b"k%d: v\n" % k for k in range(20_000))[:K],
    "same key": b"k: v\n" * (K // 5),
    "questions": b"? " * (K // 2),
    "dashes": b"- " * (K // 2),
    "bomb": b"a: &a [x]\n" + b"".join(b"b%d: &b%d [*a,*a,*a]\n" % (k, k) for k in range(5_000)),
    "merges": b"".join(b"k%d: {<<: [*a, *b]}\n" % k for k in range(5_000)),
    "documents": b"---\n" * (K // 4),
    "tags": b"- !a b\n" * (K // 7),
    "block": b"a: |\n" + b" x\n" * (K // 3 - 3),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_cost_less_than_a_second(name: str) -> None:
    began = time.process_time()
    tree = parse_tree(HOSTILE[name], f"{name}.yaml")
    spent = time.process_time() - began
    # Processor time, so that a busy machine does not fail this; measured about 0.6 s at the worst.  A tracer of lines
    # (coverage) slows our own part and not the yardstick, so nothing is measured under one.
    if sys.gettrace() is None:
        assert spent < 1.0 * _slowness()
    assert len(tree.troubles) <= MOST_TROUBLES + 2


def _slowness() -> float:
    """How much slower this machine is now than the one the bound was set on; at least 1."""
    began = time.process_time()
    total = 0
    for k in range(300_000):
        total += k
    return max(1.0, (time.process_time() - began) / 0.02)


def walk(data: Any) -> None:
    if isinstance(data, dict):
        for key, value in data.items():
            assert isinstance(key, str)
            walk(value)
    elif isinstance(data, list):
        for value in data:
            walk(value)
    else:
        assert isinstance(data, str) or data is BROKEN


@given(st.binary(max_size=200))
@settings(max_examples=300, deadline=None, derandomize=True, database=None)
def test_any_bytes_make_a_tree_of_text_or_troubles(raw: bytes) -> None:
    tree = parse_tree(raw, "f")
    walk(tree.data)
    assert tree.troubles or tree.complete


@given(st.text(alphabet="ab:-?[]{}\"'|>&*!%#\\\n\t ,~<0", max_size=60))
@settings(max_examples=500, deadline=None, derandomize=True, database=None)
def test_any_punctuation_makes_a_tree_of_text_or_troubles(text: str) -> None:
    tree = parse_tree(text.encode(), "f")
    walk(tree.data)
    for trouble in tree.troubles:
        assert trouble.line >= 1
        assert trouble.column >= 1
        assert str(trouble).isprintable()
