"""What is written, the strict reader reads as it was."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.scenario.strict import read_tree
from gatesim.scenario.write import scalar, text_of

TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=12) | st.sampled_from(
    ["no", "on", "1.5", "1:30", "a: b", "- x", "#", "a #b", "~", "null", 'say "so"', "back\\slash", "two words", " x "])
NAMES = st.text("abcdefgh_", min_size=1, max_size=6).filter(lambda name: name not in {"f", "n", "y"})
TREES = st.dictionaries(
    NAMES,
    st.recursive(
        TEXTS,
        lambda inner: st.lists(inner, min_size=1, max_size=3)
        | st.dictionaries(NAMES, inner, min_size=1, max_size=3),
        max_leaves=8,
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=40)
@given(TREES)
def test_it_reads_back(tmp_path_factory, tree) -> None:
    file = tmp_path_factory.mktemp("written") / "x.scenario.yaml"
    file.write_text(text_of(tree), encoding="utf-8")
    read = read_tree(file, "x")
    assert read.troubles == []
    assert read.data == tree


def test_words_that_others_misread_are_quoted() -> None:
    for word in ("yes", "No", "ON", "null", "true", "y", "5 %", "1.5 s"):
        assert scalar(word) == f'"{word}"'
    assert scalar("through the travel") == "through the travel"
