"""The catalogue of generic faults: 114 rows, and how each is answered here.

A row is answered in one of five ways: by a fault on a wire or in a part, by a sequence of stimuli (a scenario), by a
defect of the site file, by a pair of faults, or by a defective double; or it does not apply, with the reason.  Fault
kinds and doubles say themselves which rows they answer; what stands here is the rest.  Letters: R the resistance loop,
A the converter, P power, C the link, T time, L the controller's logic, M the moving leaf, H the person who
commissions, X combinations and blind spots.  The list and its titles are ours.
"""

from __future__ import annotations

from typing import NamedTuple


class More(NamedTuple):
    """What answers a row beside kinds and doubles.

    `stimuli`, `site` (a defect of the site file) and `pair` name scenarios that ship, without what all end with;
    `nowhere` says why the row can't exist or can't be tried, and `file` where that is to be seen.
    """

    stimuli: str = ""
    site: str = ""
    pair: str = ""
    nowhere: str = ""
    file: str = ""


TITLES: dict[str, str] = {
    "R1": "broken wire",
    "R2": "crushed lead, a lasting short",
    "R3": "aged strip, weak contact",
    "R4": "moisture, leaking more each day",
    "R5": "corroded joint",
    "R6": "end resistor at the wrong end",
    "R7": "two loops touch each other",
    "R8": "chattering contact",
    "R9": "contact shorter than a scan",
    "R10": "edge that stays pressed",
    "R11": "tolerances and temperature added up",
    "R12": "hum or radio on the lead",
    "R13": "stiff rubber, from frost or age",
    "R14": "edge torn loose, its loop whole",
    "R15": "profile full of water",
    "A1": "converter frozen",
    "A2": "multiplexer stuck",
    "A3": "reference drifting",
    "A4": "bit stuck",
    "A5": "reading on the threshold",
    "A6": "reading out of range",
    "A7": "test pulse over the contact",
    "A8": "test without an echo",
    "A9": "output that oscillates",
    "P1": "cell slowly empty",
    "P2": "voltage that sags under load",
    "P3": "brown-out below what the processor needs",
    "P4": "dip too short to forget everything",
    "P5": "power back in mid-travel",
    "P6": "power cycle taken for a reset",
    "P7": "endless restarts",
    "P8": "settings half written",
    "P9": "one supply rail gone",
    "P10": "rested cell that looks good again",
    "P11": "radio alive, sensing without supply",
    "P12": "supply pulled down by the reversal",
    "C1": "damaged frame",
    "C2": "same frame again",
    "C3": "frames out of order",
    "C4": "frames lost",
    "C5": "old frames on time",
    "C6": "frames from nowhere",
    "C7": "frames that look right and are not",
    "C8": "neighbour's frames",
    "C9": "counter that wraps",
    "C10": "sender that starts again",
    "C11": "receiver that starts again",
    "C12": "losses in bursts",
    "C13": "one direction of the link dead",
    "C14": "channel busy without end",
    "C15": "event lost, check-ins heard",
    "C16": "check-ins without scans",
    "C17": "two senders of one identity",
    "C18": "nodes exchanged at service",
    "C19": "repetitions that use the time up",
    "C20": "frames waiting in a queue",
    "C21": "slot missed by a sleeper",
    "T1": "tick counter that rolls over",
    "T2": "clocks that drift apart",
    "T3": "clock that stops",
    "T4": "clock at a wrong rate",
    "T5": "clock that is set",
    "T6": "timer asleep",
    "T7": "time added up in steps",
    "T8": "two events in one tick",
    "T9": "age not looked at before the start",
    "T10": "task that overruns",
    "T11": "terms of a reaction added up",
    "T12": "hardware watchdog served by habit",
    "T13": "one clock slow on a low cell",
    "L1": "contact while reversing",
    "L2": "obstruction again and again",
    "L3": "command kept for later",
    "L4": "reset held down",
    "L5": "timer that skips the guards",
    "L6": "one status for everything",
    "L7": "fault that heals for a moment",
    "L8": "muted zone in the wrong place",
    "L9": "status that nobody knows",
    "L10": "bypass left in",
    "L11": "device never configured",
    "L12": "motor the wrong way round",
    "L13": "second fault that restarts the limit",
    "L14": "hold-to-run stuck",
    "L15": "alarm without a sound",
    "M1": "contactor welded",
    "M2": "leaf that coasts",
    "M3": "order without a motion",
    "M4": "limit switch stuck",
    "M5": "travel sensor frozen or slipping",
    "M6": "leaf moved by hand or wind",
    "M7": "brake wearing",
    "M8": "leaf heavier than it was",
    "M9": "leaf uncoupled from its drive",
    "M10": "force limit too high",
    "M11": "one sensor for two means",
    "M12": "wind in the leaf",
    "M13": "one of two leaves stuck",
    "H1": "test signed and not done",
    "H2": "one press for all zones",
    "H3": "wrong resistor, still in the band",
    "H4": "contact the wrong way round",
    "X1": "dead watchdog, then a dead node",
    "X2": "one cause for two means",
    "X3": "second fault during the reaction",
    "X4": "fault behind a fault",
    "X5": "reset of one that clears another",
    "X6": "devices in one chain",
    "X7": "test that no longer tests",
    "X8": "both ends restarted",
    "X9": "storage full or slow",
    "X10": "false stops until somebody bypasses",
    "X11": "link back before the sensor",
    "X12": "rule that no run exercised",
}

MORE: dict[str, More] = {
    "R11": More(site="bad-band-of-one-edge-in-series"),
    "P3": More(nowhere="A processor that runs at random is outside any contract of logic; that the supply may go at "
                       "any instant is supply-dip.", file="gatesim/plant/faults/supply_dip.py"),
    "P5": More(stimuli="power-back-in-mid-travel"),
    "P6": More(stimuli="alarm-and-power"),
    "P7": More(stimuli="reset-loop"),
    "C12": More(site="bad-watchdog-too-long"),
    "T2": More(site="bad-check-in-too-rare"),
    "T11": More(site="bad-debounce-too-slow"),
    "L1": More(stimuli="second-demand"),
    "L2": More(stimuli="second-demand"),
    "L3": More(stimuli="second-demand"),
    "L4": More(stimuli="reset-rules"),
    "L6": More(pair="low-cell-and-contact"),
    "L14": More(pair="button-stuck-through-a-dip"),
    "M6": More(stimuli="leaf-moved-by-hand"),
    "M8": More(stimuli="healthy-cold-and-heavy"),
    "M12": More(stimuli="healthy-cold-and-heavy"),
    "M13": More(stimuli="two-leaves-contact-on-second"),
    "H1": More(nowhere="A run cannot see what a person did. The commissioning sheet leaves every result, time and "
                       "name blank to be written by hand.", file="gatesim/field/commissioning.py"),
    "H2": More(nowhere="A run cannot see what a person did. The commissioning sheet has a line for each edge, place "
                       "and direction.", file="gatesim/field/commissioning.py"),
    "H3": More(site="bad-band-too-wide"),
    "X2": More(pair="both-means-blind"),
    "X3": More(pair="fault-during-the-stop"),
    "X4": More(pair="short-behind-a-frozen-converter"),
    "X5": More(pair="reset-of-one-of-two"),
    "X10": More(site="bad-check-in-too-rare"),
    "X12": More(nowhere="A matter of judging, not of a gate: what a run did not exercise is said so and is no pass.",
                file="gatesim/requirements/verdict.py"),
}
