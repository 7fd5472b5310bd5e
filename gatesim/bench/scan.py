"""Any controller or receiver as a programmable controller works: on a fixed scan.

A wrapper of a role, made of the contract alone.  Scans stand at power-up + `phase` + n * `scan`.  A scan reads its
inputs, calls the logic once whether or not anything changed, and its outputs appear `output_delay` later.  An input
counts once it has kept its value for `input_filter`; at power-up it counts as it is found.  Position and motion come
from the travel sensor and are not filtered; frames are kept until the next scan.

A scan at which nothing differs for logic that is called on change (the same inputs, its wake not reached) is left out:
it could do nothing.  Logic that counts scans says `wants = "scan"` and gets every one.  A classifier has its scan
already (`sampling` in the site file) and is not wrapped.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from gatesim.bench.shapes import SHAPES
from gatesim.events import Command, Origin
from gatesim.plant.grid import first_index
from gatesim.plant.part import owned, state
from gatesim.units import FOREVER

_CONTROLS = tuple((command, origin) for command in Command for origin in Origin)
_VALUES = frozenset({"position", "position_known", "motion", "frames"})
"""Inputs that are no contacts."""


class ScanSettings(NamedTuple):
    """How the logic is called.  Whole microseconds."""

    scan: int
    input_filter: int = 0
    output_delay: int = 0
    phase: int = 0


@state
class ScanState:
    """What changes in the wrapper."""

    inner: Any = owned()
    put_out: Any
    """The outputs that stand now."""
    coming: tuple[tuple[float, Any], ...] = ()
    """Outputs on their way, each with its instant."""
    base: Any = -1
    """The first scan; -1: not known before the first call."""
    scan_at: float = -1
    """The next scan, lived through or not."""
    wake: float = FOREVER
    """When the wrapper asked to be called."""
    asked: float = FOREVER
    """When the logic asked to be called."""
    watch: float | None = None
    news: bool = True
    """Whether the next scan may see something new."""
    image: Any = None
    """What the last call saw, without the position."""
    raw: tuple[Any, ...] = ()
    since: tuple[float, ...] = ()
    """Since when each raw input has had its value."""
    taken: tuple[Any, ...] = ()
    """The inputs as the filter lets them through."""
    messages: tuple[Any, ...] = ()


class FixedScan:
    """A role on a fixed scan; meets the contract of the role that it wraps."""

    def __init__(self, role: str, inner: Any, settings: ScanSettings) -> None:
        self.inner, self.scan = inner, settings
        self._shape = SHAPES[role]
        self._has_position = role == "controller"
        self._contacts = tuple(name for name in self._shape.seen._fields if name not in _VALUES)

    @property
    def _every(self) -> bool:
        return getattr(self.inner, "wants", "change") == "scan"

    @property
    def power_cycles(self) -> bool:
        """As the logic says."""
        return bool(getattr(self.inner, "power_cycles", True))

    def start(self, settings: Any, kept: bytes | None) -> tuple[ScanState, Any]:
        """Power-up: the logic's own start, put out at once."""
        inner, do = self.inner.start(settings, kept)
        return ScanState(inner, do._replace(**dict.fromkeys(self._shape.said, ()))), do

    def step(self, state: ScanState, seen: Any, now: float) -> tuple[ScanState, Any]:
        """An input changed, a scan is due, or outputs are."""
        if state.base < 0:
            state.base = state.scan_at = now + self.scan.phase
        elif state.scan_at < now:
            state.scan_at = state.base + first_index(now, state.base, self.scan.scan) * self.scan.scan
        image = seen._replace(position=0.0) if self._has_position else seen
        # A call that the wrapper did not ask for is news: an input, a message, the position that is watched.
        state.news = state.news or now < state.wake or image != state.image
        state.image = image
        if self._shape.happened:
            state.messages += seen.frames
        if self.scan.input_filter:
            self._note(state, seen, now)
        said = self._due(state, now, None)
        if now >= state.scan_at:
            if state.news or self._every or now >= state.asked:
                self._scan(state, seen, now)
                said = self._due(state, now, said)
            state.scan_at = state.scan_at + self.scan.scan
        state.wake = self._next(state)
        return state, self._told(state, said if said is not None else state.put_out)

    def _scan(self, state: ScanState, seen: Any, now: float) -> None:
        state.inner, do = self.inner.step(state.inner, self._through(state, seen, now), now)
        state.asked = FOREVER if do.wake is None or do.wake <= now else do.wake
        state.watch = do.watch if self._has_position else None
        state.messages, state.news = (), state.taken != state.raw
        state.coming = (*state.coming, (now + self.scan.output_delay, do))

    def _next(self, state: ScanState) -> float:
        """The next instant that matters: a scan that may see something new, or outputs that come through."""
        scan = state.scan_at
        if not (state.news or self._every):
            scan = state.asked
            if scan > state.scan_at and scan < FOREVER:
                scan = state.base + first_index(scan, state.base, self.scan.scan) * self.scan.scan
            scan = max(scan, state.scan_at)
        return min(scan, state.coming[0][0]) if state.coming else scan

    def _told(self, state: ScanState, do: Any) -> Any:
        wake = None if state.wake == FOREVER else state.wake
        # The position is watched at once: it is no output, it only says when to look.
        return do._replace(wake=wake, watch=state.watch) if self._has_position else do._replace(wake=wake)

    def _due(self, state: ScanState, now: float, said: Any) -> Any:
        """Put out what has come through; with what is said once of all of it."""
        while state.coming and state.coming[0][0] <= now:
            do, state.coming = state.coming[0][1], state.coming[1:]
            once = {name: getattr(do, name) for name in self._shape.said}
            if said is not None:
                once = {name: (*getattr(said, name), *more) for name, more in once.items()}
            said = do._replace(**once)
            state.put_out = do._replace(**dict.fromkeys(self._shape.said, ()))
        return said

    # --- the input filter ---------------------------------------------------------------------------------------------

    def _flat(self, seen: Any) -> tuple[Any, ...]:
        """Every contact as one value: each control, and each member of each report, is one of its own."""
        flat: list[Any] = []
        for name in self._contacts:
            value = getattr(seen, name)
            if name == "controls":
                flat += [control in value for control in _CONTROLS]
            elif name == "reports":
                flat += [member for report in value for member in report[1:]]
            else:
                flat.append(value)
        return tuple(flat)

    def _note(self, state: ScanState, seen: Any, now: float) -> None:
        flat = self._flat(seen)
        if not state.raw:
            state.raw = state.taken = flat
            state.since = (-FOREVER,) * len(flat)
        elif flat != state.raw:
            state.since = tuple([then if new == old else now
                                 for new, old, then in zip(flat, state.raw, state.since, strict=True)])
            state.raw = flat

    def _through(self, state: ScanState, seen: Any, now: float) -> Any:
        """What the logic sees at this scan."""
        if self._shape.happened:
            seen = seen._replace(frames=state.messages)
        if not self.scan.input_filter:
            return seen
        steady = now - self.scan.input_filter
        state.taken = tuple([new if since <= steady else old
                             for new, old, since in zip(state.raw, state.taken, state.since, strict=True)])
        values = iter(state.taken)
        new: dict[str, Any] = {}
        for name in self._contacts:
            if name == "controls":
                new[name] = frozenset([control for control in _CONTROLS if next(values)])
            elif name == "reports":
                new[name] = tuple([report._replace(**{member: next(values) for member in report._fields[1:]})
                                   for report in seen.reports])
            else:
                new[name] = next(values)
        return seen._replace(**new)

