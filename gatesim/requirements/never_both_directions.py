"""Never both directions energised."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements.monitor import Monitor, Tally, failed, held
from gatesim.requirements.profiles import PRACTICE
from gatesim.requirements.requirement import Source


@state
class Energised:
    """What came so far."""

    tally: Tally = owned()


class NeverBothDirections(Monitor):
    """What the contactors physically energise, not what is ordered."""

    id: ClassVar[str] = "never-both-directions"
    sentence: ClassVar[str] = "The drive is never energised in both directions at once."
    failures: ClassVar[tuple[str, ...]] = ("both energised",)
    source: ClassVar[Source] = PRACTICE
    sees: ClassVar[tuple[type, ...]] = (e.ContactorsChanged,)
    needs: ClassVar[tuple[type, ...]] = (e.ContactorsChanged,)
    idle: ClassVar[str] = "the drive was never energised"

    def begin(self, limit: int | None, site: Site) -> Energised:
        """Nothing energised yet."""
        return Energised(Tally())

    def see(self, state: Energised, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.ContactorsChanged):
            if event.opening and event.closing:
                state.tally.take(failed("both energised", at, (number,)))
            elif event.opening or event.closing:
                state.tally.take(held(at, (number,)))


REQUIREMENT = NeverBothDirections()
