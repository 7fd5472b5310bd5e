"""Little tables for the tests: any table at random, and one of the shape for which figures were published."""

from __future__ import annotations

import random
from enum import Enum

from gatesim.plant.fsm import Row, Table

Modes = Enum("Modes", {f"M{k}": f"mode {k}" for k in range(6)})
Triggers = Enum("Triggers", {f"T{k}": f"trigger {k}" for k in range(4)})
Guards = Enum("Guards", {f"G{k}": f"guard {k}" for k in range(3)})
Actions = Enum("Actions", {f"A{k}": f"action {k}" for k in range(3)})


def any_table(seed: int) -> Table:
    """A table at random: any targets, guards and actions; unreachable modes and shadowed rows as they come."""
    chance = random.Random(seed)
    rows, ignored = [], []
    for mode in Modes:
        for trigger in Triggers:
            if chance.random() < 0.3:
                ignored.append((mode, trigger))
                continue
            for _ in range(chance.randrange(3)):
                guards = tuple(chance.sample(list(Guards), chance.randrange(1, 3)))
                rows.append(Row(mode, trigger, guards, chance.choice(list(Modes)), _some(chance)))
            rows.append(Row(mode, trigger, (), chance.choice(list(Modes)), _some(chance)))
    return Table(Modes, Triggers, Modes.M0, rows, ignored, checked=False)


def _some(chance: random.Random) -> tuple:
    return tuple(chance.sample(list(Actions), chance.randrange(3)))


Shown = Enum("Shown", {name: name.lower() for name in ("IDLE", "OPENS", "CLOSES", "STOPS", "REVERSES", "LOCKED")})
Counting = Enum("Counting", {f"S{k}": f"state {k}" for k in range(22)})
Word = Enum("Word", {name: name.lower() for name in ("GO", "BACK", "STOP", "CONTACT", "GOOD", "MISSED", "RESET")})


def counting() -> Table:
    """22 states, 7 inputs, and hidden counts of missed check-ins behind six visible modes.

    Idle, opening and closing each have a hidden count of 0 to 4 misses (15 states), stopping and reversing of 0 to 2
    (6), locked none.  What is seen after an input is the visible mode alone.
    """
    depth = {Shown.IDLE: 5, Shown.OPENS: 5, Shown.CLOSES: 5, Shown.STOPS: 3, Shown.REVERSES: 3, Shown.LOCKED: 1}
    states = [(shown, misses) for shown, most in depth.items() for misses in range(most)]
    seat = {state: list(Counting)[k] for k, state in enumerate(states)}
    rows = []
    for shown, misses in states:
        for word in Word:
            to = _counted(shown, misses, word)
            to = (to[0], min(to[1], depth[to[0]] - 1))
            rows.append(Row(seat[shown, misses], word, (), seat[to], (to[0],)))
    return Table(Counting, Word, Counting.S0, rows, [])


def _counted(shown: Shown, misses: int, word: Word) -> tuple[Shown, int]:
    if shown is Shown.LOCKED:
        return (Shown.IDLE, 0) if word is Word.RESET else (Shown.LOCKED, 0)
    if word is Word.GOOD:
        return shown, max(0, misses - 1)
    if word is Word.MISSED:
        most = 2 if shown in (Shown.STOPS, Shown.REVERSES) else 4
        return (Shown.LOCKED, 0) if misses == most else (shown, misses + 1)
    return {
        (Shown.IDLE, Word.GO): Shown.OPENS, (Shown.IDLE, Word.BACK): Shown.CLOSES,
        (Shown.OPENS, Word.STOP): Shown.STOPS, (Shown.CLOSES, Word.STOP): Shown.STOPS,
        (Shown.OPENS, Word.CONTACT): Shown.REVERSES, (Shown.CLOSES, Word.CONTACT): Shown.REVERSES,
        (Shown.STOPS, Word.GO): Shown.OPENS, (Shown.STOPS, Word.RESET): Shown.IDLE,
        (Shown.REVERSES, Word.STOP): Shown.STOPS, (Shown.REVERSES, Word.CONTACT): Shown.LOCKED,
    }.get((shown, word), shown), misses
