"""A plan's cells and batteries as plain text: budget by item, lives, leads, days without sun."""

from __future__ import annotations

from collections.abc import Iterator

from gatesim.field.battery_life import Life
from gatesim.field.dark import Dark, SupplyPlan
from gatesim.field.radio import RadioPlan
from gatesim.report.folded import fold
from gatesim.shown import temperature

_LEAD = "  battery     "
_SHELF = 8.0
"""Years from which on a life is longer than some cells keep."""
_UNDER = " " * len(_LEAD)


def battery_lines(radio: RadioPlan) -> Iterator[str]:
    """The cell of a transmitter."""
    battery, drain = radio.battery, radio.battery.drain
    yield from fold(f"{drain.total:.1f} uA over the day at {radio.mean_frames:.1f} supervision frames/h and "
                    f"{radio.moves.presses_a_day} presses a day, by item:", _LEAD)
    for item in drain.items:
        yield f"{_UNDER}  {item.name:<14}{item.current:>10.3f} uA{100 * item.share:>7.1f} %"
    yield from _life(battery.coldest, "at the coldest")
    if battery.room is not None:
        yield from _life(battery.room, "in a room")
    else:
        yield from fold("in a room: not given, the site states the cell for the coldest only", _UNDER)
    if battery.years > _SHELF:
        yield from fold("the sum knows only the charge: the shelf life of lithium cells is 5 to 8 years (solid "
                        "cathode) or 5 to 20 (soluble; Linden's Handbook of Batteries, Table 14.1)", _UNDER)
    if radio.dark is not None:
        yield from _dark(radio.dark)


def supply_lines(supply: SupplyPlan) -> Iterator[str]:
    """The operator's own battery."""
    yield from fold("Operator's battery")
    yield from fold(f"{supply.standing_current / 1000:.1f} mA standing, {supply.moving_current / 1000:.0f} mA moving "
                    f"({supply.moves_a_day} moves a day, {100 * supply.moving_share:.2f} % of it) = "
                    f"{supply.mean_current / 1000:.1f} mA", "  load        ")
    yield from _life(supply.life, "without any charging, at the coldest", "  life        ")
    carried = [f"{100 * share:.0f} % at {what}" for what, share in (
        ("low", supply.carries_at_low), ("critical", supply.carries_at_critical)) if share is not None]
    if carried:
        yield from fold(f"of the load before a dip (drive, supply_capacity): {', '.join(carried)}", "  carries     ")
    if supply.dark is None:
        yield from fold("no panel stated: what charges it is not judged", "  sun         ")
    else:
        yield from _dark(supply.dark, "  sun         ")
    for trouble in supply.troubles:
        yield from fold(f"DOES NOT AGREE: {trouble}", "  * ")
    yield ""


def _percent(share: float | None) -> str:
    return "never" if share is None else f"{100 * share:.1f} %"


def _days(days: float | None) -> str:
    return "not given" if days is None else f"{days:.1f} days"


def _years(years: float) -> str:
    return f"{years:.2f} years" if years >= 1 else f"{years * 365:.1f} days"


def _life(life: Life, where: str, lead: str = _UNDER) -> Iterator[str]:
    yield from fold(f"{where} ({temperature(life.temperature)}): {_years(life.years_without_self_discharge)}, with "
                    f"self-discharge {_years(life.years)}, until dead {_years(life.years_to_dead)}", lead)
    yield from fold(f"charge left at low {_percent(life.share_at_low)}, critical {_percent(life.share_at_critical)}, "
                    f"dead {_percent(life.share_at_dead)}", _UNDER)
    yield from fold(f"low to critical {_days(life.low_to_critical)}, critical to dead {_days(life.critical_to_dead)}, "
                    f"low to dead {_days(life.low_to_dead)}", _UNDER)


def _dark(dark: Dark, lead: str = _UNDER) -> Iterator[str]:
    yield from fold(f"days without sun, from full at the coldest: {_days(dark.days_to_low)} to low, "
                    f"{_days(dark.days_to_critical)} to critical, {dark.days_to_dead:.1f} days to dead", lead)
    yield from fold(
        f"a day of the worst month ({dark.worst_month}): {dark.given_a_day / 1000:.1f} mAh given - "
        f"{dark.used_a_day / 1000:.1f} used - {dark.lost_a_day / 1000:.2f} lost = {dark.balance / 1000:+.1f} mAh",
        _UNDER)
