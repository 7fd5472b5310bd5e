"""Sources and figures that the limits profiles share.  None is a clause that we have not read, unless it says so."""

from __future__ import annotations

from gatesim.plant.site import Profile
from gatesim.requirements.requirement import Limit, Source, Standing

OURS = Source("ours", "", Standing.OURS)
PRACTICE = Source("common practice", "", Standing.PRACTICE)
REVERSAL_TIME = Source("16 CFR part 1211", "1211.7(a), 2002 edition (garage doors)", Standing.READ, analogue=True)
REVERSAL_DISTANCE = Source("16 CFR part 1211", "1211.6(d)(1)(ii) (garage doors)", Standing.READ, analogue=True)
MONITORING = Source("16 CFR part 1211", "1211.8(b), 2007 edition (garage doors)", Standing.READ, analogue=True)
ACTIVATION = Source("16 CFR part 1211", "1211.8(a)(1)-(3), 2007 edition (garage doors)", Standing.READ, analogue=True)
UNATTENDED = Source("16 CFR part 1211", "1211.14(c)(2) (garage doors)", Standing.READ, analogue=True)
GATES_US = Source("UL 325", "gate section", Standing.MEMORY)
HOLD_TO_RUN = Source("EN 12453", "stopping after release of a hold-to-run control", Standing.MEMORY)
FORCES = Source("dhf on EN 12453", "force limits", Standing.READ)

SECOND = 1_000_000


def both(value: int, source: Source) -> dict[Profile, Limit | None]:
    """The same limit in both profiles."""
    return {profile: Limit(value, source) for profile in Profile}


def unfigured() -> dict[Profile, Limit | None]:
    """Stands in both profiles, without a figure."""
    return dict.fromkeys(Profile)


def proved_force(value: int, source: Source) -> dict[Profile, Limit | None]:
    """Stands in the proved-force profile alone."""
    return {Profile.PROVED_FORCE: Limit(value, source)}


def two_means(value: int | None, source: Source) -> dict[Profile, Limit | None]:
    """Stands in the two-means profile alone; without a figure where the value is None."""
    return {Profile.TWO_MEANS: None if value is None else Limit(value, source)}
