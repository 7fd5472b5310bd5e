"""A lost link is found in time while the leaf moves."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, NamedTuple

from gatesim import events as e
from gatesim.events import Event, FoundBy
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


class Cut(NamedTuple):
    """A cut path, since when, and the edges behind it."""

    at: int
    number: int
    wire: str
    device: str
    edges: tuple[str, ...]


@state
class LinkState:
    """Cut paths that wait to be found."""

    limit: int | None
    site: Site
    driving: d.Driving = owned()
    tally: Tally = owned()
    open: tuple[Cut, ...] = ()


class LostLinkFound(Monitor):
    """From the instant at which the path is cut to the report "not fresh" of its edges.  Not judged: a path that is
    whole again first, one
    cut at rest, and one cut so late in a movement that the leaf came to rest before the limit.
    """

    id: ClassVar[str] = "lost-link-found"
    sentence: ClassVar[str] = "While the leaf moves, a lost radio link is found in time."
    quantity: ClassVar[str] = "path cut to report not fresh"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "not found")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.WireDisturbed, e.WireRestored, e.ReportChanged)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.WireDisturbed, e.ReportChanged)
    idle: ClassVar[str] = "no link was lost while the leaf moved"

    def limits(self) -> dict[Profile, Limit | None]:
        """1.5 s, so that the stop and the reversal still fit in 2 s."""
        return both(1_500_000, OURS)

    def begin(self, limit: int | None, site: Site) -> LinkState:
        """All links whole."""
        return LinkState(limit, site, d.Driving(), Tally())

    def see(self, state: LinkState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.WireDisturbed):
            edges = f.of_link(state.site, event.wire, event.device)
            if edges and event.found is FoundBy.NEXT_CHECK_IN and state.driving.driven:
                state.open += (Cut(at, number, event.wire, event.device, edges),)
        elif isinstance(event, e.ReportChanged):
            for one in state.open:
                if event.edge in one.edges and not event.fresh:
                    state.tally.take(at_most(at - one.at, state.limit, "too late", one.at, (one.number, number)))
            if not event.fresh:
                state.open = tuple(one for one in state.open if event.edge not in one.edges)
        elif isinstance(event, e.WireRestored):
            left = tuple(one for one in state.open if (one.wire, one.device) != (event.wire, event.device))
            self._drop(state, left, "the link was whole again before it was due")
        elif isinstance(event, e.PowerLost):
            self._drop(state, (), "the supply was lost")
        elif isinstance(event, e.LeafStopped):
            late = tuple(one for one in state.open if state.limit is not None and at - one.at > state.limit)
            self._drop(state, late, "the leaf came to rest before it was due")
        state.driving.see(at, event)

    def _drop(self, state: LinkState, left: tuple[Cut, ...], why: str) -> None:
        if left != state.open:
            state.tally.skipped, state.open = why, left

    def open_cases(self, state: LinkState, now: int) -> Iterator[Verdict]:
        """Links not found lost yet."""
        for one in state.open:
            yield waiting(one.at, now, state.limit, "not found", (one.number,))


REQUIREMENT = LostLinkFound()
