"""Invented radio tables, and a sender whose frames go over the product's own radio path."""

from __future__ import annotations

from dataclasses import replace

from gatesim.events import Direction, Level
from gatesim.plant.burst_state import BurstChain
from gatesim.plant.draws import draw, stream_key
from gatesim.plant.link_budget import Link
from gatesim.plant.logic.contract import Frame
from gatesim.plant.motion import Pieces, rest
from gatesim.plant.radio_path import RadioPath
from gatesim.plant.radio_tables import LossPoint, Radio

M = 1e6


def a_radio(**other: object) -> Radio:
    """433.92 MHz, the receiver 3 m behind the closed end and 1 m aside, no obstacle, no ground ray."""
    made = Radio(
        frequency=433.92e6, transmit_power=-20.0, sensitivity=-90.0, transmitter_height=1.2 * M,
        receiver_height=2.2 * M, receiver_lies=Direction.CLOSING, receiver_along=3 * M, receiver_aside=1 * M,
        losses=(LossPoint(0.0, 0.5), LossPoint(10.0, 0.1), LossPoint(20.0, 0.0)), ground_reflection=0.0)
    return replace(made, **other)  # type: ignore[arg-type]


class _Out:
    """What a radio path may do, without a world: draws of its streams, and what arrives."""

    stimuli = ()

    def __init__(self, path: RadioPath, seed: int) -> None:
        self.keys = [stream_key(name) for name in path.streams()]
        self.counts, self.seed, self.heard = [0] * len(self.keys), seed, 0

    def draw(self, stream: int, below: int) -> int:
        self.counts[stream] += 1
        return draw(self.seed, self.keys[stream], self.counts[stream] - 1, below)

    def put(self, k: int, value: object) -> None:
        self.heard += 1

    def event(self, event: object) -> None:
        pass


class Air:
    """Sends frames over a RadioPath, one every `period` us, with the leaf on a course; tells which are lost."""

    def __init__(
        self, loss: float = 0.0, link: Link | None = None, bursts: BurstChain | None = None, seed: int = 1,
        period: int = 1000, motion: Pieces = rest(0.0, 0.0),  # noqa: B008 - an immutable value
    ) -> None:
        self.path = RadioPath("tx", 0, 0, loss, link, bursts)
        self.state, self.out = self.path.initial(), _Out(self.path, seed)
        self.period, self.motion, self.now, self.taken = period, motion, 0, 0.0

    def is_lost(self) -> bool:
        """Send the next frame."""
        self.now += self.period
        frame = Frame(7, 1, 0, 1, (Level.REST,), False, False, 0)
        before = self.out.heard
        seen = [(frame,), (), self.motion, self.taken][:len(self.path.reads())]
        self.path.react(self.state, self.now, seen, self.out)
        return self.out.heard == before

    def frames_to_trip(self, k: int, most: int) -> int:
        """Frames until k in a row are lost; `most` + 1 where it takes longer."""
        row = 0
        for number in range(1, most + 1):
            row = row + 1 if self.is_lost() else 0
            if row == k:
                return number
        return most + 1
