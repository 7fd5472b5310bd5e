"""What happened, in plain words: an event to (who, sentence).

One short function an event kind, found by the kind's type.  `before` is the previous event of the same kind (and
device), so that a change can be told as one.  A kind that a device's own file declares may carry a `who` and a
`said()` of its own; else it is told by its name and fields.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import Enum
from typing import Any

from gatesim import events as e
from gatesim import shown

Told = tuple[str, str]

LANES = ("person", "wire", "gate", "drive", "edge", "beam", "force", "radio", "receiver", "controller", "alarm")


def tell(event: e.Event, before: e.Event | None = None) -> Told:
    """Who did what: ("gate", "starts closing at 1250 mm")."""
    known = _TOLD.get(type(event))
    if known is not None:
        who, sentence = known(event, before)
        second = getattr(event, "leaf", None) is e.LeafName.SECOND
        return who, of_leaf(e.LeafName.SECOND, sentence) if second else sentence
    if hasattr(event, "said"):
        return str(getattr(event, "who", "gate")), str(event.said())
    return "gate", _by_name(event)


def subject(event: e.Event) -> tuple[Any, ...]:
    """What an event is about: events of one kind and subject follow one another."""
    return type(event), *(
        getattr(event, field, "")
        for field in ("edge", "beam", "transmitter", "wire", "device", "obstruction", "leaf")
    )


def of_leaf(leaf: e.LeafName, sentence: str) -> str:
    """A sentence that says of which leaf it is."""
    return f"{leaf.value} leaf: {sentence}"


def _by_name(event: Any) -> str:
    name = re.sub(r"(?<!^)(?=[A-Z])", " ", type(event).__name__).lower()
    fields = [f"{field} {_plain(value)}" for field, value in zip(event._fields, event, strict=True)]
    return f"{name}: {', '.join(fields)}" if fields else name


def _plain(value: Any) -> str:
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _motion(event: e.MotionChanged, _: Any) -> Told:
    if event.v == 0 and event.a == 0:
        return "gate", f"stands at {shown.position(event.x)}"
    towards = event.direction.value if event.direction else "moving"
    change = event.a * event.v
    speed = shown.speed(abs(event.v))
    if event.v == 0:
        return "gate", f"speeds up, {towards}, from rest at {shown.position(event.x)}"
    how = "runs on" if change == 0 else "speeds up" if change > 0 else "slows"
    return "gate", f"{how}, {towards}, {speed} at {shown.position(event.x)}"


def _contact(event: e.ContactBegan, _: Any) -> Told:
    with_what = f"with {event.edge}" if event.edge else "with the bare leaf, no edge there"
    blind = "; the force sensing is blind here" if event.blind else ""
    where = f"{shown.position(event.x)}{blind}"
    return "gate", f"touches {event.obstruction} while {event.direction.value}, {with_what}, at {where}"


_OUTPUTS: tuple[tuple[str, Callable[[Any], str]], ...] = (
    ("order", lambda order: f"orders {order.value}" if order else "orders the drive off"),
    ("slow", lambda slow: "at slow speed" if slow else "at full speed"),
    ("main", lambda main: "closes the main shut-off" if main else "opens the main shut-off"),
    ("brake", lambda brake: "holds the brake" if brake is e.Brake.HOLD else "releases the brake"),
    ("alarm", lambda alarm: "sounds the alarm" if alarm else "ends the alarm"),
    ("lockout", lambda lockout: "lifts the lockout" if lockout is e.Lockout.NONE else f"LOCKS OUT: {lockout.value}"),
    ("armed", lambda armed: "arms automatic closing" if armed else "cancels automatic closing"),
    ("mode", lambda mode: f"is in mode: {mode}"),
)


def _orders(event: e.OrdersChanged, before: e.OrdersChanged | None) -> Told:
    said = [
        words(getattr(event, field))
        for field, words in _OUTPUTS
        if before is None or getattr(event, field) != getattr(before, field)
    ]
    if before is None:
        said = [words(getattr(event, field)) for field, words in _OUTPUTS if field in ("order", "lockout", "mode")]
        if event.lockout is e.Lockout.NONE:
            said.pop(1)
    return "controller", ", ".join(said) if said else "keeps its outputs"


def _report(event: e.ReportChanged, _: Any) -> Told:
    said = [f"{event.edge} {event.level.value}"]
    if not event.heard:
        said = [f"{event.edge} not yet heard"]
    elif not event.fresh:
        said.append("NOT FRESH (link lost)")
    said += ["battery critical"] if event.critical else ["battery low"] if event.low else []
    return "receiver", "reports " + ", ".join(said)


def _disturbed(event: e.WireDisturbed, _: Any) -> Told:
    whom = (
        "the drive itself"
        if event.guard is e.Guard.DRIVE
        else ("both directions" if event.guard is e.Guard.BOTH else event.guard.value)
    )
    return "wire", f"FAULT: {event.wire} no longer carries what is sent (guards {whom}; found {event.found.value})"


def _refused(event: e.CommandRefused, _: Any) -> Told:
    device = f" ({event.device})" if event.device else ""
    return "controller", f"refuses {event.command.value} from {event.origin.value}: {event.reason}{device}"


def _contactors(event: e.ContactorsChanged, _: Any) -> Told:
    if event.opening and event.closing:
        return "drive", "BOTH directions energised"
    return "drive", "energised opening" if event.opening else "energised closing" if event.closing else "de-energised"


def _frame(event: e.FrameSent, _: Any) -> Told:
    levels = ", ".join(level.value for level in event.levels)
    return "radio", f"{event.transmitter} sends frame {event.counter} ({event.why}): {levels}"


def _peak(event: e.ForcePeaked, _: Any) -> Told:
    return "force", f"peaks at {shown.force(event.force)} on {event.obstruction} with a gap of {shown.mm(event.gap)}"


_TOLD: dict[type, Callable[[Any, Any], Told]] = {
    e.CommandPressed: lambda v, _: ("person", f"{v.command.value} pressed, {v.origin.value}"),
    e.CommandReleased: lambda v, _: ("person", f"{v.command.value} released, {v.origin.value}"),
    e.PowerLost: lambda v, _: ("wire", "the operator's supply is lost"),
    e.PowerReturned: lambda v, _: ("wire", "the operator's supply is back"),
    e.WireDisturbed: _disturbed,
    e.WireRestored: lambda v, _: ("wire", f"{v.wire} carries again what is sent"),
    e.MotionChanged: _motion,
    e.LeafStopped: lambda v, _: ("gate", f"comes to rest at {shown.position(v.x)}"),
    e.LeafStarted: lambda v, _: ("gate", f"begins {v.direction.value} at {shown.position(v.x)}"),
    e.LeafPushed: lambda v, _: ("person", f"the leaf is pushed {v.direction.value} by {v.by}"),
    e.ContactBegan: _contact,
    e.ContactEnded: lambda v, _: ("gate", f"is clear of {v.obstruction}"),
    e.EdgeActuated: lambda v, _: ("edge", f"{v.edge}: contact strip is pressed"),
    e.EdgeReleased: lambda v, _: ("edge", f"{v.edge}: contact strip is released"),
    e.ForceRose: lambda v, _: ("force", f"on {v.obstruction} rises past {shown.force(v.level)}"),
    e.ForceFell: lambda v, _: ("force", f"on {v.obstruction} falls below {shown.force(v.level)}"),
    e.ForcePeaked: _peak,
    e.ForceTripped: lambda v, _: ("force", f"the inherent force sensing trips ({v.direction.value})"),
    e.ForceCleared: lambda v, _: ("force", "the inherent force sensing clears"),
    e.LimitReached: lambda v, _: ("gate", f"reaches the {v.side.value} limit switch"),
    e.LimitLeft: lambda v, _: ("gate", f"leaves the {v.side.value} limit switch"),
    e.ContactorsChanged: _contactors,
    e.MainChanged: lambda v, _: ("drive", "main shut-off closed" if v.closed else "main shut-off OPEN"),
    e.LoopChanged: lambda v, _: ("edge", f"{v.edge}: loop reads {_ohm(v.ohm)}"),
    e.LevelChanged: lambda v, _: ("edge", f"{v.edge}: classified as {v.level.value}"),
    e.FrameSent: _frame,
    e.FrameArrived: lambda v, _: ("radio", f"frame {v.counter} of {v.transmitter} is heard"),
    e.BatteryFlagged: lambda v, _: ("radio", f"{v.transmitter} flags its battery as {v.flag}"),
    e.CellRenewed: lambda v, _: ("person", f"a fresh cell is fitted in {v.transmitter}"),
    e.CellFell: lambda v, _: ("radio", f"the cell of {v.transmitter} falls below its {v.figure} voltage under load"),
    e.BeamInterrupted: lambda v, _: ("beam", f"{v.beam}: ray interrupted by {v.by}"),
    e.BeamCleared: lambda v, _: ("beam", f"{v.beam}: ray clear again"),
    e.BeamTested: lambda v, _: (
        "beam",
        f"{v.beam}: test pulse " + ("answered" if v.passed else "NOT answered"),
    ),
    e.ReportChanged: _report,
    e.OrdersChanged: _orders,
    e.Announced: lambda v, _: ("controller", f"announces: {v.notice}" + (f" ({v.device})" if v.device else "")),
    e.CommandRefused: _refused,
    e.StartTested: lambda v, _: (
        "controller",
        f"test before {v.direction.value}: " + ("all in order" if v.passed else "NOT in order"),
    ),
    e.StoreWritten: lambda v, _: ("controller", f"non-volatile store holds: lockout {v.lockout.value}"),
    e.SounderChanged: lambda v, _: ("alarm", "sounds" if v.sounding else "is silent"),
}


def _ohm(ohm: float) -> str:
    if ohm >= 1e8:
        return "open"
    return f"{ohm / 1000:.2f} kohm" if ohm >= 1000 else f"{ohm:.0f} ohm"
