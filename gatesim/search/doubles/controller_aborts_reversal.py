"""A controller that drops what it was doing."""

from __future__ import annotations

from gatesim.plant.fsm import Row
from gatesim.plant.logic.controller_table import Mode, Trigger
from gatesim.search.doubles.base import Double, OtherTable, Role, table_with


def _aborted(row: Row) -> Row:
    turning = row.mode in (Mode.STOPPING_TO_REVERSE, Mode.DWELL)
    return row._replace(target=Mode.STOPPING) if turning and row.trigger is Trigger.FAULT else row


class AbortsReversal(OtherTable):
    """A fault on the way to a reversal leads to rest."""

    table = table_with(_aborted)


DOUBLE = Double(
    "controller-aborts-reversal",
    Role.CONTROLLER,
    "X3",
    bug="A fault during the reaction ends the reaction.",
    differs="Stays where it is when a fault comes on the way to a reversal.",
    make=AbortsReversal,
    shown_by="fault-during-the-stop",
)
