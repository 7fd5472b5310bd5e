"""The reference controller's rules as a cause-and-effect table, generated from its own table (docs/cause-and-effect.md)."""

from __future__ import annotations

from gatesim.plant.logic.controller_table import TABLE, Action, Guard, Mode, Trigger

_CAUSES: tuple[tuple[str, str, Trigger], ...] = (
    ("edge pressed, or force sensing trips", "guards the motion", Trigger.DEMAND),
    ("beam interrupted", "guards the motion", Trigger.INTERRUPTED),
    ("loop open, above band or invalid; link lost; battery critical; pressed too long; test pulse of a beam not answered",
     "guards the motion, or at rest any", Trigger.FAULT),
    ("contactor, main shut-off, limit switch or position wrong; stop or order not obeyed", "drive", Trigger.DRIVE_FAULT),
    ("travel time over", "drive", Trigger.TRAVEL_TIME),
    ("edge pressed or beam interrupted", "guards the closing that waits, or the move that is tested", Trigger.PRESSED_WAITING),
    ("stop command, any origin", "person", Trigger.STOP),
    ("start command or automatic closing due", "person or timer", Trigger.START),
    ("hold-to-run pressed", "person", Trigger.HOLD),
    ("hold-to-run released, or both held", "person", Trigger.HOLD_ENDED),
    ("wired reset pressed and released in time", "person", Trigger.RESET),
)
_PHASES: tuple[tuple[str, tuple[Mode, ...]], ...] = (
    ("at rest", (Mode.REST, Mode.PAIRING)),
    ("testing, warning", (Mode.TESTING, Mode.WARNING)),
    ("opening, closing", (Mode.OPENING, Mode.CLOSING)),
    ("stopping", (Mode.STOPPING, Mode.STOPPING_AT_END)),
    ("stopping to reverse, dwell", (Mode.STOPPING_TO_REVERSE, Mode.DWELL)),
    ("reversing", (Mode.REVERSING,)),
    ("hold-to-run", (Mode.HOLDING, Mode.HOLD_STOPPING)),
    ("after a second demand", (Mode.STOPPING_TO_LOCK, Mode.LOCK_DWELL, Mode.RELIEVING)),
    ("locked out", (Mode.ENTRAPMENT, Mode.DRIVE_LOCKOUT)),
)


def _answer(mode: Mode, trigger: Trigger) -> list[str]:
    said = []
    for row in TABLE.rows:
        if row.mode is mode and row.trigger is trigger:
            guards: tuple[Guard, ...] = row.guards
            actions: tuple[Action, ...] = row.actions
            when = f"if {' and '.join(guard.value for guard in guards)}: " if guards else ""
            does = ", ".join(action.value for action in actions)
            target = f"→ *{row.target.value}*" if row.target is not mode else "stays"
            said.append(f"{when}{does + '; ' if does else ''}{target}")
    return said or ["nothing (on purpose)"]


def cause_and_effect() -> str:
    """The table as Markdown: device state x whom it guards x phase -> reaction."""
    lines = [
        "# Cause and effect of the reference controller", "",
        "Generated from the controller's own table (`gatesim/plant/logic/controller_table.py`); a test keeps it in step. In a cell the rows are tried",
        "in order. A supervision fault of a device that guards only the other direction is latched and locks that direction out at once, in every phase, and changes nothing else;",
        "it then counts as *way back not guarded*. A lockout bars automatic motion in its direction; hold-to-run from the wired control still works, except in the two full lockouts.", "",
    ]
    for cause, whose, trigger in _CAUSES:
        lines += [f"## {cause[0].upper()}{cause[1:]} ({whose})", "", "| phase | mode | reaction |", "|---|---|---|"]
        for phase, modes in _PHASES:
            for mode in modes:
                lines.append(f"| {phase} | {mode.value} | {'<br>'.join(_answer(mode, trigger))} |")
        lines.append("")
    lines += ["## The state machine", "", "```mermaid", TABLE.mermaid().rstrip(), "```", ""]
    return "\n".join(lines)
