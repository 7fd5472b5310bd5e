"""Suites of words over a finite machine: the W-method, each transition once, random walks.

The W-method (Chow, 1978; from memory) is complete: an implementation over the same inputs, with no more states than the
machine has after its equal ones are put together, that passes the suite behaves as the machine does.  A *word* is a
tuple of places in `Machine.inputs`; each begins at the first mode.  What is observed is the outputs; the mode is not.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import NamedTuple

from gatesim.search.machine import Machine

Word = tuple[int, ...]


class Distinct(NamedTuple):
    """What tells the modes of a machine apart by its outputs."""

    block: tuple[int, ...]
    """For each mode the number of its class; modes of one class give the same outputs for ever.  -1: unreachable."""
    words: tuple[Word, ...]
    """The characterising set: for any two classes some word whose outputs differ."""

    @property
    def classes(self) -> int:
        return max(self.block) + 1


def distinct(machine: Machine, liked: Sequence[int] | None = None) -> Distinct:
    """Refine the classes of modes until no input parts them; keep the words that do.

    Where there is a choice, words of the inputs that stand first in `liked` are taken.
    """
    modes = sorted(machine.reached)
    order = range(len(machine.inputs)) if liked is None else liked
    apart: dict[tuple[int, int], Word] = {}
    open_ = [(s, t) for k, s in enumerate(modes) for t in modes[k + 1:]]
    for s, t in open_:
        x = next((x for x in order if machine.gives[s][x] != machine.gives[t][x]), None)
        if x is not None:
            apart[s, t] = (x,)
    while True:  # words of equal length are found in the same turn, so each is a shortest one
        found: dict[tuple[int, int], Word] = {}
        for s, t in open_:
            if (s, t) not in apart:
                word = _through(machine, s, t, apart, order)
                if word is not None:
                    found[s, t] = word
        if not found:
            break
        apart |= found
    block = [-1] * len(machine.modes)
    heads: list[int] = []
    for s in modes:
        same = next((k for k, head in enumerate(heads) if (head, s) not in apart), None)
        block[s] = len(heads) if same is None else same
        if same is None:
            heads.append(s)
    return Distinct(tuple(block), _few(machine, heads, set(apart.values())))


def _through(machine: Machine, s: int, t: int, apart: dict[tuple[int, int], Word],
             order: Sequence[int]) -> Word | None:
    for x in order:
        a, b = machine.after[s][x], machine.after[t][x]
        word = apart.get((min(a, b), max(a, b)))
        if word is not None:
            return (x, *word)
    return None


def _few(machine: Machine, heads: list[int], words: set[Word]) -> tuple[Word, ...]:
    """Few of the words that part all classes: at each turn the one that parts most pairs not yet parted."""
    said = {word: [outputs(machine, word, s) for s in heads] for word in sorted(words, key=lambda w: (len(w), w))}
    left = {(a, b) for a in range(len(heads)) for b in range(a)}
    chosen: list[Word] = []
    while left:
        best = max(said, key=lambda word: (sum(said[word][a] != said[word][b] for a, b in left), -len(word)))
        chosen.append(best)
        left = {(a, b) for a, b in left if said[best][a] == said[best][b]}
    return tuple(chosen)


def outputs(machine: Machine, word: Word, begin: int | None = None) -> tuple[int, ...]:
    """What a machine gives to a word, as places in `Machine.outputs`."""
    s = machine.first if begin is None else begin
    said = []
    for x in word:
        said.append(machine.gives[s][x])
        s = machine.after[s][x]
    return tuple(said)


def access(machine: Machine) -> tuple[Word, ...]:
    """The state cover: a shortest word to each mode.

    Modes that give the same outputs for ever are covered each for itself: a wrong table may tell them apart.
    """
    return tuple(machine.reached.values())


def whole(words: set[Word]) -> tuple[Word, ...]:
    """Words that are not the beginning of another one, in order."""
    ordered = sorted(words)
    kept = [word for k, word in enumerate(ordered)
            if k + 1 == len(ordered) or ordered[k + 1][:len(word)] != word]
    return tuple(kept)


def w_method(machine: Machine, told: Distinct, extra: int = 0) -> tuple[Word, ...]:
    """The complete suite; `extra`: for so many states more than the machine has (costs the number of inputs each)."""
    ends = told.words or ((),)
    heads = list(access(machine))
    made: set[Word] = set()
    for _ in range(extra + 2):
        made |= {(*head, *end) for head in heads for end in ends}
        heads = [(*head, x) for head in heads for x in range(len(machine.inputs))]
    return whole(made)


def each_transition(machine: Machine) -> tuple[Word, ...]:
    """Every input once in every mode, and nothing looked at after it."""
    return whole({(*word, x) for word in access(machine) for x in range(len(machine.inputs))})


def random_walk(machine: Machine, steps: int, seed: int) -> tuple[Word, ...]:
    """One random word."""
    chance = random.Random(seed)
    return (tuple(chance.randrange(len(machine.inputs)) for _ in range(steps)),)
