"""A site: the tables of a site file, which are the parts' parameters.

One name from file to verdict: a field here is the key in the file, the constructor argument of the part and the word
in the verdict.  Plain frozen values; `scenario/read.py` builds and checks them, nothing here reads files.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from gatesim.events import Direction, LeafName
from gatesim.plant.loads import Loads, Motor, Swing
from gatesim.plant.loop_tables import ConverterSpread, Joining, Lead, LoopSpread, StripKind
from gatesim.plant.radio_tables import Bursts, Clock, JitterReading, OwnRule, Radio, RadioRule
from gatesim.units import (
    Acceleration,
    Capacitance,
    Charge,
    Current,
    Duration,
    Force,
    Length,
    Mass,
    Resistance,
    Share,
    Speed,
    Stiffness,
    Surplus,
    Temperature,
    Voltage,
)


class GateKind(Enum):
    """How the leaf moves."""

    SLIDING = "sliding"
    CANTILEVER = "sliding cantilever"
    LIFT = "vertical lift"
    SWING = "swinging"


class WithoutPower(Enum):
    """What the leaf does when the drive has no power."""

    HELD = "held"
    BRAKED = "braked"
    COASTING = "coasting"


class Monitoring(Enum):
    """When a device is tested (docs: rules, section 3)."""

    BEFORE_EACH_MOVE = "before each move"
    CONTINUOUSLY = "continuously"


class LearnsMotion(Enum):
    """What tells a transmitter that the gate moves."""

    TOLD = "told by the receiver"
    FELT = "felt by the transmitter"


class AfterFault(Enum):
    """What a supervision fault locks out."""

    GUARDED = "the guarded direction"
    BOTH = "both directions"


class CountCleared(Enum):
    """What clears the count of demands."""

    OWN_END = "the end of the interrupted movement"
    ANY_END = "any end of travel"


@dataclass(frozen=True, slots=True)
class Gate:
    """The leaf and its guides."""

    kind: GateKind
    """How the leaf moves."""
    travel: Length
    """Clear travel from the closed stop to the open stop; of a swinging leaf, along the arc of its closing edge."""
    mass: Mass
    """Moving mass as fitted."""
    running_resistance: Force
    """Force to keep the leaf moving."""
    lightest: Mass | None = None
    """Lightest leaf that the site declares (for the corners); as fitted if absent."""
    heaviest: Mass | None = None
    """Heaviest leaf that the site declares (ice, infill)."""
    loads: Loads | None = None
    """Slope, wind, seals, cold and counterbalance (needs drive.motor)."""
    swing: Swing | None = None
    """Hinge and arm of a swinging leaf (needs drive.motor)."""


@dataclass(frozen=True, slots=True)
class Drive:
    """The drive, its force sensing and its stopping."""

    speed_opening: Speed
    """Full speed while opening."""
    speed_closing: Speed
    """Full speed while closing."""
    slow_speed: Speed
    """Speed in the slow zones, in hold-to-run and while the position is unknown."""
    slow_zone: Length
    """Distance before each end stop in which the leaf creeps."""
    acceleration: Acceleration
    """From standstill to the ordered speed."""
    deceleration: Acceleration
    """Of the ordered slowing before a slow zone."""
    start_delay: Duration
    """From energised to moving."""
    stopping_delay: Duration
    """From de-energised to slowing."""
    stopping_deceleration: Acceleration
    """Of the stop, once it has begun to slow."""
    stall_force: Force
    """Contact force at which the drive can push no further."""
    force_limit: Force
    """Contact force at which the inherent force sensing counts."""
    force_dwell: Duration
    """How long the force must last."""
    blind_after_start: Duration
    """Declared blind time of the force sensing after each start of the leaf."""
    blind_at_end: Length
    """Declared blind distance of the force sensing before the end stop ahead."""
    limit_lead: Length
    """How far before the end stop a limit switch closes."""
    without_power: WithoutPower
    """What holds the leaf while the supply is lost."""
    coasting_deceleration: Acceleration = 0.15e-6
    """Of a leaf that coasts without power."""
    end_stiffness: Stiffness = 500.0
    """Stiffness of leaf and obstruction once an edge has nothing left to give, or where no edge is."""
    supply_capacity: Force = 1e8
    """Drive load (thrust at start) above which the operator's own supply dips."""
    supply_dip: Duration = 300_000
    """How long such a dip lasts."""
    count_length: Length = 0.0
    """Travel that one count of the travel sensor stands for; 0: as fine as need be."""
    count_slip: Share = 0.0
    """Share of the travel that the counts lose, both ways (a belt or wheel that slips)."""
    reflected_mass: Mass = 0.0
    """Inertia of rotor and gear as mass on the leaf: it moves with the leaf and strikes with it."""
    self_locking: bool = False
    """The gear holds the leaf by itself: releasing the brake lets nothing spring back, and no hand or wind moves it."""
    motor: Motor | None = None
    """Motor, gear and brake: with it the motion follows from forces; acceleration and deceleration are upper bounds."""


@dataclass(frozen=True, slots=True)
class Zone:
    """An entrapment zone: where the moving leaf can crush or draw in."""

    name: str
    """What edges and obstructions call it."""
    direction: Direction
    """The direction of motion in which it closes."""
    start: Length
    """Leaf position at which the zone begins (nearest the closed stop)."""
    end: Length
    """Leaf position at which it ends."""
    force_sensing: bool = True
    """Whether the inherent force sensing is counted as a means here."""
    leaf: LeafName = LeafName.FIRST
    """The leaf whose motion closes it."""
    hinge_side: bool = False
    """Whether it lies at the hinges, behind the opening leaf: such a zone closes while opening only."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One point of an edge's force-deflection curve, from its data sheet or a bench test."""

    deflection: Length
    """From first touch."""
    force: Force
    """At this deflection."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A monitored edge: strip, loop and termination resistor."""

    name: str
    """What steps, faults and reports call it."""
    zone: str
    """Name of the zone that it guards."""
    input: str
    """The transmitter or wired input it hangs on."""
    termination: Resistance
    """Termination resistor at the far end."""
    band_low: Resistance
    """Lower end of the band of the loop at rest."""
    band_high: Resistance
    """Between them the loop counts as at rest."""
    open_above: Resistance
    """From here on the loop counts as open."""
    wire_resistance: Resistance
    """Of the lead, both wires; 0 with a gauge or area and a length: derived from them at 20 degC."""
    contact_resistance: Resistance
    """Of the closed contact strip."""
    length: Length
    """Of the edge itself; its fixing is planned from it."""
    actuating_travel: Length
    """From first touch until the contact closes (pre-travel)."""
    actuating_force: Force
    """Force there."""
    overtravel: Length
    """What the edge can still give after that, at the full force."""
    full_force: Force
    """Force at the end of the overtravel."""
    wire_length: Length | None = None
    """Length of the pair, for its resistance or the check of it."""
    wire_gauge: int | None = None
    """AWG number of the pair."""
    end_distance: Length = 25_400.0
    """First and last fixing hole of the channel from its ends."""
    greatest_pitch: Length = 292_100.0
    """Fixing holes not farther apart than this."""
    curve: tuple[CurvePoint, ...] = ()
    """Force over deflection, rising, straight between the points; absent: the line through the two given above, at
    actuating_travel and at the end of the overtravel.  It must go through both."""
    force_tolerance: Share = 0.0
    """Of the force, either way: the margin of the overtravel is that of the stiffest edge."""
    travel_tolerance: Share = 0.0
    """Of the actuating travel, either way: that margin is the one of the latest edge."""
    stiffening: Surplus = 0.0
    """So much more force at each deflection, aged or in the cold: in runs and in margins."""
    strip: StripKind = StripKind.CLOSES
    """A strip that opens when pressed lies in series with the termination; its press opens the loop."""
    joined_to: str | None = None
    """The edge whose loop this one shares: one channel, one band, one level for all of them."""
    joining: Joining | None = None
    """How it shares that loop.  One lead: through every strip, one resistor at the very end.  In series, in parallel:
    each edge with a resistor of its own."""
    lead: Lead | None = None
    """What else is in the lead."""
    spread: LoopSpread | None = None
    """What the loop's parts may be off; absent: the defaults."""


@dataclass(frozen=True, slots=True)
class Beam:
    """A presence beam, wired to the operator.  Its output is fail-safe: open where the ray is interrupted or dark."""

    name: str
    """What steps, faults and reports call it."""
    zones: tuple[str, ...]
    """Names of the zones that it guards, all of one direction of motion."""
    start: Length
    """Leaf position at which its ray begins (nearest the closed stop)."""
    end: Length
    """Leaf position at which its ray ends; equal to start where it crosses the leaf's way."""
    distance: Length
    """Of the ray from the plane in which the leaf moves."""
    response_time: Duration
    """From the ray interrupted to the output open, and from clear to closed."""
    test_pulse: Duration
    """How long the emitter is off in a test."""
    monitoring: Monitoring = Monitoring.BEFORE_EACH_MOVE
    """When it is tested."""
    test_period: Duration = 1_000_000
    """From test to test where it is monitored continuously, and from a failed test to the next (begin to begin)."""
    detects: Length = 50_000.0
    """Smallest object that is sure to interrupt it."""


@dataclass(frozen=True, slots=True)
class DischargePoint:
    """A point of the open voltage over the charge left."""

    charge_left: Share
    """Of the charge that is usable at the temperature."""
    open_voltage: Voltage
    """Without load, at this charge."""


@dataclass(frozen=True, slots=True)
class CellTemperature:
    """What a cell has at one temperature."""

    temperature: Temperature
    """Of this point."""
    resistance: Resistance
    """Internal resistance."""
    usable: Share
    """Share of the capacity that can be drawn at this temperature."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell or battery, of a transmitter or of the operator.  Its thresholds are loaded voltages: during a burst of a
    transmitter, or while the drive moves."""

    capacity: Charge
    """Rated: all of it is usable where no `temperatures` say less."""
    open_voltage: Voltage
    """Of a full cell without load, at the coldest temperature of the site."""
    low_voltage: Voltage
    """Loaded voltage below which the cell is reported low."""
    critical_voltage: Voltage
    """Loaded voltage below which it is reported critical."""
    dead_voltage: Voltage
    """Loaded voltage below which the transmitter cannot send, or the operator has no supply."""
    self_discharge: Share
    """Share of the charge left that is lost in a year on the shelf."""
    charge: Share = 1.0
    """Share of the charge at the start of a run."""
    end_voltage: Voltage | None = None
    """Without load, when the usable charge is spent.  Stated with `knee`, or both left out for `discharge`."""
    knee: Share | None = None
    """Share of the charge left at which the voltage starts to fall from open_voltage to end_voltage, in a line."""
    discharge: tuple[DischargePoint, ...] = ()
    """The end of life as points, from below 100 % down to 0 %; straight lines, from open_voltage at 100 % on."""
    resistance: Resistance | None = None
    """Internal resistance at the coldest temperature.  Stated, or left out for `temperatures`."""
    temperatures: tuple[CellTemperature, ...] = ()
    """Internal resistance and usable charge over temperature, rising, straight lines between."""


@dataclass(frozen=True, slots=True)
class SolarPanel:
    """What a panel gives.  In a run it gives nothing: runs are in the dark.  A primary (lithium) cell must never be
    charged: a panel belongs to a rechargeable one."""

    worst_month: Charge | None = None
    """Charge a day that reaches the battery in the worst month.  Stated, or left out for `by_month`."""
    by_month: tuple[Charge, ...] = ()
    """The same for each month, January to December."""


@dataclass(frozen=True, slots=True)
class Transmitter:
    """A battery transmitter on the moving leaf, and its radio path to the receiver."""

    name: str
    """What edges, faults and reports call it."""
    identity: int
    """Number in its frames, by which the receiver knows it."""
    sampling: Duration
    """From scan to scan of its loops."""
    debounce: int
    """Equal samples in a row that make a level (a press)."""
    fault_debounce: int
    """Equal samples in a row that make a fault level."""
    checkin_at_rest: Duration
    """From check-in to check-in while the leaf stands."""
    checkin_in_motion: Duration
    """From check-in to check-in while the leaf moves."""
    checkin_jitter: Duration
    """Each check-in comes up to this late (what the next one counts from: `jitter_reading`)."""
    event_repeats: int
    """How often a change is sent, the first time included."""
    event_spacing: Duration
    """From one sending of a change to its next repeat."""
    learns_motion: LearnsMotion
    """How it knows that the leaf moves."""
    feel_delay: Duration
    """From motion to motion known, and from standstill to standstill known, where it is felt."""
    monitoring: Monitoring
    """When its edges are tested."""
    latency: Duration
    """From sending to hearing, the frame's own length included."""
    latency_spread: Duration
    """Each frame takes up to this much longer."""
    loss: Share
    """Of frames, each for itself, on a good day."""
    air_time: Duration
    """Length of a frame on air."""
    burst_current: Current
    """Of the supply, while a frame is sent."""
    burst_length: Duration
    """Current and length of the supply's burst for a frame (longer than the air time)."""
    sample_charge: Charge
    """Charge of one scan."""
    sleep_current: Current
    """Between scans and frames."""
    cell: Cell
    """What feeds it."""
    sampling_phase: Duration = 0
    """When its first scan falls."""
    checkin_phase: Duration = 0
    """When its first check-in falls."""
    pull_up: Resistance = 8_200.0
    """Resistor from the divider's supply to the loop."""
    converter_bits: int = 10
    """Of its converter."""
    chatter_limit: int = 12
    """So many samples off rest, leaking one per sample at rest, are a fault though none lasted."""
    supervision_budget: Duration = 2_000_000
    """Air time of supervision that the radio rule set allows in an hour."""
    spread: ConverterSpread | None = None
    """What converter and divider may be off; absent: the defaults."""
    jitter_reading: JitterReading = JitterReading.GRID
    """The next check-in counts from when the last one was due (absolute grid) or sent (accumulating)."""
    clock: Clock | None = None
    """Error of its clock for scans and check-ins; absent: none."""
    radio: Radio | None = None
    """Link budget along the travel; its loss of frames comes on top of `loss`.  Absent: `loss` alone."""
    bursts: Bursts | None = None
    """Loss in bursts, on top of the others."""
    radio_rule: RadioRule | None = None
    """Radio rule set that it is said to follow."""
    own_rule: OwnRule | None = None
    """With `radio_rule: own`."""
    capacitor: Capacitance = 0.0
    """Beside the cell: it carries a part of each burst."""
    divider_time: Duration = 0
    """How long each scan energises the divider of each loop (its charge comes on top of sample_charge)."""
    divider_voltage: Voltage = 3_300.0
    """What the dividers are fed with."""
    panel: SolarPanel | None = None
    """Panel that charges the cell."""


@dataclass(frozen=True, slots=True)
class WiredInput:
    """An input of the operator on which an edge hangs by wire."""

    name: str
    """What edges, faults and reports call it."""
    sampling: Duration
    """From scan to scan of its loops."""
    debounce: int
    """Equal samples in a row that make a level (a press)."""
    fault_debounce: int
    """Equal samples in a row that make a fault level."""
    monitoring: Monitoring
    """When its edges are tested."""
    sampling_phase: Duration = 0
    """When its first scan falls."""
    pull_up: Resistance = 8_200.0
    """Resistor from the divider's supply to the loop."""
    converter_bits: int = 10
    """Of its converter."""
    chatter_limit: int = 12
    """So many samples off rest, leaking one per sample at rest, are a fault though none lasted."""
    spread: ConverterSpread | None = None
    """What converter and divider may be off; absent: the defaults."""


@dataclass(frozen=True, slots=True)
class ReceiverTable:
    """The receiver with its watchdog."""

    pairs: tuple[str, ...]
    """Names of the paired transmitters."""
    watchdog_at_rest: Duration
    """Silence after which a transmitter counts as lost while the leaf stands."""
    watchdog_in_motion: Duration
    """Silence after which a transmitter counts as lost while the leaf moves."""
    counter_bits: int = 8
    """Of the frames' counter."""
    clock: Clock | None = None
    """Error of its clock for the watchdogs; absent: none."""


@dataclass(frozen=True, slots=True)
class ControllerTable:
    """The operator controller's settings."""

    reversal_distance: Length
    """After a demand or fault while closing (or to the open end)."""
    opening_relief: Length = 100_000.0
    """After a demand or fault while opening."""
    second_demand_relief: Length = 0.0
    """After a second demand, at most half the distance just reversed; 0: none."""
    reversal_dwell: Duration = 200_000
    """At standstill before the reverse order."""
    test_time: Duration = 1_000_000
    """How long a device may take to answer the test before a move."""
    start_limit: Duration = 500_000
    """From order to motion."""
    stop_limit: Duration = 800_000
    """From stop order to standstill; then the main shut-off opens."""
    travel_time_opening: Duration = 60_000_000
    """An opening order that lasts longer is a drive fault."""
    travel_time_closing: Duration = 60_000_000
    """A closing order that lasts longer is a drive fault."""
    press_limit: Duration = 10_000_000
    """A press at rest that lasts longer is a fault."""
    recovery_time: Duration = 3_000_000
    """Of unbroken good reports before a healed link counts again."""
    reset_window: Duration = 2_000_000
    """Press and release of a reset must lie within it."""
    alarm_time: Duration = 300_000_000
    """How long an entrapment alarm sounds."""
    automatic_closing: Duration | None = None
    """Pause at the open end; absent: never."""
    closing_warning: Duration = 5_000_000
    """Warning before an automatic closing."""
    after_fault: AfterFault = AfterFault.GUARDED
    """What a found fault locks out."""
    count_cleared: CountCleared = CountCleared.OWN_END
    """What clears the count of demands."""
    faults_a_day: int = 5
    """Unlatched faults at rest in 24 hours above which a warning is given."""
    store_write: Duration = 8_000
    """How long the non-volatile store takes."""


@dataclass(frozen=True, slots=True)
class OperatorBattery:
    """The operator's own battery, where it does not live on the mains.

    Its voltage under `moving_current` at `cell.charge` scales `drive.supply_capacity`: what is left above dead_voltage,
    as a share of what a full one has.
    """

    cell: Cell
    """The battery itself."""
    standing_current: Current
    """At rest: controller, receiver, wired devices, charger losses."""
    moving_current: Current
    """Mean current while the leaf moves, the standing current included."""
    panel: SolarPanel | None = None
    """Panel that charges it; absent: something else does."""


@dataclass(frozen=True, slots=True)
class Use:
    """How much the gate is used: what the plan's charge and air time are summed over."""

    moves_in_busiest_hour: int = 10
    """Moves of the leaf, for the air time."""
    moves_a_day: int = 60
    """Moves of the leaf, for the charge."""
    presses_a_day: int = 4
    """Presses of an edge, each a change to pressed and one back."""


class Profile(Enum):
    """The limits profiles that ship."""

    TWO_MEANS = "two means"
    PROVED_FORCE = "proved force"


@dataclass(frozen=True, slots=True)
class LimitOverride:
    """A limit set by the site, with its source."""

    requirement: str
    """Id of the requirement (`gatesim list requirements`)."""
    limit: str
    """A quantity, such as "1.5 s"."""
    source: str
    """Where the figure comes from (document and clause)."""


@dataclass(frozen=True, slots=True)
class SecondLeaf:
    """A second leaf, moved by the same controller; where its own gate or drive is absent, the first leaf's holds.

    The supply's figures are those of the first leaf's drive.
    """

    opens_first: LeafName
    """The leaf on top: it opens first and closes last.  The other one lies underneath."""
    opening_delay: Duration
    """While opening the leaf underneath starts this long after the leaf on top."""
    closing_delay: Duration
    """While closing the leaf on top starts this long after the leaf underneath."""
    overlap: Length
    """How far open the leaf on top must be while the leaf underneath is not closed."""
    gate: Gate | None = None
    """The second leaf itself; absent: as the first."""
    drive: Drive | None = None
    """Its drive; absent: as the first leaf's."""
    leaf_at: Length = 0.0
    """Where the second leaf stands at the start of a run."""


@dataclass(frozen=True, slots=True)
class Site:
    """A whole site file."""

    name: str
    """What reports call the gate."""
    gate: Gate
    """The leaf and its guides."""
    drive: Drive
    """The drive, its force sensing and its stopping."""
    zones: tuple[Zone, ...]
    """Where the moving leaf can crush or draw in."""
    edges: tuple[Edge, ...]
    """Monitored edges."""
    controller: ControllerTable
    """The operator controller's settings."""
    receiver: ReceiverTable | None = None
    """The receiver of the transmitters; absent without them."""
    transmitters: tuple[Transmitter, ...] = ()
    """Battery transmitters on the leaf."""
    wired_inputs: tuple[WiredInput, ...] = ()
    """Inputs on which edges hang by wire."""
    limits: Profile = Profile.TWO_MEANS
    """Profile of limits by which verdicts are judged."""
    limit_overrides: tuple[LimitOverride, ...] = ()
    """Limits of this site, in the place of the profile's."""
    coldest: Temperature = -20.0
    """Lowest temperature that the site declares."""
    notes: str = ""
    """Anything worth knowing; read by people only."""
    leaf_at: Length = 0.0
    """Where the leaf stands at the start of a run."""
    instrument_stiffness: Stiffness | None = None
    """Of the force gauge between leaf and obstruction, in series with both; absent: there is none.  The gauge of EN
    12445 has 500 N/mm (from memory)."""
    warmest: Temperature | None = None
    """For the spread of the loops; absent: 60 degC (ours)."""
    beams: tuple[Beam, ...] = ()
    """Presence beams."""
    temperature: Temperature | None = None
    """During a run; the coldest, if absent."""
    battery: OperatorBattery | None = None
    """The operator's own battery; absent: mains."""
    use: Use | None = None
    """How much the gate is used; absent: as the defaults of its table (ours)."""
    second_leaf: SecondLeaf | None = None
    """A second leaf with the same controller."""


def guarded(site: Site, beam: Beam) -> Direction:
    """The direction of motion that a beam guards: that of its zones."""
    return next(zone.direction for zone in site.zones if zone.name == beam.zones[0])


def temperature_of(site: Site) -> float:
    """Of a run (degC)."""
    return site.coldest if site.temperature is None else site.temperature
