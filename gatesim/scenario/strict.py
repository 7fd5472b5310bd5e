"""YAML read strictly: every scalar stays text, every value and key has its place, all faults are told at once.

Refused: duplicate keys, anchors, aliases, merge keys, tags, directives, several documents, empty values, control
characters, files that are not UTF-8 or not regular, larger than `MOST_BYTES`, deeper than `MOST_DEPTH`, or with more
than `MOST_NODES` nodes.  The limits hold while reading, so hostile files cost no more than large ones.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from gatesim.errors import BadInput, Trouble
from gatesim.shown import HIDDEN
from gatesim.units import clip

MOST_BYTES = 256 * 1024
MOST_DEPTH = 32
MOST_NODES = 20_000
MOST_TROUBLES = 200

TreePath = tuple[str | int, ...]
"""Where a value stands in a file: keys and list indices."""

_NOTHING = frozenset({"", "~", "null", "Null", "NULL"})
"""Plain words that stand for no value in YAML; quoted they are text."""


class Spot(NamedTuple):
    """A place in a file, counted from 1."""

    file: str
    line: int
    column: int


class Broken:
    """Stands where a refused value stood, so that it is not complained of twice."""

    def __repr__(self) -> str:
        return "a refused value"

    def __deepcopy__(self, memo: object) -> Broken:
        return self


BROKEN = Broken()


@dataclass(slots=True)
class Tree:
    """A file's content: dicts, lists and texts, and the places of its values and keys.

    `troubles` are the faults found so far; the content of a tree with troubles is what could still be read.
    """

    file: str
    data: Any = BROKEN
    values: dict[TreePath, Spot] = field(default_factory=dict)
    keys: dict[TreePath, Spot] = field(default_factory=dict)
    troubles: list[Trouble] = field(default_factory=list)
    complete: bool = True
    """Whether the file was read to its end; of another one, nothing is known to be missing."""

    def say(self, spot: Spot, message: str, hint: str = "") -> None:
        """Note a fault."""
        self.troubles.append(Trouble(spot.file, spot.line, spot.column, message, hint))

    def spot(self, path: TreePath, key: bool = False) -> Spot:
        """The place of a value (or of its key); of the nearest holder where it is absent."""
        while path:
            found = (self.keys if key else self.values).get(path) or self.values.get(path)
            if found is not None:
                return found
            path, key = path[:-1], True
        return self.values.get((), Spot(self.file, 1, 1))


def shown(path: str | os.PathLike[str]) -> str:
    """A path as text that can always be printed: odd bytes and control characters are escaped."""
    text = os.fspath(path).encode("utf-8", "backslashreplace").decode("utf-8")
    return HIDDEN.sub(lambda found: ascii(found.group())[1:-1], text.replace("\n", "\\n").replace("\t", "\\t"))


def raise_all(troubles: list[Trouble]) -> None:
    """Raise BadInput with all troubles, sorted by place and each once; nothing where there are none."""
    if not troubles:
        return
    kept = sorted(set(troubles))
    if len(kept) > MOST_TROUBLES:
        last = kept[MOST_TROUBLES]
        more = Trouble(last.file, last.line, last.column, f"and {len(kept) - MOST_TROUBLES} more faults from here on")
        kept = [*kept[:MOST_TROUBLES], more]
    raise BadInput(tuple(kept))


def read_bytes(path: Path, name: str = "") -> bytes:
    """The content of a regular file of at most MOST_BYTES, called `name` in messages; BadInput otherwise.

    Opened without waiting and counted as read, so that neither a pipe nor a lying size can hang or flood it.
    """
    file = name or shown(path)

    def refuse(message: str, hint: str = "") -> BadInput:
        return BadInput((Trouble(file, 1, 1, message, hint),))

    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError) as error:
        raise refuse(f"can't be opened: {getattr(error, 'strerror', None) or 'not a possible name'}") from None
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise refuse("is not a regular file")
        parts, size = [], 0
        while size <= MOST_BYTES and (part := os.read(handle, MOST_BYTES + 1 - size)):
            parts.append(part)
            size += len(part)
    except OSError as error:
        raise refuse(f"can't be read: {error.strerror}") from None
    finally:
        os.close(handle)
    if size > MOST_BYTES:
        raise refuse(f"is larger than {MOST_BYTES // 1024} KiB", "split it")
    return b"".join(parts)


def read_tree(path: Path, name: str = "") -> Tree:
    """The tree of a file, called `name` in messages.

    Raises BadInput only where the file can't be read at all; else see `Tree.troubles`.

    Trees are shared between calls: never change one, copy it.
    """
    return parse_tree(read_bytes(path, name), name or shown(path))


@lru_cache(maxsize=16)
def parse_tree(raw: bytes, file: str) -> Tree:
    """The tree of a file's bytes."""
    tree = Tree(file)
    text = _decoded(raw, tree)
    if text is None:
        tree.complete = False
    else:
        _Builder(tree).build(text)
    return tree


def _place(text: str, index: int) -> tuple[int, int]:
    """Line and column, from 1, of an index."""
    before = text[:index].replace("\r\n", "\n").replace("\r", "\n")
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def _decoded(raw: bytes, tree: Tree) -> str | None:
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line, column = _place(raw[: error.start].decode("utf-8", "replace"), error.start)
        tree.say(Spot(tree.file, line, column), "is not UTF-8 text here", "save the file as UTF-8")
        return None
    text = text.removeprefix("\ufeff")
    found = HIDDEN.search(text)
    if found is not None:
        spot = Spot(tree.file, *_place(text, found.start()))
        tree.say(spot, f"holds the hidden character {found.group()!a}", "take it out")
        return None
    return text


class _StopError(Exception):
    """Reading on makes no sense; the reason is noted."""


@dataclass(slots=True)
class _Holder:
    """A mapping or list that is being filled; `key` is the key that waits for its value."""

    content: dict[str, Any] | list[Any]
    path: TreePath
    key: str | Broken | None = None


class _Builder:
    """Builds a tree from YAML events with a stack of our own, so depth costs nothing."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.stack: list[_Holder] = []
        self.nodes = 0
        self.documents = 0

    def build(self, text: str) -> None:
        import yaml

        self.tree.complete = False
        try:
            for event in _events(text):
                self._take(event, yaml)
                if len(self.tree.troubles) > MOST_TROUBLES:
                    break
            else:
                self.tree.complete = True
        except _StopError:
            pass
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            spot = self._spot(mark) if mark is not None else Spot(self.tree.file, 1, 1)
            said = error.problem or error.context or "can't be read"
            self.tree.say(spot, f"is not YAML here: {clip(said, 100)[1:-1]}", _syntax_hint(said))
        except (yaml.YAMLError, ValueError, OverflowError):
            line = text.count("\n") + 1
            self.tree.say(Spot(self.tree.file, line, 1), "is not YAML: an escape stands for no character")
        if not self.tree.troubles and self.tree.data is BROKEN:
            self.tree.complete = False
            self.tree.say(Spot(self.tree.file, 1, 1), "is empty")

    def _spot(self, mark: Any) -> Spot:
        return Spot(self.tree.file, mark.line + 1, mark.column + 1)

    def _take(self, event: Any, yaml: Any) -> None:
        spot = self._spot(event.start_mark)
        if isinstance(event, yaml.DocumentStartEvent):
            self._document(event, spot)
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            self.stack.pop()
        elif isinstance(event, yaml.NodeEvent):
            self.nodes += 1
            if self.nodes > MOST_NODES:
                self.tree.say(spot, f"holds more than {MOST_NODES} values", "split the file")
                raise _StopError
            self._node(event, spot, yaml)

    def _document(self, event: Any, spot: Spot) -> None:
        self.documents += 1
        if self.documents > 1:
            self.tree.say(spot, "a second document begins here", "one file holds one document")
            raise _StopError
        if event.version or event.tags:
            self.tree.say(spot, "directives (%) are refused", "take the line out")

    def _node(self, event: Any, spot: Spot, yaml: Any) -> None:
        sound = True
        if isinstance(event, yaml.AliasEvent):
            self.tree.say(spot, "aliases (*) are refused", "write the value out")
            return self._put(BROKEN, spot)
        if event.anchor is not None:
            self.tree.say(spot, "anchors (&) are refused", "take it out and write values where they are used")
        if event.tag is not None:
            self.tree.say(spot, f"tags (!) are refused: {clip(event.tag)}", "every value is plain text here")
            sound = False
        if isinstance(event, yaml.ScalarEvent):
            return self._put(self._text(event, spot) if sound else BROKEN, spot)
        if len(self.stack) >= MOST_DEPTH:
            self.tree.say(spot, f"is nested more than {MOST_DEPTH} deep")
            raise _StopError
        content: dict[str, Any] | list[Any] = {} if isinstance(event, yaml.MappingStartEvent) else []
        self._put(content, spot)
        self.stack.append(_Holder(content, self._path_of_last()))
        return None

    def _text(self, event: Any, spot: Spot) -> Any:
        text: str = event.value
        plain = not event.style
        if plain and text in _NOTHING:
            holder = self.stack[-1] if self.stack else None
            is_value = holder is not None and (isinstance(holder.content, list) or holder.key is not None)
            if is_value:
                self.tree.say(spot, "a value is missing here", "write one, or take the line out")
            return BROKEN
        if plain and text == "<<":
            self.tree.say(spot, "merge keys (<<) are refused", "write the values out")
            return BROKEN
        found = HIDDEN.search(text)
        if found is not None:
            self.tree.say(spot, f"holds the hidden character {found.group()!a}", "take it out")
            return BROKEN
        return text

    def _path_of_last(self) -> TreePath:
        """Path of the container that was just put."""
        return self._last

    _last: TreePath = ()

    def _put(self, value: Any, spot: Spot) -> None:
        if not self.stack:
            self.tree.data = value
            self.tree.values[()] = spot
            self._last = ()
            return
        holder = self.stack[-1]
        if isinstance(holder.content, list):
            self._last = (*holder.path, len(holder.content))
            holder.content.append(value)
            self.tree.values[self._last] = spot
        elif holder.key is None:
            self._key(holder, value, spot)
        else:
            key, holder.key = holder.key, None
            if isinstance(key, Broken):
                self._last = (*holder.path, "?")
                return
            self._last = (*holder.path, key)
            holder.content[key] = value
            self.tree.values[self._last] = spot

    def _key(self, holder: _Holder, value: Any, spot: Spot) -> None:
        assert isinstance(holder.content, dict)
        self._last = (*holder.path, "?")
        holder.key = BROKEN
        if value is BROKEN:
            return
        if not isinstance(value, str):
            self.tree.say(spot, "a key must be one word, not a list or table")
            return
        path = (*holder.path, value)
        if value in holder.content:
            first = self.tree.keys[path].line
            self.tree.say(spot, f"key {clip(value)} stands here again; first in line {first}", "keep one of them")
            return
        holder.key = value
        self.tree.keys[path] = spot


def _syntax_hint(said: str) -> str:
    if "mapping values" in said:
        return "a colon in a text needs quotes, and a key must be alone on its line"
    if "'\\t'" in said or "tab" in said:
        return "indent with spaces, not tabs"
    if "block end" in said or "block collection" in said:
        return "check the indentation of this line against the one above"
    return ""


def _events(text: str) -> Iterator[Any]:
    import yaml

    return iter(yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)))
