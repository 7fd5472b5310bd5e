"""Listening at a controller's table: every question to it passes here, and another table may answer in its place.

The controller itself is untouched and runs through its role's contract, with the plant around it.  It must ask its
table through `Table.fire` (or `fire_by_library`); a controller that does not is never heard, and is told as such.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from types import FunctionType, TracebackType
from typing import Any

from gatesim.errors import BadUsage
from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings

AnyTable = Table[Any, Any, Any, Any]
Holds = Callable[[Any], bool]
Note = Callable[[Any, Any, Holds, "Row | None"], None]

_ASKED = ("fire", "fire_by_library")


def table_of(controller: Any) -> AnyTable:
    """The table that a controller, or its module, exposes as TABLE.  BadUsage where there is none."""
    logic = getattr(controller, "logic", controller)
    found = getattr(logic, "TABLE", None)
    for kind in type(logic).__mro__:
        if isinstance(found, Table):
            break
        # The module as the class sees it: a file loaded again is another module of the same name.
        makers = [one for one in vars(kind).values() if isinstance(one, FunctionType)]
        found = next((one.__globals__["TABLE"] for one in makers if "TABLE" in one.__globals__), None)
    if not isinstance(found, Table):
        raise BadUsage(f"{getattr(controller, 'said', type(logic).__name__)}: its module has no TABLE of the type "
                       f"gatesim.plant.fsm.Table, so there are no states to count")
    return found


class Tap:
    """While it is open, it answers for a table: by the table's own rows, or those of `by`.  `note` hears everything."""

    def __init__(self, table: AnyTable) -> None:
        self.table = self.by = table
        self.note: Note | None = None
        self._before: dict[str, Any] = {}

    def __enter__(self) -> Tap:
        self._before = {name: vars(self.table)[name] for name in _ASKED if name in vars(self.table)}
        vars(self.table).update(fire=self.answer, fire_by_library=self.answer)
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        for name in _ASKED:
            vars(self.table).pop(name, None)
        vars(self.table).update(self._before)

    def answer(self, mode: Any, trigger: Any, holds: Holds) -> Row | None:
        """Look the row up (a law proves that the library would choose the same one)."""
        row = type(self.by).fire(self.by, mode, trigger, holds)
        if self.note is not None:
            self.note(mode, trigger, holds, row)
        return row

    def listened(self, controller: Any) -> Any:
        """The controller made anew while the tap is open, for it may keep its table's method from its beginning."""
        logic = getattr(controller, "logic", controller)
        try:
            new = type(logic)()
        except TypeError:  # it wants to be told something: it is taken as it is
            return controller
        if logic is controller:
            return new
        around = copy.copy(controller)
        around.logic = new
        return around


class Noted:
    """A controller whose beginnings and outputs are noted."""

    def __init__(self, controller: Any, begun: Callable[[], None],
                 put_out: Callable[[float, ControllerDo, ControllerSeen | None], None]) -> None:
        self.controller, self.begun, self.put_out = controller, begun, put_out

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Any, ControllerDo]:
        """The controller's own `start`."""
        self.begun()
        state, do = self.controller.start(settings, kept)
        self.put_out(-1.0, do, None)
        return state, do

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        """The controller's own `step`."""
        state, do = self.controller.step(state, seen, now)
        self.put_out(now, do, seen)
        return state, do
