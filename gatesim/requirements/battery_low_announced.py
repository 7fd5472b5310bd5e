"""Battery low is announced at each move."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event, FoundBy
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, failed, held
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source


@state
class AnnouncedState:
    """Which cells are low, and what was announced since the leaf last stood."""

    site: Site
    driving: d.Driving = owned()
    tally: Tally = owned()
    low: tuple[tuple[str, int, int], ...] = ()
    announced: tuple[str, ...] = ()


class BatteryLowAnnounced(Monitor):
    """Each automatic start while a transmitter has flagged its cell low comes with a notice that names the battery and
    the transmitter or
    one of its edges.  A flag younger than the device's detection limit is not judged.
    """

    id: ClassVar[str] = "battery-low-announced"
    sentence: ClassVar[str] = "A low battery is announced at each automatic move."
    failures: ClassVar[tuple[str, ...]] = ("not announced",)
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.BatteryFlagged, e.Announced, e.CellRenewed)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.BatteryFlagged, e.Announced)
    idle: ClassVar[str] = "no automatic start came with a low battery"

    def begin(self, limit: int | None, site: Site) -> AnnouncedState:
        """No flag."""
        return AnnouncedState(site, d.Driving(), Tally())

    def see(self, state: AnnouncedState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.BatteryFlagged):
            if event.flag == "low" and all(name != event.transmitter for name, _, _ in state.low):
                state.low += ((event.transmitter, at, number),)
        elif isinstance(event, e.CellRenewed):
            state.low = tuple(one for one in state.low if one[0] != event.transmitter)
        elif isinstance(event, e.Announced):
            if "battery" in event.notice:
                state.announced += (event.device,)
        elif isinstance(event, e.LeafStopped):
            state.announced = ()
        elif isinstance(event, e.LeafStarted) and state.driving.why is d.Why.START:
            for name, since, flag in state.low:
                if at - since >= f.known_at_start(state.site, name, FoundBy.CONTINUOUSLY):
                    told = name in state.announced or set(f.edges_on(state.site, name)) & set(state.announced)
                    state.tally.take(held(at, (flag, number)) if told else failed("not announced", at, (flag, number)))


REQUIREMENT = BatteryLowAnnounced()
