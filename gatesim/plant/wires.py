"""The wires of a gate: who carries what to whom.

Each class is one kind of wire; its docstring says value, idle level, writer and readers.  A device of its own kind
declares its own wires in its own file; these are the common ones.  What each leaf has of its own carries, of a second
leaf, its name as well ("second", "second opening"), and what tells the controller of both "both" (`leaves.py`).
"""

from __future__ import annotations

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
    settled: float = 1.0
    """Share of current times resistance to which the sag of a burst has grown by the burst's end."""


class Told(NamedTuple):
    """A downlink message: the gate moves (or not), and the latest test request."""

    moving: bool
    ask: int


class Controls(Wire):
    """frozenset[(Command, Origin)] pressed; panel -> controller."""

    __slots__ = ()

    title: ClassVar[str] = "command wiring"


class Supply(Wire):
    """bool, operator's supply good; supply -> receiver, controller, wired inputs, contactors."""

    __slots__ = ()

    title: ClassVar[str] = "supply"


class Load(Wire):
    """float mN, thrust asked at a start of the leaf (0 between); contactors -> supply."""

    __slots__ = ()

    title: ClassVar[str] = "supply load"


class Blocks(Wire):
    """tuple[Block, ...]; obstructions -> leaf, contact, force sensing."""

    __slots__ = ()

    title: ClassVar[str] = "obstructions"


class Motion(Wire):
    """tuple[Piece, ...], never empty, the last one holds for ever; leaf -> everything that feels the leaf."""

    __slots__ = ()

    title: ClassVar[str] = "leaf motion"


class Deceleration(Wire):
    """float um/us^2, what stops the leaf; brake -> leaf."""

    __slots__ = ()

    title: ClassVar[str] = "brake"


class StripPressed(Wire):
    """bool, strip's contact pressed together (of an edge); contact -> loop.  Silenced in the force-alone twin."""

    __slots__ = ()

    title: ClassVar[str] = "contact strip"


class StripContact(Wire):
    """float ohm, the closed strip's contact resistance, or None while it is open (of an edge); strip -> loop."""

    __slots__ = ()

    title: ClassVar[str] = "strip contact"


class Branch(Wire):
    """float ohm of one of several edges side by side, or None for a broken branch (of an edge); branch -> loop."""

    __slots__ = ()

    title: ClassVar[str] = "branch wiring"


class Loop(Wire):
    """float ohm at the converter's terminals (of the edge that has the loop); loop -> scanner."""

    __slots__ = ()

    title: ClassVar[str] = "loop wiring"


class Code(Wire):
    """int, converter code of a loop (of the edge that has it); converter -> scanner."""

    __slots__ = ()

    title: ClassVar[str] = "converter"


class ReferenceCode(Wire):
    """int, converter code of the reference channel (of a transmitter or wired input)."""

    __slots__ = ()

    title: ClassVar[str] = "reference channel"


class ScanClock(Wire):
    """bool, scanner runs (of a transmitter or wired input): False stops its scans while its check-ins go on."""

    __slots__ = ()

    title: ClassVar[str] = "scan clock"


class CheckInClock(Wire):
    """float, stretch factor of a transmitter's own clock for check-ins (1.0; of a transmitter)."""

    __slots__ = ()

    title: ClassVar[str] = "transmitter clock"


class CellTerminals(Wire):
    """wires.Cell (of a transmitter); cell -> transmitter."""

    __slots__ = ()

    title: ClassVar[str] = "cell"


class MotionFelt(Wire):
    """bool, the transmitter's motion sense (of a transmitter); motion sense -> transmitter."""

    __slots__ = ()

    title: ClassVar[str] = "motion sense"


class Uplink(Wire):
    """messages logic.contract.Frame (of a transmitter); transmitter -> radio path."""

    __slots__ = ()

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "radio path"


class MarginTaken(Wire):
    """float dB, what another sender takes of a link's margin (0.0; of a transmitter with a link budget) -> radio
    path."""

    __slots__ = ()
    title: ClassVar[str] = "link margin"


class Heard(Wire):
    """messages logic.contract.Frame (of a transmitter) at the receiver; radio path -> receiver."""

    __slots__ = ()

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "receiver input"


class Downlink(Wire):
    """messages Told (of a transmitter); receiver -> radio path."""

    __slots__ = ()

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "downlink"


class ToldMotion(Wire):
    """messages Told (of a transmitter) at the transmitter; radio path -> transmitter."""

    __slots__ = ()

    messages: ClassVar[bool] = True
    title: ClassVar[str] = "transmitter input"


class BeamPath(Wire):
    """bool, something stands in the ray (of a beam); what stands there -> ray.  Silenced in both twins."""

    __slots__ = ()

    title: ClassVar[str] = "beam path"


class BeamEmitter(Wire):
    """bool, the emitter is fed (of a beam); operator's input -> ray."""

    __slots__ = ()

    title: ClassVar[str] = "beam emitter"


class BeamLight(Wire):
    """bool, light falls on the beam's receiver (of a beam); ray -> beam's receiver."""

    __slots__ = ()

    title: ClassVar[str] = "beam light"


class BeamOutput(Wire):
    """bool, the output is closed: ray clear (of a beam); beam's receiver -> operator's input."""

    __slots__ = ()

    title: ClassVar[str] = "beam output"


class ReportLine(Wire):
    """logic.contract.Report (of an edge or beam); receiver, wired input or beam's input -> controller."""

    __slots__ = ()

    title: ClassVar[str] = "report line"


class Ask(Wire):
    """int, number of the latest test request; controller -> receiver, wired inputs."""

    __slots__ = ()

    title: ClassVar[str] = "test request"


class Order(Wire):
    """(Direction | None, slow: bool); controller -> contactors, receiver."""

    __slots__ = ()

    title: ClassVar[str] = "drive order"


class MainOrder(Wire):
    """bool, the main shut-off is to be closed; controller -> main shut-off."""

    __slots__ = ()

    title: ClassVar[str] = "main shut-off order"


class BrakeOrder(Wire):
    """events.Brake; controller -> leaf."""

    __slots__ = ()

    title: ClassVar[str] = "brake order"


class Contactor(Wire):
    """bool, the contactor of a direction (of "opening" or "closing") is closed; contactors -> leaf, read-back."""

    __slots__ = ()

    title: ClassVar[str] = "contactor"


class MainContact(Wire):
    """bool, the main shut-off is closed; main shut-off -> leaf, read-back."""

    __slots__ = ()

    title: ClassVar[str] = "main shut-off"


class DriveDirection(Wire):
    """bool, True: as wired, False: the drive turns the other way; phase wiring -> leaf."""

    __slots__ = ()

    title: ClassVar[str] = "drive wiring"


class ContactorReadBack(Wire):
    """bool (of "opening" or "closing"); read-back -> controller."""

    __slots__ = ()

    title: ClassVar[str] = "contactor read-back"


class MainReadBack(Wire):
    """bool; read-back -> controller."""

    __slots__ = ()

    title: ClassVar[str] = "main shut-off read-back"


class LimitSwitch(Wire):
    """bool (of "closed" or "open"); limit switch -> controller."""

    __slots__ = ()

    title: ClassVar[str] = "limit switch"


class Watch(Wire):
    """float | None, measured position at whose crossing the controller wants to be called; controller -> travel
    sensor."""

    __slots__ = ()

    title: ClassVar[str] = "position compare"


class Counts(Wire):
    """travel_sensor.Travelled: what the travel sensor gives the controller."""

    __slots__ = ()

    title: ClassVar[str] = "travel sensor"


class SensorGain(Wire):
    """float, counted travel per real travel (1.0); sensor coupling -> travel sensor."""

    __slots__ = ()

    title: ClassVar[str] = "travel sensor coupling"


class ForceGain(Wire):
    """float, sensed force per real force (1.0); force transducer -> force sensing."""

    __slots__ = ()

    title: ClassVar[str] = "force transducer"


class ForceTrip(Wire):
    """bool; force sensing -> controller.  Silenced in the edge-alone twin."""

    __slots__ = ()

    title: ClassVar[str] = "force sensing output"


class ForceReady(Wire):
    """bool, the force sensing answers its own test; force sensing -> controller."""

    __slots__ = ()

    title: ClassVar[str] = "force sensing self-test"


class Alarm(Wire):
    """bool, the alarm is to sound; controller -> sounder."""

    __slots__ = ()

    title: ClassVar[str] = "alarm order"


class Sound(Wire):
    """bool, the sounder sounds; sounder -> controller (read-back)."""

    __slots__ = ()

    title: ClassVar[str] = "sounder"


class ToStore(Wire):
    """(bytes, Lockout) to be kept; controller -> store."""

    __slots__ = ()

    title: ClassVar[str] = "store input"


class Stored(Wire):
    """bytes, what the non-volatile store holds; store -> controller (read at power-up only)."""

    __slots__ = ()

    title: ClassVar[str] = "non-volatile store"
