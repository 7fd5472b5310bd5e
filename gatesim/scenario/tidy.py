"""A file laid out anew: indentation, gaps and quantities alike everywhere, comments and texts where they were.

Lines are changed, nothing is written out of a tree: so a comment can't be lost, and what is not understood stays as it
stands.  What comes out is read again and must say the same, with the same comments; else the file is refused.
`yaml` is used as a scanner only: its tokens tell where keys, dashes and texts stand.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, NamedTuple

from gatesim.errors import BadInput, Trouble
from gatesim.scenario.quantities import quantities
from gatesim.scenario.strict import Tree, TreePath, parse_tree, raise_all, read_bytes, shown
from gatesim.units import BadQuantity, Quantity, parse

STEP = 2
_QUANTITY = re.compile(r"([+-]?[0-9]+(?:\.[0-9]+)?) *(\S+)")
_GAP_AND_COMMENT = re.compile(r"\s*(#.*?)?\s*")


class Level(NamedTuple):
    """A table or list that is open: where its entries stood, where they will stand."""

    column: int
    indent: int
    is_list: bool
    unsaid: bool = False
    """A list whose dashes stand under the key itself; YAML's scanner does not announce it."""


class Edit(NamedTuple):
    """A stretch of a line that becomes something else."""

    begin: int
    end: int
    text: str


def tidied(path: str) -> tuple[str, str]:
    """A site or scenario file as it stands, and as it is laid out.  BadInput where it is no YAML that is read here."""
    raw = read_bytes(Path(path), shown(path))
    return raw.decode("utf-8", "replace"), tidy(raw, shown(path))


def tidy(raw: bytes, file: str) -> str:
    """A file's bytes laid out.  BadInput with all that keeps it from being read as a tree."""
    tree = parse_tree(raw, file)
    raise_all(list(tree.troubles))
    text = raw.decode("utf-8").removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    wanted = _quantities(tree)
    import yaml

    try:
        page = _Page(text, {tree.values[path]: said for path, said in wanted.items()})
        made = page.laid_out()
        again = parse_tree(made.encode(), file)
        if not again.troubles and again.data == _with(tree.data, wanted) and _Page(made, {}).comments == page.comments:
            return made
    except yaml.YAMLError:  # the scanner is not the strict reader's, and knows a little less
        pass
    raise BadInput((Trouble(file, 1, 1, "can't be laid out without a change of what it says",
                            "it is left as it is; write its longer texts as blocks (>-)"),))


def _quantities(tree: Tree) -> dict[TreePath, str]:
    """Quantities of the file as they are to be written: number, one blank, unit."""
    found: dict[TreePath, str] = {}
    for path, kind, value in quantities(tree.data, tree.file):
        said = _spaced(value, kind)
        if said is not None:
            found[path] = said
    return found


def _spaced(text: Any, kind: Quantity) -> str | None:
    match = _QUANTITY.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        return None
    said = f"{match[1]} {match[2]}"
    anything = Quantity(kind.dimension, None, None)  # its range is for `gatesim check`
    try:
        return said if parse(said, anything) == parse(text, anything) else None
    except BadQuantity:
        return None


def _with(data: Any, wanted: dict[TreePath, str], path: TreePath = ()) -> Any:
    """The data with these texts in it."""
    if isinstance(data, dict):
        return {key: _with(value, wanted, (*path, key)) for key, value in data.items()}
    if isinstance(data, list):
        return [_with(value, wanted, (*path, k)) for k, value in enumerate(data)]
    return wanted.get(path, data)


class _Page:
    """A text with what its tokens say of each line."""

    def __init__(self, text: str, wanted: dict[Any, str]) -> None:
        self.lines = text.split("\n")
        self.wanted = {(spot.line - 1, spot.column - 1): said for spot, said in wanted.items()}
        self.edits: dict[int, list[Edit]] = {}
        self.indents: dict[int, int] = {}
        """Of the lines that begin with a token."""
        self.levels: dict[int, Level] = {}
        """On which level such a line stands."""
        self.open_after: dict[int, tuple[Level, ...]] = {}
        """The levels that are open behind such a line."""
        self.tails: dict[int, int] = {}
        """Where the last token of a line ends."""
        self.inside: dict[int, str] = {}
        """Lines inside of a text of several lines, ready."""
        self.stack: list[Level] = []
        self.flow = 0
        self._scan(text)
        self.comments = [found for number in range(len(self.lines)) if (found := self._comment(number))]

    # --- tokens ---------------------------------------------------------------------------------------------------

    def _scan(self, text: str) -> None:
        import yaml

        before: Any = None
        for token in yaml.scan(text, Loader=yaml.SafeLoader):
            self._open_or_close(token, yaml)
            if token.start_mark.index < token.end_mark.index:
                self._note(token, before, yaml)
                before = token
            if isinstance(token, (yaml.FlowSequenceStartToken, yaml.FlowMappingStartToken)):
                self.flow += 1

    def _open_or_close(self, token: Any, yaml: Any) -> None:
        column = token.start_mark.column
        if isinstance(token, (yaml.BlockMappingStartToken, yaml.BlockSequenceStartToken)):
            self._open(column, isinstance(token, yaml.BlockSequenceStartToken))
        elif isinstance(token, (yaml.FlowSequenceEndToken, yaml.FlowMappingEndToken)):
            self.flow -= 1
        elif self.flow:
            return
        elif isinstance(token, yaml.BlockEntryToken) and self.stack and not self.stack[-1].is_list:
            self._open(column, True, unsaid=True)
        elif isinstance(token, (yaml.KeyToken, yaml.BlockEndToken)):
            if self.stack and self.stack[-1].unsaid:
                self.stack.pop()
            if isinstance(token, yaml.BlockEndToken):
                self.stack.pop()

    def _open(self, column: int, is_list: bool, unsaid: bool = False) -> None:
        self.stack.append(Level(column, self._inner, is_list, unsaid))

    @property
    def _inner(self) -> int:
        """Where what the innermost level holds stands."""
        return self.stack[-1].indent + STEP if self.stack else 0

    def _note(self, token: Any, before: Any, yaml: Any) -> None:
        begin, end = token.start_mark, token.end_mark
        if begin.line not in self.indents:
            self.indents[begin.line] = self._indent_of(token, yaml)
            self.levels[begin.line] = self.stack[-1] if self.stack else Level(0, 0, False)
        elif before is not None and not self.flow and before.end_mark.line == begin.line:
            self._gap(before, token, yaml)
        if isinstance(token, yaml.ScalarToken):
            self._text(token)
        elif not isinstance(token, yaml.KeyToken) or token.end_mark.column > begin.column:
            self.tails[end.line] = end.column
        self.open_after[begin.line] = tuple(self.stack)

    def _indent_of(self, token: Any, yaml: Any) -> int:
        if self.flow:
            return max(self._inner - STEP, 0) + STEP * self.flow
        starts = (yaml.KeyToken, yaml.BlockEntryToken, yaml.ValueToken)
        is_key = isinstance(token, yaml.ScalarToken) and self.stack and not self.stack[-1].is_list \
            and token.start_mark.column == self.stack[-1].column
        if isinstance(token, (yaml.FlowSequenceEndToken, yaml.FlowMappingEndToken)):
            return self._inner
        if isinstance(token, starts) or is_key:
            return self.stack[-1].indent if self.stack else 0
        return self._inner

    def _gap(self, before: Any, token: Any, yaml: Any) -> None:
        left, right = before.end_mark, token.start_mark
        if isinstance(token, yaml.ValueToken):
            self._edit(left.line, Edit(left.column, right.column, ""))
        elif isinstance(before, (yaml.ValueToken, yaml.BlockEntryToken)):
            self._edit(left.line, Edit(left.column, right.column, " "))

    def _edit(self, line: int, edit: Edit) -> None:
        self.edits.setdefault(line, []).append(edit)

    # --- texts ----------------------------------------------------------------------------------------------------

    def _text(self, token: Any) -> None:
        begin, end = token.start_mark, token.end_mark
        said = self.wanted.get((begin.line, begin.column))
        if said is not None and begin.line == end.line:
            self._edit(begin.line, Edit(begin.column, end.column, f'"{said}"'))
        if token.style in ("|", ">"):
            self._block(begin.line, end.line if end.column else end.line - 1)
            return
        if begin.line < end.line:
            self._folded(begin.line, end.line)
        self.tails[end.line] = end.column

    def _folded(self, first: int, last: int) -> None:
        """A plain or quoted text of several lines, of which indentation is no part."""
        self.tails[first] = len(self.lines[first])
        indent = max(self._inner + STEP * self.flow, STEP)
        for number in range(first + 1, last):
            rest = self.lines[number].lstrip()
            self.inside[number] = " " * indent + rest if rest else ""
        self.indents[last] = indent
        self.levels[last] = self.stack[-1] if self.stack else Level(0, 0, False)
        self.open_after[last] = tuple(self.stack)

    def _block(self, head: int, last: int) -> None:
        self.tails[head] = len(self.lines[head].rstrip())
        keeps = "+" in self.lines[head].rpartition(">" if ">" in self.lines[head] else "|")[2].split("#")[0]
        own = [line for line in self.lines[head + 1 : last + 1] if line.strip()]
        base = min((len(line) - len(line.lstrip(" ")) for line in own), default=0)
        # Blanks beyond the text's indentation are a part of it.
        while not keeps and last > head and not self.lines[last].strip() and not self.lines[last][base:]:
            last -= 1
        for number in range(head + 1, last + 1):
            rest = self.lines[number][base:]
            self.inside[number] = " " * max(self._inner, STEP) + rest if rest else ""

    # --- the page -------------------------------------------------------------------------------------------------

    def _comment(self, number: int) -> str:
        """The comment of a line, if it has one."""
        if number in self.inside:
            return ""
        rest = self.lines[number][self.tails.get(number, 0) :]
        found = _GAP_AND_COMMENT.fullmatch(rest)
        return (found[1] or "") if found else ""

    def laid_out(self) -> str:
        """The text as it is to be."""
        made: list[str] = []
        last = -1
        for number, line in enumerate(self.lines):
            if number in self.inside:
                made.append(self.inside[number])
            elif number in self.indents:
                made.append(self._line(number))
            elif line.strip():
                made.append(" " * self._beside(number, last) + line.strip())
            elif made and made[-1].strip():
                made.append("")
            if number in self.open_after:
                last = number
        while made and not made[-1]:
            made.pop()
        return "\n".join(made) + "\n"

    def _line(self, number: int) -> str:
        line, tail = self.lines[number], self.tails.get(number, 0)
        said = line[:tail]
        for edit in sorted(self.edits.get(number, ()), reverse=True):
            said = said[: edit.begin] + edit.text + said[edit.end :]
        comment = self._comment(number)
        rest = f"  {comment}" if comment else ""
        return " " * self.indents[number] + said.lstrip() + rest

    def _beside(self, number: int, last: int) -> int:
        """Where a comment that stands alone goes: on the level on which it stood, of those open there."""
        following = next((k for k in range(number + 1, len(self.lines)) if k in self.indents), None)
        if following is None:
            below = Level(0, 0, False)
        else:
            below = self.levels[following]._replace(indent=self.indents[following])
        column = len(self.lines[number]) - len(self.lines[number].lstrip())
        chain = [level for level in self.open_after.get(last, ()) if level.indent >= below.indent]
        return next((level.indent for level in reversed(chain) if level.column <= column), below.indent)
