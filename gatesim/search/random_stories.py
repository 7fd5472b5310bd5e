"""Random stories for a site: what people, things and faults may do to a gate, in the order in which they mostly do.

Made of choices alone, so that a seeded generator makes the same stories everywhere and Hypothesis can shrink them.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple, Protocol, TypeVar

from gatesim.events import Command, Direction, Origin
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.operator import controller_settings
from gatesim.plant.site import Site
from gatesim.scenario import model as m

T = TypeVar("T")
MS, S = 1_000, 1_000_000
TURNS = 6
"""Turns of a story at most."""
AFTER = 20 * S
"""A story goes on so long (us) after its last turn."""
GAPS = (50 * MS, 450 * MS, 2 * S, 6 * S, 30 * S)
"""From one turn to the next (us): in the run-up, in full motion, at the end of the travel."""
HELD = (300 * MS, 3 * S, 15 * S)
MOVES = (Command.OPEN, Command.CLOSE, Command.HOLD_OPEN, Command.HOLD_CLOSE)


class Chance(Protocol):
    """Whoever makes the choices."""

    def one_of(self, options: Sequence[T]) -> T:
        """One of these; the first ones are the plainest."""

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`."""


class Seeded:
    """The choices of a seeded generator, the same on every platform."""

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed)

    def one_of(self, options: Sequence[T]) -> T:
        """One of these."""
        return options[self._random.randrange(len(options))]

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`."""
        return self._random.randint(low, high)


class Ground(NamedTuple):
    """What stories of one site are made of."""

    site: Site
    spots: tuple[tuple[str, str], ...]
    """Every (fault kind, device)."""
    times: tuple[int, ...]
    """Settings of the controller (us), and just below and above: where logic that is nearly right goes wrong."""

    @classmethod
    def of(cls, site: Site) -> Ground:
        """The ground of a site."""
        settings = controller_settings(site)
        stated = (settings.reset_window, settings.test_time, settings.start_limit, settings.stop_limit,
                  settings.reversal_dwell, settings.press_limit, settings.recovery_time, settings.closing_warning,
                  settings.automatic_closing or settings.closing_warning)
        near = tuple(max(1, time + by) for time in dict.fromkeys(stated) for by in (-MS, MS))
        return cls(site, tuple((kind.id, spot.device) for kind in faults().values() for spot in kind.places(site)),
                   (*GAPS, *near))


class _Tale:
    """A story in the making."""

    def __init__(self, ground: Ground, chance: Chance, number: int, *, with_faults: bool) -> None:
        self.ground, self.site, self.chance, self.number = ground, ground.site, chance, number
        self.focus = ground.spots[number % len(ground.spots)]
        self.with_faults = with_faults
        self.now, self.steps = S + chance.whole(0, 999) * MS, list[m.AnyStep]()
        self.closed = ground.site.leaf_at < ground.site.gate.travel / 2
        self.turns: list[Callable[[], object]] = [
            self._move, self._move, self._blocked_move, self._blocked_move, self._press, self._command, self._reset,
            self._power, self._push]
        if self.site.beams:
            self.turns += [self._beam, self._beam]
        if with_faults:
            self.turns += [self._fault, self._faulty_move, self._faulty_move, self._fault_in_answer]

    def told(self) -> m.Scenario:
        """The whole story."""
        if self.with_faults and self.chance.whole(0, 3) == 3:
            self._fault()
            self._wait(GAPS[:3])
        for _ in range(self.chance.whole(1, TURNS)):
            self.chance.one_of(self.turns)()
            self.now += self.chance.one_of(self.ground.times)
        return m.Scenario(f"Random story {self.number}", "Drawn at random; nobody thought of it.", self.site,
                          self.now + AFTER, tuple(self.steps), ())

    def _wait(self, options: Sequence[int]) -> None:
        self.now += self.chance.one_of(options) + self.chance.whole(0, 99) * MS

    # --- turns --------------------------------------------------------------------------------------------------------

    def _give(self, command: Command, origin: Origin = Origin.WIRED, held: int = 300 * MS) -> None:
        self.steps.append(m.GiveCommand(do="command", at=self.now, command=command, origin=origin, held=held))

    def _move(self) -> Direction:
        """The move that is due, or sometimes the other one."""
        opens = self.closed != (self.chance.whole(0, 4) == 4)
        if self.chance.whole(0, 5) == 5:
            self._give(Command.HOLD_OPEN if opens else Command.HOLD_CLOSE, held=self.chance.one_of(HELD))
        else:
            self._give(Command.OPEN if opens else Command.CLOSE, self.chance.one_of((Origin.WIRED, Origin.RADIO)))
        self.closed = not opens
        return Direction.OPENING if opens else Direction.CLOSING

    def _blocked_move(self) -> None:
        """Something stands in the way of a move, and perhaps of the way back."""
        way = self._move()
        self._wait(GAPS[1:4])
        if self.chance.whole(0, 2):
            self._obstruct(way)
        else:
            self._press()
        for _ in range(self.chance.whole(0, 2)):
            self._wait(GAPS[:3])
            match self.chance.whole(0, 4 if self.with_faults else 3):
                case 0:
                    self._press()
                case 1:
                    self._obstruct(way.other)
                case 2:
                    self._move()
                case 3:
                    self._command()
                case _:
                    self._fault()

    def _obstruct(self, way: Direction) -> None:
        zones = [zone for zone in self.site.zones if zone.direction is way]
        if zones:
            # Beyond where the leaf is, it is met at once.
            far = self.site.gate.travel * self.chance.one_of((1.0, 0.5, 0.25))
            self.steps.append(m.Obstruct(
                do="obstruct", at=self.now, obstruction=f"block {len(self.steps)}", zone=zones[0].name,
                position=far if way is Direction.CLOSING else self.site.gate.travel - far,
                stays=self.chance.one_of((None, 500 * MS, 5 * S)),
                touches=self.chance.one_of((m.Touches.EDGE, m.Touches.EDGE, m.Touches.LEAF))))

    def _press(self) -> None:
        if self.site.edges:
            self.steps.append(m.PressEdge(do="press", at=self.now, edge=self.chance.one_of(self.site.edges).name,
                                          held=self.chance.one_of((500 * MS, *self.ground.times))))

    def _beam(self) -> None:
        self.steps.append(m.Interrupt(do="interrupt", at=self.now, beam=self.chance.one_of(self.site.beams).name,
                                      by=f"somebody {len(self.steps)}", lasts=self.chance.one_of((500 * MS, *HELD))))

    def _command(self) -> None:
        self._give(self.chance.one_of((Command.STOP, *MOVES, Command.RESET, Command.PAIR)),
                   self.chance.one_of((Origin.WIRED, Origin.RADIO)), self.chance.one_of((300 * MS, *HELD)))

    def _reset(self) -> None:
        self._give(Command.RESET, held=self.chance.one_of((300 * MS, *self.ground.times)))
        self._wait(GAPS[:3])
        self._move()

    def _power(self) -> None:
        self.steps.append(m.LosePower(do="lose power", at=self.now, lasts=self.chance.one_of((500 * MS, 6 * S))))

    def _push(self) -> None:
        self.steps.append(m.PushLeaf(do="push leaf", at=self.now, direction=self.chance.one_of(tuple(Direction)),
                                     distance=300_000.0))

    def _fault(self) -> None:
        """One of all faults, or, as often, the one that is this story's own: so that each has its turn."""
        kind, device = self.focus if self.chance.whole(0, 1) == 0 else self.chance.one_of(self.ground.spots)
        self.steps.append(m.Fault(do="fault", at=self.now, fault=kind, device=device,
                                  lasts=self.chance.one_of((None, *self.ground.times))))

    def _faulty_move(self) -> None:
        """A fault before, or in, a move."""
        if self.chance.whole(0, 1):
            self._fault()
            self._wait(GAPS[1:4])
        self._move()
        self._wait(GAPS[1:4])
        self._fault()

    def _fault_in_answer(self) -> None:
        """A fault while a press is being answered."""
        self._move()
        self._wait(GAPS[2:4])
        self._press()
        self.now += self.chance.whole(0, 500) * MS
        self._fault()


def story(ground: Ground, chance: Chance, number: int, *, with_faults: bool = True, seed: int = 1) -> m.Scenario:
    """A story by these choices.  Not every one is a scenario that the reader takes: an obstruction may stand where the
    leaf is."""
    return replace(_Tale(ground, chance, number, with_faults=with_faults).told(), seed=seed)
