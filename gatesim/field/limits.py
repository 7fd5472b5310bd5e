"""What a plan's sums are held against: the limits that the requirements have at this site, with their sources."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.plant.site import Site
from gatesim.requirements.judging import limits_for
from gatesim.requirements.requirement import Limit, Source, Standing


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits (us, um).  None: no limit stands there, so nothing is judged, and the plan says so."""

    edge: Limit | None
    """Contact to reversal begun by the edge's path."""
    force: Limit | None
    """Contact to reversal begun by the force sensing."""
    fault: Limit | None
    """Fault in motion to reversal begun, or to standstill with the lockout stored."""
    lost_link: Limit | None
    """Path cut in motion to the link found lost."""
    lead: Limit | None
    """Battery low to critical, at least."""
    hold: Limit | None
    """Travel after a hold-to-run control is released."""
    beam: Limit | None = None
    """Ray interrupted to reversal begun."""


def limits_of(site: Site) -> Limits:
    """The limits of the site's profile and of its own overrides.

    Where a profile asks nothing of one means alone, the limit of the gate as a whole is taken: the more cautious.
    """
    known = limits_for(site)
    whole = known.get("reversal-begun")
    return Limits(
        edge=known.get("edge-alone-reversal-begun", whole),
        force=known.get("force-alone-reversal-begun", whole),
        fault=known.get("fault-in-motion"),
        lost_link=known.get("lost-link-found"),
        lead=known.get("battery-low-lead"),
        hold=known.get("hold-stops-on-release"),
        beam=known.get("beam-reversal-begun"),
    )


def said(source: Source) -> str:
    """A source in words: document, clause, how it is known, whether it is an analogue."""
    words = [f"{source.document}, {source.clause}" if source.clause else source.document]
    if source.standing is Standing.MEMORY:
        words.append("from memory")
    elif source.standing is Standing.PRACTICE:
        words.append("no source")
    if source.analogue:
        words.append("as analogue")
    return ", ".join(words)
