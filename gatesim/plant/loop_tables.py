"""Tables of a site file about an edge's loop: how edges are joined, what is in the lead, what the parts may be off.

They stand apart from `site.py` because only some sites have them; `plant/edges/loop.py` says what a loop reads,
`field/band.py` how far that may spread.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from gatesim.units import Area, Length, Resistance, Share, Voltage


class StripKind(Enum):
    """What a press does to the strip's contact."""

    CLOSES = "closes when pressed"
    OPENS = "opens when pressed"


class Joining(Enum):
    """How edges share one loop, and so one channel and one band."""

    ONE_LEAD = "one lead"
    SERIES = "in series"
    PARALLEL = "in parallel"


@dataclass(frozen=True, slots=True)
class Lead:
    """What is in an edge's lead beside its wire."""

    area: Area | None = None
    """Cross-section of one wire, where the pair has no AWG number."""
    joints: int = 0
    """Joints in the lead, in both wires together."""
    joint_resistance: Resistance = 0.0
    """Of each joint."""
    leakage: Resistance | None = None
    """Across the pair when it is wet, as it is in a run; absent: dry."""
    leakage_length: Length | None = None
    """Length of pair that has this leakage; absent: the whole lead has it."""


@dataclass(frozen=True, slots=True)
class LoopSpread:
    """What the parts of an edge's loop may be off, for the design of its band."""

    termination_tolerance: Share = 0.05
    """Of the termination resistor as bought (E24 series: 5 %, IEC 60063)."""
    termination_tempco: Share = 0.0002
    """Its change for each kelvin away from 20 degC, either way (thick film: up to 200 ppm, from memory)."""
    aged_contact: Resistance = 4_000.0
    """Contact resistance of an aged strip that must still read as a press (ours)."""
    fault_leakage: Resistance = 10_000.0
    """Leakage across the strip that must be found, and all that is worse (ours)."""


@dataclass(frozen=True, slots=True)
class ConverterSpread:
    """What a converter and its divider may be off, for the design of the bands."""

    pull_up_tolerance: Share = 0.01
    """Of the pull-up as bought (E96 series: 1 %, IEC 60063)."""
    pull_up_tempco: Share = 0.0001
    """Its change for each kelvin away from 20 degC, either way (metal film: up to 100 ppm, from memory)."""
    reference: Voltage = 3_300.0
    """Supply of the divider and of the converter: it cancels in the code, and scales noise and hum."""
    converter_error: int = 2
    """Codes by which a result may be off, offset, gain and linearity together (ours)."""
    noise: Voltage = 0.0
    """Peak of the noise at the converter's input."""
    hum: Voltage = 0.0
    """Peak of what the mains (50 or 60 Hz) induces in the lead, at the converter's input."""
