"""Cells, batteries and panels that contradict themselves are refused at their line, with a remedy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from gatesim.errors import Trouble
from gatesim.scenario.check_site import warnings_of

Refusals = Callable[[Callable[[], object]], tuple[Trouble, ...]]

KNEE = "      end_voltage: 2.2 V\n      knee: 20 %\n"
OHM = "      resistance: 2 ohm\n"


def points(*pairs: tuple[str, str]) -> tuple[str, str]:
    """The end of life as points instead of the knee."""
    said = "".join(f"        - {{charge_left: {left}, open_voltage: {volts}}}\n" for left, volts in pairs)
    return KNEE, f"      discharge:\n{said}"


def warmth(*rows: tuple[str, str, str]) -> tuple[str, str]:
    """Resistance and usable charge over temperature."""
    said = "".join(f"        - {{temperature: {t}, resistance: {ohm}, usable: {share}}}\n" for t, ohm, share in rows)
    return OHM, f"      temperatures:\n{said}"


BATTERY = """battery:
  standing_current: 30 mA
  moving_current: 4 A
  cell:
    capacity: 7 Ah
    open_voltage: 13 V
    end_voltage: 11 V
    knee: 100 %
    resistance: 0.1 ohm
    low_voltage: 11.5 V
    critical_voltage: 11.2 V
    dead_voltage: 10.8 V
    self_discharge: 30 %
  panel:
    worst_month: 3 Ah
coldest: -15 degC"""
COLD = "coldest: -15 degC"


def battery(old: str = "", new: str = "") -> tuple[str, str]:
    assert old in BATTERY
    return COLD, BATTERY.replace(old, new) if old else BATTERY


GOOD_POINTS = (("40 %", "3.2 V"), ("10 %", "3 V"), ("0 %", "2 V"))
GOOD_WARMTH = (("-30 degC", "8 ohm", "50 %"), ("20 degC", "2 ohm", "100 %"))

ERRORS = [
    (points(("40 %", "3.2 V"), ("50 %", "3 V"), ("0 %", "2 V")), "goes backwards: not less charge", "down to 0 %"),
    (points(("40 %", "3.2 V"), ("10 %", "3.3 V"), ("0 %", "2 V")), "the voltage rises while", "at most 3.2 V"),
    (points(("40 %", "3.2 V"), ("10 %", "3 V")), "ends before the cell is empty", "a point at 0 %"),
    (points(("40 %", "3.2 V"), ("0 %", "3.2 V")), "does not fall while it empties", "below open_voltage"),
    (points(("100 %", "3.2 V"), ("0 %", "2 V")), "not less charge left than 100 %", "from below 100 %"),
    (points(("-1 %", "3.2 V")), "out of range", "between 0 %"),
    ((KNEE, KNEE + points(*GOOD_POINTS)[1]), "both tell the end of life", "keep one"),
    ((KNEE, ""), "nothing tells the end of life", "knee and end_voltage, or points"),
    ((KNEE, "      knee: 20 %\n"), "no end_voltage", "knee and end_voltage, or points"),
    (("knee: 20 %", "knee: 0 %"), "knee is zero", "above zero"),
    (("capacity: 2.4 Ah", "capacity: 0 Ah"), "capacity is zero", "above zero"),
    (("capacity: 2.4 Ah", "capacity: -2.4 Ah"), "out of range", "between 0 Ah"),
    (("low_voltage: 2.8 V", "low_voltage: 2.5 V"), "low_voltage is not above critical_voltage", "the order is dead"),
    (("critical_voltage: 2.6 V", "critical_voltage: 2.2 V"), "critical_voltage is not above dead", "the order is dead"),
    ((OHM, ""), "nothing tells the internal resistance", "resistance, or temperatures"),
    ((OHM, OHM + warmth(*GOOD_WARMTH)[1]), "both tell the internal resistance", "keep one"),
    (warmth(("20 degC", "2 ohm", "100 %"), ("-30 degC", "8 ohm", "50 %")), "not warmer than the point", "rising"),
    (warmth(("-30 degC", "2 ohm", "50 %"), ("20 degC", "8 ohm", "100 %")), "resistance rises with warmth", "at most"),
    (warmth(("-30 degC", "8 ohm", "80 %"), ("20 degC", "2 ohm", "70 %")), "less is usable in the warm", "at least"),
    (warmth(("-30 degC", "8 ohm", "0 %"), ("20 degC", "2 ohm", "70 %")), "nothing of the charge", "more than 0 %"),
    (warmth(("-10 degC", "8 ohm", "50 %"), ("20 degC", "2 ohm", "70 %")), "as cold as the site, -15", "coldest"),
    ((COLD, COLD + "\ntemperature: -20 degC"), "colder than coldest", "lower coldest"),
    ((COLD, COLD + "\nuse: {moves_in_busiest_hour: 1, moves_a_day: 30}"), "do not fit", "at most 24"),
    (("    cell:\n      capacity: 2.4", "    panel: {}\n    cell:\n      capacity: 2.4"), "nothing tells what the pan",
     "worst_month, or by_month"),
    (("    cell:\n      capacity: 2.4", "    panel: {by_month: [1 mAh, 2 mAh]}\n    cell:\n      capacity: 2.4"),
     "has 2 figures", "12, January"),
    (battery("    worst_month: 3 Ah", f"    worst_month: 3 Ah\n    by_month: [{', '.join(['3 Ah'] * 12)}]"),
     "both tell what the panel", "keep one"),
    (battery("standing_current: 30 mA", "standing_current: 0 mA"), "standing_current is zero", "take something"),
    (battery("moving_current: 4 A", "moving_current: 20 mA"), "below standing_current", "includes that"),
    (battery("resistance: 0.1 ohm", "resistance: 1 ohm"), "even a full battery is dead under it", "less internal"),
    (battery("low_voltage: 11.5 V", "low_voltage: 11.1 V"), "low_voltage is not above critical", "the order is dead"),
]


@pytest.mark.parametrize(("change", "said", "hint"), ERRORS, ids=lambda one: one[:40] if isinstance(one, str) else "")
def test_each_is_refused_with_reason_and_remedy(
    desk: Any, refusals: Refusals, change: tuple[str, str], said: str, hint: str
) -> None:
    made = refusals(lambda: desk.site(change))
    found = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert found, [str(trouble) for trouble in made]
    assert all(trouble.line > 0 for trouble in found)


@pytest.mark.parametrize("change", [points(*GOOD_POINTS), warmth(*GOOD_WARMTH), battery()])
def test_what_agrees_is_read(desk: Any, change: tuple[str, str]) -> None:
    assert desk.site(change).transmitters[0].cell.capacity == 2.4e6


def test_a_battery_without_a_stated_dip_is_warned_of(desk: Any) -> None:
    assert any("never dips, however empty" in said for said in warnings_of(desk.site(battery())))
    assert not warnings_of(desk.site(("  without_power:", "  supply_capacity: 600 N\n  without_power:")))
