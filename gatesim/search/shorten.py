"""The shortest story that still shows a failure: fewer steps, devices and settings, rounder times.

Greedy and deterministic: what can be left out is, as long as the same requirement fails by the same name.  A candidate
is a file like any other, read with every check; one that does not read, or fails otherwise, is not taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any, NamedTuple

from gatesim.search.story import us_text
from gatesim.units import parse_any

Tree = dict[str, Any]

OPTIONAL = {
    "command": ("origin", "held", "every", "times"),
    "obstruct": ("stiffness", "touches", "stays", "every", "times", "stands", "mass"),
    "press": ("held", "every", "times"),
    "fault": ("lasts", "gap", "flickers", "every", "times"),
    "push leaf": ("speed", "by", "every", "times"),
}
"""What a step may state and need not."""
DEVICES = ("edges", "zones", "transmitters", "wired_inputs", "beams")
"""Lists of a site from which one may be left out."""
GRAINS = (10_000_000, 5_000_000, 1_000_000, 100_000, 10_000, 1_000)
"""To these (us) times are rounded, the coarsest that still fails first."""


class Failure(NamedTuple):
    """What must still fail."""

    requirement: str
    failure: str


class Short(NamedTuple):
    """What came of it: the tree, and how many candidates were tried and how many steps and lines went."""

    tree: Tree
    tried: int
    steps_before: int
    steps: int


def shorten(tree: Tree, fails: Callable[[Tree], bool], site: Tree | None = None) -> Short:
    """The shortest tree found.  `fails` reads a candidate and says whether it fails the same way.

    `site`: the tree of the site that the scenario names by path; where a device can go, it is taken into the file.
    """
    work = _Work(deepcopy(tree), fails)
    before = len(work.tree["steps"])
    while work.once():
        pass
    if site is not None:
        work.devices(site)
    while work.once():
        pass
    return Short(work.tree, work.tried, before, len(work.tree["steps"]))


class _Work:
    """A tree that gets shorter."""

    def __init__(self, tree: Tree, fails: Callable[[Tree], bool]) -> None:
        self.tree, self.fails = tree, fails
        self.tried = 0

    def take(self, candidate: Tree) -> bool:
        """Take a candidate over if it fails the same way."""
        self.tried += 1
        if not self.fails(candidate):
            return False
        self.tree = candidate
        return True

    def once(self) -> bool:
        """Every way of shortening once; whether any did."""
        shorter = [self._without("steps"), self._without("overrides"), self._plainer(), self._rounder(),
                   self._sooner(), self._bare()]
        return any(shorter)

    def _without(self, name: str) -> bool:
        """Leave out runs of entries, long ones first."""
        any_went, size = False, len(self.tree.get(name, [])) // 2 or 1
        while size >= 1 and self.tree.get(name):
            at = 0
            while at < len(self.tree.get(name, [])):
                entries = self.tree[name]
                candidate = {**self.tree, name: entries[:at] + entries[at + size:]}
                if not candidate[name] and name != "steps":
                    del candidate[name]
                if self.take(candidate):
                    any_went = True
                else:
                    at += size
            size //= 2
        return any_went

    def _plainer(self) -> bool:
        """Steps with fewer fields."""
        any_went = False
        for k, step in enumerate(self.tree["steps"]):
            for name in OPTIONAL.get(step.get("do", ""), ()):
                if name in self.tree["steps"][k]:
                    any_went |= self.take(self._step(k, {n: v for n, v in self.tree["steps"][k].items() if n != name}))
        return any_went

    def _rounder(self) -> bool:
        """Rounder times of steps."""
        any_went = False
        for k in range(len(self.tree["steps"])):
            at = _us(self.tree["steps"][k]["at"])
            for grain in GRAINS:
                rounded = (at + grain // 2) // grain * grain
                if at % grain == 0:
                    break
                if self.take(self._step(k, {**self.tree["steps"][k], "at": us_text(rounded)})):
                    any_went = True
                    break
        return any_went

    def _sooner(self) -> bool:
        """An earlier end, by halving."""
        ends, low, any_went = _us(self.tree["ends"]), 0, False
        while ends - low > 1_000_000:
            middle = (ends + low) // 2 // 1_000_000 * 1_000_000
            if middle in (low, ends):
                break
            if self.take({**self.tree, "ends": us_text(middle)}):
                ends, any_went = middle, True
            else:
                low = middle
        return any_went

    def _bare(self) -> bool:
        """No claims about the matrix, which is about the story that was."""
        if "covers" not in self.tree:
            return False
        return self.take({name: value for name, value in self.tree.items() if name != "covers"})

    def _step(self, k: int, step: Tree) -> Tree:
        steps = self.tree["steps"]
        return {**self.tree, "steps": [*steps[:k], step, *steps[k + 1:]]}

    def devices(self, site: Tree) -> None:
        """Leave devices of the site out; with any gone the site stands in the file."""
        inline = {name: value for name, value in site.items() if name != "format"}
        best: Tree | None = None
        while (found := self._fewer(best or inline)) is not None:
            best = found

    def _fewer(self, site: Tree) -> Tree | None:
        for candidate in _one_less(site):
            if self.take({**self.tree, "site": candidate}):
                return candidate
        return None


def _one_less(site: Tree) -> Iterator[Tree]:
    """The site without one device, and without what hangs on it."""
    for kind in DEVICES:
        for k, device in enumerate(site.get(kind, [])):
            less = deepcopy(site)
            del less[kind][k]
            name = device["name"]
            if kind == "transmitters" and "receiver" in less:
                less["receiver"]["pairs"] = [one for one in less["receiver"]["pairs"] if one != name]
                less["edges"] = [edge for edge in less.get("edges", []) if edge["input"] != name]
            elif kind == "wired_inputs":
                less["edges"] = [edge for edge in less.get("edges", []) if edge["input"] != name]
            elif kind == "zones":
                less["edges"] = [edge for edge in less.get("edges", []) if edge["zone"] != name]
            yield _tidy(less)


def _tidy(site: Tree) -> Tree:
    """No transmitter or input that nothing hangs on, and no empty list."""
    used = {edge["input"] for edge in site.get("edges", [])}
    for kind in ("transmitters", "wired_inputs"):
        if kind in site:
            site[kind] = [one for one in site[kind] if one["name"] in used]
    if "receiver" in site:
        site["receiver"]["pairs"] = [name for name in site["receiver"]["pairs"] if name in used]
        if not site["receiver"]["pairs"]:
            del site["receiver"]
    return {name: value for name, value in site.items() if value != []}


def _us(text: str) -> int:
    """Whole microseconds of a duration as a file states it."""
    return parse_any(text).whole
