"""Whether a site's cells, batteries and panels agree with themselves: the reason and a remedy for each fault."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from gatesim.plant.cell_figures import operator_figures, supply_share
from gatesim.plant.site import Cell, Drive, Site, SolarPanel
from gatesim.scenario.strict import TreePath
from gatesim.units import Dimension, format_quantity

Say = Callable[[TreePath, str, str], None]

MOST_POINTS = 64
MONTHS = 12
_ORDER = ("dead_voltage", "critical_voltage", "low_voltage", "open_voltage")


def check_cell(cell: Cell, path: TreePath, coldest: float, say: Say) -> None:
    """Complain of a cell whose thresholds, points or figures contradict one another."""
    for name in ("capacity", "dead_voltage"):
        if getattr(cell, name) <= 0:
            say((*path, name), f"{name} is zero", "it must be above zero")
    for lower, upper in pairwise(_ORDER):
        if not getattr(cell, lower) < getattr(cell, upper):
            say((*path, upper), f"{upper} is not above {lower}", "the order is " + " < ".join(_ORDER))
    _end_of_life(cell, path, say)
    _temperatures(cell, path, coldest, say)


def _end_of_life(cell: Cell, path: TreePath, say: Say) -> None:
    """The end of life is told once: as knee and end_voltage, or as points."""
    if cell.discharge:
        for name in ("knee", "end_voltage"):
            if getattr(cell, name) is not None:
                say((*path, name), f"{name} and discharge both tell the end of life", "keep one of them")
        _points(cell, (*path, "discharge"), say)
        return
    for name in ("knee", "end_voltage"):
        if getattr(cell, name) is None:
            say((*path, name), f"nothing tells the end of life: no {name}, no discharge",
                "state knee and end_voltage, or points of discharge down to 0 %")
    if cell.knee is not None and cell.knee <= 0:
        say((*path, "knee"), "knee is zero", "it must be above zero")
    if cell.end_voltage is not None and cell.end_voltage >= cell.open_voltage:
        say((*path, "end_voltage"), "the cell does not fall while it empties", "set it below open_voltage")


def _points(cell: Cell, path: TreePath, say: Say) -> None:
    points = [(1.0, cell.open_voltage), *((point.charge_left, point.open_voltage) for point in cell.discharge)]
    if len(cell.discharge) > MOST_POINTS:
        say((*path, MOST_POINTS), f"discharge has {len(cell.discharge)} points", f"at most {MOST_POINTS}")
    for k, ((left, volts), (less, after)) in enumerate(pairwise(points)):
        if not less < left:
            before = "100 %" if k == 0 else format_quantity(left, Dimension.SHARE)
            say((*path, k, "charge_left"), f"the curve goes backwards: not less charge left than {before} before it",
                "list the points from below 100 % down to 0 %")
        if after > volts:
            say((*path, k, "open_voltage"), "the curve goes backwards: the voltage rises while the cell empties",
                f"at most {format_quantity(volts, Dimension.VOLTAGE)}, that of the point before")
    if points[-1][0] != 0:
        say((*path, len(cell.discharge) - 1, "charge_left"), "the curve ends before the cell is empty",
            "end it with a point at 0 %")
    elif points[-1][1] >= cell.open_voltage:
        say((*path, len(cell.discharge) - 1, "open_voltage"), "the cell does not fall while it empties",
            "let the curve end below open_voltage")


def _temperatures(cell: Cell, path: TreePath, coldest: float, say: Say) -> None:
    points = cell.temperatures
    if not points:
        if cell.resistance is None:
            say((*path, "resistance"), "nothing tells the internal resistance", "state resistance, or temperatures")
        return
    if cell.resistance is not None:
        say((*path, "resistance"), "resistance and temperatures both tell the internal resistance", "keep one of them")
    if len(points) > MOST_POINTS:
        say((*path, "temperatures", MOST_POINTS), f"temperatures has {len(points)} points", f"at most {MOST_POINTS}")
    for k, (one, other) in enumerate(pairwise(points), 1):
        at = (*path, "temperatures", k)
        if not one.temperature < other.temperature:
            say((*at, "temperature"), "the points go backwards: not warmer than the point before", "list them rising")
        if other.resistance > one.resistance:
            say((*at, "resistance"), "the points go backwards: the resistance rises with warmth",
                "at most that of the colder point")
        if other.usable < one.usable:
            say((*at, "usable"), "the points go backwards: less is usable in the warm",
                "at least that of the colder point")
    for k, point in enumerate(points):
        if point.usable <= 0:
            say((*path, "temperatures", k, "usable"), "nothing of the charge is usable", "make it more than 0 %")
    if points[0].temperature > coldest:
        said = format_quantity(coldest, Dimension.TEMPERATURE)
        say((*path, "temperatures", 0, "temperature"), f"no point is as cold as the site, {said}",
            "begin with a point at coldest or below")


def check_panel(panel: SolarPanel | None, path: TreePath, say: Say) -> None:
    """Complain of a panel that says nothing, twice, or not for twelve months."""
    if panel is None:
        return
    if panel.worst_month is None and not panel.by_month:
        say((*path, "worst_month"), "nothing tells what the panel gives", "state worst_month, or by_month")
    if panel.worst_month is not None and panel.by_month:
        say((*path, "worst_month"), "worst_month and by_month both tell what the panel gives", "keep one of them")
    if panel.by_month and len(panel.by_month) != MONTHS:
        say((*path, "by_month"), f"by_month has {len(panel.by_month)} figures", "give 12, January to December")


def check_supply(site: Site, say: Say, warn: Say) -> None:
    """Complain of the operator's battery, of its panel, and of a run colder than the coldest."""
    if site.temperature is not None and site.temperature < site.coldest:
        say(("temperature",), "the run is colder than coldest", "lower coldest: the plan is made for it")
    use, battery = site.use, site.battery
    if use is not None and use.moves_a_day > 24 * use.moves_in_busiest_hour:
        say(("use", "moves_a_day"), "so many moves a day do not fit in hours of at most moves_in_busiest_hour",
            f"at most {24 * use.moves_in_busiest_hour}")
    if battery is None:
        return
    made: list[TreePath] = []

    def told(path: TreePath, message: str, remedy: str) -> None:
        made.append(path)
        say(path, message, remedy)

    check_cell(battery.cell, ("battery", "cell"), site.coldest, told)
    check_panel(battery.panel, ("battery", "panel"), told)
    if battery.standing_current <= 0:
        told(("battery", "standing_current"), "standing_current is zero", "a controller and receiver take something")
    if battery.moving_current < battery.standing_current:
        told(("battery", "moving_current"), "moving_current is below standing_current", "it includes that")
    if not made:
        _carries(site, told, warn)


def _carries(site: Site, say: Say, warn: Say) -> None:
    battery = site.battery
    assert battery is not None
    if supply_share(battery, site.coldest, 1.0) <= 0:
        ohm = operator_figures(battery, site.coldest).resistance
        say(("battery", "moving_current"), f"at the coldest even a full battery is dead under it ({ohm:.3g} ohm)",
            "a battery of less internal resistance, or a lower dead_voltage")
    if site.drive.supply_capacity == _DEFAULT_CAPACITY:
        warn(("battery",), "drive, supply_capacity is not stated: this battery never dips, however empty",
             "state the thrust above which the supply dips with a full battery")


_DEFAULT_CAPACITY = Drive.__dataclass_fields__["supply_capacity"].default
