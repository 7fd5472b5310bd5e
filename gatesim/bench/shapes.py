"""What the three roles exchange, for whoever carries it: the types of each role, and outputs before any was given."""

from __future__ import annotations

from typing import Any, NamedTuple

from gatesim.events import Brake, Level, Lockout
from gatesim.plant.logic import contract as c

ROLES = ("classifier", "receiver", "controller")


class Shape(NamedTuple):
    """The types of a role, and which members say what happened (told whenever not empty) instead of what is."""

    settings: Any
    seen: Any
    do: Any
    happened: frozenset[str]
    """Members of `seen` that are messages."""
    said: frozenset[str]
    """Members of `do` that are told once."""


SHAPES: dict[str, Shape] = {
    "classifier": Shape(c.ClassifierSettings, c.ClassifierSeen, c.ClassifierDo, frozenset(), frozenset({"why"})),
    "receiver": Shape(c.ReceiverSettings, c.ReceiverSeen, c.ReceiverDo, frozenset({"frames"}), frozenset({"why"})),
    "controller": Shape(c.ControllerSettings, c.ControllerSeen, c.ControllerDo, frozenset(),
                        frozenset({"notices", "refused", "tested"})),
}


def nothing_done(role: str, settings: Any) -> Any:
    """The outputs before any was put out: everything off, nothing known."""
    if role == "classifier":
        return c.ClassifierDo((Level.INVALID,) * len(settings.bands), low=False, critical=False, again=False)
    if role == "receiver":
        unheard = tuple(
            c.Report(edge, Level.INVALID, False, False, False, False, 0, pair.asked)
            for pair in settings.paired for edge in pair.edges)
        return c.ReceiverDo(unheard, tuple((pair.transmitter, False, 0) for pair in settings.paired), None)
    return c.ControllerDo(
        order=None, slow=False, main=False, brake=Brake.HOLD, alarm=False, lockout=Lockout.NONE, armed=False, mode="",
        ask=0, watch=None, wake=None, keep=b"")
