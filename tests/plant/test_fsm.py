"""A table is checked whole when it is made."""

from collections.abc import Callable
from enum import Enum

import pytest

from gatesim.errors import ModelError
from gatesim.plant.fsm import Row, Table


class Lamp(Enum):
    DARK = "dark"
    LIT = "lit"


class Push(Enum):
    SWITCH = "switch"


class If(Enum):
    POWERED = "powered"


Build = Callable[..., Table[Lamp, Push, If, Enum]]


def table(*rows: Row, ignored: tuple[tuple[Lamp, Push], ...] = ()) -> Table[Lamp, Push, If, Enum]:
    return Table(Lamp, Push, Lamp.DARK, rows, ignored)


SWITCH_OFF = Row(Lamp.LIT, Push.SWITCH, (), Lamp.DARK, ())
SWITCH_ON = Row(Lamp.DARK, Push.SWITCH, (If.POWERED,), Lamp.LIT, ())
STAY = Row(Lamp.DARK, Push.SWITCH, (), Lamp.DARK, ())


@pytest.mark.parametrize(("rows", "ignored", "says"), [
    ((SWITCH_ON, STAY), (), "has no answer"),
    ((SWITCH_ON, STAY, SWITCH_OFF), ((Lamp.LIT, Push.SWITCH),), "both answers and ignores"),
    ((SWITCH_ON, SWITCH_OFF), (), "has a guard"),
    ((STAY, SWITCH_ON, SWITCH_OFF), (), "has a guard"),
    ((STAY, STAY, SWITCH_OFF), (), "stands behind one without a guard"),
    ((STAY, SWITCH_OFF), (), "never reached"),
])
def test_a_wrong_table_is_refused(rows: tuple[Row, ...], ignored: tuple[tuple[Lamp, Push], ...], says: str) -> None:
    with pytest.raises(ModelError, match=says):
        table(*rows, ignored=ignored)


def test_rows_are_tried_in_order() -> None:
    lamp = table(SWITCH_ON, STAY, SWITCH_OFF)
    assert lamp.fire(Lamp.DARK, Push.SWITCH, lambda _: True) is SWITCH_ON
    assert lamp.fire(Lamp.DARK, Push.SWITCH, lambda _: False) is STAY


def test_the_diagram_names_every_change_of_mode() -> None:
    drawn = table(SWITCH_ON, STAY, SWITCH_OFF).mermaid()
    assert "DARK --> LIT: switch [powered]" in drawn
    assert "LIT --> DARK: switch" in drawn
