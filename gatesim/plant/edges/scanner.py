"""Scanning, shared by transmitters and wired inputs: hosts the classifier role (docs/timing.md, section 5).

Scans stand at phase + n * sampling.  Only those are lived through that can matter: the first one that sees a new image,
and the next one while the classifier asks `again`.  The others are counted in closed form.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gatesim.events import Level
from gatesim.plant.edges.converter import code_of
from gatesim.plant.grid import first_index, made_by
from gatesim.plant.logic.contract import Classifier, ClassifierDo, ClassifierSeen, ClassifierSettings, EdgeBand
from gatesim.plant.loop_tables import StripKind
from gatesim.plant.nets import host_of
from gatesim.plant.part import owned, state
from gatesim.plant.site import Edge, Transmitter, WiredInput
from gatesim.units import FOREVER

REFERENCE_SLACK = 2
"""Codes by which the reference channel may be off (docs/timing.md, section 4)."""

Image = tuple[tuple[int, ...], int, "float | None"]
"""What a scan sees: a code per loop, the reference channel's code, the loaded cell voltage last measured (mV)."""

NEVER = -1
"""An index that stands for no scan."""


@dataclass(slots=True)
class NoLogic:
    """The state of a classifier before power-up."""

    def copy(self) -> NoLogic:
        return self


@state
class ScannerState:
    """What changes in a scanner."""

    logic: Any = owned()
    levels: tuple[Level, ...]
    low: bool
    critical: bool
    again: bool
    ready: bool
    """Whether a scan was made since power-up."""
    image: Image
    """What the last scan saw."""
    last: int
    """Index of the last scan made."""
    base: int
    """Indices that count for no scan: those before power-up, and those while the scans were stopped."""
    stopped: int
    """Index of the first scan that was not made, while the scan clock stands; else NEVER."""
    forced: int
    """Index of a scan to be made in any case, or NEVER."""


@dataclass(frozen=True, slots=True)
class Scanner:
    """The scanner of one node, with its classifier."""

    settings: ClassifierSettings
    sampling_phase: int
    classifier: Classifier
    edges: tuple[str, ...]
    """The edges, in the order of the levels told: several may share a loop, and so its level."""
    loops: tuple[int, ...]
    """Which of the classifier's loops each edge is on."""
    period: float
    """Between two scans, as the node's own clock keeps it."""

    def initial(self) -> ScannerState:
        """The state before power-up."""
        levels = (Level.INVALID,) * len(self.edges)
        return ScannerState(NoLogic(), levels, False, False, False, False, ((), 0, None), NEVER, 0, NEVER, NEVER)

    def power_up(self, s: ScannerState, now: float, kept: bytes | None) -> None:
        """Start the classifier anew; the first scan at or after `now` is number 1."""
        s.logic, do = self.classifier.start(self.settings, kept)
        s.ready = False
        s.base = first_index(now, self.sampling_phase, self.period)
        s.last, s.stopped, s.forced = s.base - 1, NEVER, NEVER
        self._take(s, do)

    def _take(self, s: ScannerState, do: ClassifierDo) -> None:
        levels = do.levels if len(do.levels) == len(self.loops) else tuple([do.levels[k] for k in self.loops])
        s.levels, s.low, s.critical, s.again = levels, do.low, do.critical, do.again

    def run(self, s: ScannerState, now: float, running: bool) -> None:
        """Follow the scan clock: it stops and goes on with the stimuli, before a scan of the same instant."""
        if running and s.stopped >= 0:
            s.base += first_index(now, self.sampling_phase, self.period) - s.stopped
            s.stopped = NEVER
        elif not running and s.stopped < 0:
            s.stopped = first_index(now, self.sampling_phase, self.period)

    def force(self, s: ScannerState, now: float) -> None:
        """Ask for the first scan strictly later than `now`."""
        s.forced = made_by(now, self.sampling_phase, self.period)

    def sent(self, s: ScannerState, now: float) -> int:
        """A frame is sent now: the number of the last scan by now, lived through or not.

        Whatever changes in this instant from here on is for a later scan.
        """
        if s.stopped >= 0:
            return s.stopped - s.base
        made = made_by(now, self.sampling_phase, self.period)
        if s.last < made - 1:
            s.last = made - 1
        return made - s.base

    def due(self, s: ScannerState, now: float, image: Image) -> float:
        """When the next scan that can matter is made."""
        n = self._next(s, now, image)
        return FOREVER if n < 0 else self.sampling_phase + n * self.period

    def _next(self, s: ScannerState, now: float, image: Image) -> int:
        if s.stopped >= 0:
            return NEVER
        needed = s.again or not s.ready or image != s.image
        if not needed and s.forced < 0:
            return NEVER
        n = max(s.last + 1, first_index(now, self.sampling_phase, self.period))
        return n if needed else max(n, s.forced)

    def scan(self, s: ScannerState, now: float, image: Image) -> bool:
        """Make the scan of this instant, if one that matters is due; whether it was made."""
        n = self._next(s, now, image)
        if n < 0 or self.sampling_phase + n * self.period > now:
            return False
        s.logic, do = self.classifier.step(s.logic, ClassifierSeen(image[0], image[1], n + 1 - s.base, image[2]), now)
        s.image, s.last, s.ready = image, n, True
        self._take(s, do)
        return True

    def answered(self, s: ScannerState) -> bool:
        """Whether the scan asked for by `force` has been made; says so once."""
        if s.forced < 0 or s.last < s.forced:
            return False
        s.forced = NEVER
        return True


def kept_flags(s: ScannerState) -> bytes:
    """What a node keeps of its battery flags when its cell is changed: one byte, 1 low, 2 critical."""
    return bytes([(1 if s.low else 0) + (2 if s.critical else 0)])


def scanner_of(
    node: Transmitter | WiredInput, edges: Sequence[Edge], low: float | None, critical: float | None, role: Classifier,
    errs: float = 0.0,
) -> Scanner:
    """The scanner of a node with its edges; thresholds as converter codes, loaded voltages in mV (None without a
    cell).  `errs`: by how much the node's clock errs."""

    def code(ohm: float) -> int:
        return code_of(ohm, node.pull_up, node.converter_bits)

    own = [edge for edge in edges if edge.joined_to is None]
    loops = [edge.name for edge in own]
    bands = tuple([EdgeBand(edge.name, code(edge.band_low), code(edge.band_high), code(edge.open_above),
                            edge.strip is StripKind.OPENS) for edge in own])
    settings = ClassifierSettings(
        bands, node.sampling, node.debounce, node.fault_debounce, code(node.pull_up), REFERENCE_SLACK,
        node.chatter_limit, low, critical,
    )
    return Scanner(settings, node.sampling_phase, role, tuple([edge.name for edge in edges]),
                   tuple([loops.index(host_of(edge)) for edge in edges]),
                   node.sampling * (1 + errs) if errs else node.sampling)
