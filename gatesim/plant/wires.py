"""The wires of a gate: who carries what to whom.

Each class is one kind of wire; its docstring says value, idle level, writer and readers.  A device of its own kind
declares its own wires in its own file; these are the common ones.  What each leaf has of its own carries, of a second
leaf, its name as well ("second", "second opening"), and what tells the controller of both "both" (`leaves.py`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, NamedTuple

from gatesim.events import Direction
from gatesim.plant.part import Wire


class Piece(NamedTuple):
    """One piece of motion: from instant `t` on, position x + v (s-t) + a (s-t)^2 / 2 at instant s."""

    t: float
    x: float
    v: float
    a: float


class Block(NamedTuple):
    """One obstruction as the leaf can meet it.

    `at`: leaf position of first touch; `direction`: that in which the leaf meets it; `curve`: (deflection um, force
    mN) points from (0, 0), straight between, in series with the obstruction; `end_stiffness` (mN/um of leaf's way)
    beyond the last; `actuates`: deflection at which the edge's contact closes (None: no edge there); `edge`: its name
    or ""; `overtravel`: what that edge can still give after actuation (um); `brought_up`: force (mN) up to which the
    leaf keeps its motion; `share`: of the leaf's way beyond that, what deforms (below 1: a free obstruction moves
    along).
    """

    obstruction: str
    direction: Direction
    at: float
    curve: tuple[tuple[float, float], ...]
    end_stiffness: float
    actuates: float | None
    edge: str
    overtravel: float
    brought_up: float
    share: float = 1.0


class Cell(NamedTuple):
    """A cell as its terminals show it: voltage without load (mV) and internal resistance (ohm)."""

    open_voltage: float
    resistance: float


class Told(NamedTuple):
    """A downlink message: the gate moves (or not), and the latest test request."""

    moving: bool
    ask: int


@dataclass(frozen=True, slots=True)
class Controls(Wire):
    """frozenset[(Command, Origin)] pressed; panel -> controller."""

    title: ClassVar[str] = "command wiring"


@dataclass(frozen=True, slots=True)
class Supply(Wire):
    """bool, operator's supply good; supply -> receiver, controller, wired inputs, contactors."""

    title: ClassVar[str] = "supply"


@dataclass(frozen=True, slots=True)
class Load(Wire):
    """float mN, thrust asked at a start of the leaf (0 between); contactors -> supply."""

    title: ClassVar[str] = "supply load"


@dataclass(frozen=True, slots=True)
class Blocks(Wire):
    """tuple[Block, ...]; obstructions -> leaf, contact, force sensing."""

    title: ClassVar[str] = "obstructions"


@dataclass(frozen=True, slots=True)
class Motion(Wire):
    """tuple[Piece, ...], never empty, the last one holds for ever; leaf -> everything that feels the leaf."""

    title: ClassVar[str] = "leaf motion"


@dataclass(frozen=True, slots=True)
class Deceleration(Wire):
    """float um/us^2, what stops the leaf; brake -> leaf."""

    title: ClassVar[str] = "brake"


@dataclass(frozen=True, slots=True)
class StripPressed(Wire):
    """bool, strip's contact pressed together (of an edge); contact -> loop.  Silenced in the force-alone twin."""

    title: ClassVar[str] = "contact strip"


@dataclass(frozen=True, slots=True)
class StripContact(Wire):
    """float ohm, the closed strip's contact resistance, or None while it is open (of an edge); strip -> loop."""

    title: ClassVar[str] = "strip contact"


@dataclass(frozen=True, slots=True)
class Branch(Wire):
    """float ohm of one of several edges side by side, or None for a broken branch (of an edge); branch -> loop."""

    title: ClassVar[str] = "branch wiring"


@dataclass(frozen=True, slots=True)
class Loop(Wire):
    """float ohm at the converter's terminals (of the edge that has the loop); loop -> scanner."""

    title: ClassVar[str] = "loop wiring"


@dataclass(frozen=True, slots=True)
class Code(Wire):
    """int, converter code of a loop (of the edge that has it); converter -> scanner."""

    title: ClassVar[str] = "converter"


@dataclass(frozen=True, slots=True)
class ReferenceCode(Wire):
    """int, converter code of the reference channel (of a transmitter or wired input)."""

    title: ClassVar[str] = "reference channel"


@dataclass(frozen=True, slots=True)
class ScanClock(Wire):
    """bool, scanner runs (of a transmitter or wired input): False stops its scans while its check-ins go on."""

    title: ClassVar[str] = "scan clock"


@dataclass(frozen=True, slots=True)
class CheckInClock(Wire):
    """float, stretch factor of a transmitter's own clock for check-ins (1.0; of a transmitter)."""

    title: ClassVar[str] = "transmitter clock"


@dataclass(frozen=True, slots=True)
class CellTerminals(Wire):
    """wires.Cell (of a transmitter); cell -> transmitter."""

    title: ClassVar[str] = "cell"


@dataclass(frozen=True, slots=True)
class MotionFelt(Wire):
    """bool, the transmitter's motion sense (of a transmitter); motion sense -> transmitter."""

    title: ClassVar[str] = "motion sense"


@dataclass(frozen=True, slots=True)
class Uplink(Wire):
    """messages logic.contract.Frame (of a transmitter); transmitter -> radio path."""

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "radio path"


@dataclass(frozen=True, slots=True)
class Heard(Wire):
    """messages logic.contract.Frame (of a transmitter) at the receiver; radio path -> receiver."""

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "receiver input"


@dataclass(frozen=True, slots=True)
class Downlink(Wire):
    """messages Told (of a transmitter); receiver -> radio path."""

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "downlink"


@dataclass(frozen=True, slots=True)
class ToldMotion(Wire):
    """messages Told (of a transmitter) at the transmitter; radio path -> transmitter."""

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "transmitter input"


@dataclass(frozen=True, slots=True)
class ReportLine(Wire):
    """logic.contract.Report (of an edge); receiver or wired input -> controller."""

    title: ClassVar[str] = "report line"


@dataclass(frozen=True, slots=True)
class Ask(Wire):
    """int, number of the latest test request; controller -> receiver, wired inputs."""

    title: ClassVar[str] = "test request"


@dataclass(frozen=True, slots=True)
class Order(Wire):
    """(Direction | None, slow: bool); controller -> contactors, receiver."""

    title: ClassVar[str] = "drive order"


@dataclass(frozen=True, slots=True)
class MainOrder(Wire):
    """bool, the main shut-off is to be closed; controller -> main shut-off."""

    title: ClassVar[str] = "main shut-off order"


@dataclass(frozen=True, slots=True)
class BrakeOrder(Wire):
    """events.Brake; controller -> leaf."""

    title: ClassVar[str] = "brake order"


@dataclass(frozen=True, slots=True)
class Contactor(Wire):
    """bool, the contactor of a direction (of "opening" or "closing") is closed; contactors -> leaf, read-back."""

    title: ClassVar[str] = "contactor"


@dataclass(frozen=True, slots=True)
class MainContact(Wire):
    """bool, the main shut-off is closed; main shut-off -> leaf, read-back."""

    title: ClassVar[str] = "main shut-off"


@dataclass(frozen=True, slots=True)
class DriveDirection(Wire):
    """bool, True: as wired, False: the drive turns the other way; phase wiring -> leaf."""

    title: ClassVar[str] = "drive wiring"


@dataclass(frozen=True, slots=True)
class ContactorReadBack(Wire):
    """bool (of "opening" or "closing"); read-back -> controller."""

    title: ClassVar[str] = "contactor read-back"


@dataclass(frozen=True, slots=True)
class MainReadBack(Wire):
    """bool; read-back -> controller."""

    title: ClassVar[str] = "main shut-off read-back"


@dataclass(frozen=True, slots=True)
class LimitSwitch(Wire):
    """bool (of "closed" or "open"); limit switch -> controller."""

    title: ClassVar[str] = "limit switch"


@dataclass(frozen=True, slots=True)
class Watch(Wire):
    """float | None, measured position at whose crossing the controller wants to be called; controller -> travel
    sensor."""

    title: ClassVar[str] = "position compare"


@dataclass(frozen=True, slots=True)
class Counts(Wire):
    """travel_sensor.Travelled: what the travel sensor gives the controller."""

    title: ClassVar[str] = "travel sensor"


@dataclass(frozen=True, slots=True)
class SensorGain(Wire):
    """float, counted travel per real travel (1.0); sensor coupling -> travel sensor."""

    title: ClassVar[str] = "travel sensor coupling"


@dataclass(frozen=True, slots=True)
class ForceGain(Wire):
    """float, sensed force per real force (1.0); force transducer -> force sensing."""

    title: ClassVar[str] = "force transducer"


@dataclass(frozen=True, slots=True)
class ForceTrip(Wire):
    """bool; force sensing -> controller.  Silenced in the edge-alone twin."""

    title: ClassVar[str] = "force sensing output"


@dataclass(frozen=True, slots=True)
class ForceReady(Wire):
    """bool, the force sensing answers its own test; force sensing -> controller."""

    title: ClassVar[str] = "force sensing self-test"


@dataclass(frozen=True, slots=True)
class Alarm(Wire):
    """bool, the alarm is to sound; controller -> sounder."""

    title: ClassVar[str] = "alarm order"


@dataclass(frozen=True, slots=True)
class Sound(Wire):
    """bool, the sounder sounds; sounder -> controller (read-back)."""

    title: ClassVar[str] = "sounder"


@dataclass(frozen=True, slots=True)
class ToStore(Wire):
    """(bytes, Lockout) to be kept; controller -> store."""

    title: ClassVar[str] = "store input"


@dataclass(frozen=True, slots=True)
class Stored(Wire):
    """bytes, what the non-volatile store holds; store -> controller (read at power-up only)."""

    title: ClassVar[str] = "non-volatile store"
