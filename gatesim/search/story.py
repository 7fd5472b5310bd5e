"""A story found by a search, written as a scenario file that `gatesim run` replays."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.scenario.agenda import Due
from gatesim.scenario.write import text_of


class FaultStep(NamedTuple):
    """A fault in a story: kind, device, onset (us), and how long and how often."""

    fault: str
    device: str
    at: int
    lasts: int | None = None
    gap: int = 0
    times: int = 1


def us_text(us: float) -> str:
    """An instant or duration as a file states it, exact to the microsecond: "1.089397 s"."""
    whole = int(us)
    seconds, rest = divmod(whole, 1_000_000)
    return f"{seconds}.{rest:06d}".rstrip("0").rstrip(".") + " s"


def um_text(um: float) -> str:
    """A length: "2300 mm"."""
    return f"{um / 1000:.6f}".rstrip("0").rstrip(".") + " mm"


def scenario_text(title: str, teaches: str, site: str, seed: int, ends: int, agenda: Sequence[Due],
                  faults: Iterable[FaultStep], expect: Iterable[tuple[str, str | None]]) -> str:
    """The file.  `site`: the path as the file states it; `expect`: (requirement, failure or None for a pass)."""
    steps = sorted([*_steps(agenda), *[(one.at, _fault(one)) for one in faults]], key=lambda step: step[0])
    return text_of({
        "format": "gatesim-scenario/1", "title": title, "teaches": teaches, "site": site, "seed": str(seed),
        "ends": us_text(ends), "steps": [{"at": us_text(at), **fields} for at, fields in steps],
        "expect": [{"requirement": name} if failure is None else
                   {"requirement": name, "outcome": "fail", "failure": failure} for name, failure in expect],
    })


Fields = dict[str, str]


def _fault(one: FaultStep) -> Fields:
    fields = {"do": "fault", "fault": one.fault, "device": one.device}
    if one.lasts is not None:
        fields["lasts"] = us_text(one.lasts)
    if one.times > 1:
        fields |= {"gap": us_text(one.gap), "flickers": str(one.times)}
    return fields


def _steps(agenda: Sequence[Due]) -> list[tuple[int, Fields]]:
    """Stimuli put together to the steps that give them."""
    found: list[tuple[int, Fields]] = []
    for k, due in enumerate(agenda):
        stimulus: Any = due.stimulus
        match stimulus:
            case e.PressControl():
                let_go = _let_go(agenda[k:], stimulus)
                found.append((due.at, {"do": "command", "command": stimulus.command.value,
                                       "origin": stimulus.origin.value, "held": us_text(let_go - due.at)}))
            case e.EnterObstruction():
                fields = {"do": "obstruct", "obstruction": stimulus.obstruction, "zone": stimulus.zone,
                          "position": um_text(stimulus.position)}
                if stimulus.stiffness is not None:
                    fields["stiffness"] = f"{stimulus.stiffness} N/mm"
                if not stimulus.edge:
                    fields["touches"] = "the leaf beyond the edge"
                found.append((due.at, fields))
            case e.LeaveObstruction():
                found.append((due.at, {"do": "clear", "obstruction": stimulus.obstruction}))
            case e.ReleaseControl():
                pass
            case _:
                raise ValueError(f"no step gives {type(stimulus).__name__}")
    return found


def _let_go(rest: Sequence[Due], pressed: Any) -> int:
    for due in rest:
        given: Any = due.stimulus
        if isinstance(given, e.ReleaseControl) and (given.command, given.origin) == (pressed.command, pressed.origin):
            return due.at
    raise ValueError(f"{pressed.command.value} is never let go")
