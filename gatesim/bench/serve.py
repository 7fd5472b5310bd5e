"""The other end in Python: play a role over stdin and stdout, for logic that meets the contract.

    from gatesim.bench.serve import serve
    serve("controller", MyController())

A program needs nothing of gatesim to take part (docs/contract.md has the protocol); this is for logic that is written
against the contract and is to run in a process of its own.
"""

from __future__ import annotations

import json
import sys
from typing import Any, BinaryIO

from gatesim.bench.codec import applied, changes, codec
from gatesim.bench.inside import copied, copies_itself
from gatesim.bench.shapes import SHAPES, nothing_done


class Served:
    """One role, at one place of its history, with its snapshots."""

    def __init__(self, role: str, logic: Any) -> None:
        self.role, self.logic, self.shape = role, logic, SHAPES[role]
        self.settings: Any = None
        self.state: Any = None
        self.seen: Any = None
        self.do: Any = None
        self.saved: dict[int, tuple[Any, Any, Any]] = {}

    def answer(self, request: dict[str, Any]) -> dict[str, Any]:
        """The answer to one request."""
        (kind, given), *_ = request.items()
        method = getattr(self, f"_{kind}", None)
        return method(given) if method is not None else {"refused": f"there is no request {kind!r} here"}

    def _hello(self, given: dict[str, Any]) -> dict[str, Any]:
        if given.get("gatesim-logic") != 1 or given.get("role") != self.role:
            return {"refused": f"this is a {self.role}, version 1"}
        self.settings = codec(self.shape.settings).load(given["settings"], "settings")
        return {"hello": {"gatesim-logic": 1, "name": type(self.logic).__name__, "snapshots": True,
                          "wants": getattr(self.logic, "wants", "change"),
                          "power_cycles": getattr(self.logic, "power_cycles", True)}}

    def _start(self, given: dict[str, Any]) -> dict[str, Any]:
        kept = given.get("kept")
        self.state, do = self.logic.start(self.settings, None if kept is None else kept.encode())
        self.seen, self.do = None, nothing_done(self.role, self.settings)
        return self._told(do)

    def _step(self, given: dict[str, Any]) -> dict[str, Any]:
        self.seen = applied(self.shape.seen, self.seen, given["seen"], "seen", self.shape.happened)
        self.state, do = self.logic.step(self.state, self.seen, given["now"])
        return self._told(do)

    def _told(self, do: Any) -> dict[str, Any]:
        before, self.do = self.do, do
        told = changes(self.shape.do, before, do, self.shape.said)
        answer: dict[str, Any] = {"do": told}
        told.pop("wake", None)
        if getattr(do, "wake", None) is not None:
            answer["wake"] = int(do.wake)
        for name in ("keep", "why"):
            if name in told:
                answer[name] = told.pop(name)
        return answer

    def _save(self, number: int) -> dict[str, Any]:
        self.saved[number] = (_copy(self.state), self.seen, self.do)
        return {"ok": True}

    def _back(self, number: int) -> dict[str, Any]:
        if number not in self.saved:
            return {"refused": f"nothing was saved as {number}"}
        state, self.seen, self.do = self.saved[number]
        self.state = _copy(state)
        return {"ok": True}

    def _bye(self, _: Any) -> dict[str, Any]:
        return {"ok": True}


def _copy(state: Any) -> Any:
    return state.copy() if copies_itself(state) else copied(state)


def serve(role: str, logic: Any, source: BinaryIO | None = None, sink: BinaryIO | None = None) -> None:
    """Answer requests until `bye` or the end of the input."""
    served = Served(role, logic)
    read, write = source or sys.stdin.buffer, sink or sys.stdout.buffer
    for line in read:
        request = json.loads(line)
        write.write(json.dumps(served.answer(request), separators=(",", ":"), ensure_ascii=False).encode() + b"\n")
        write.flush()
        if "bye" in request:
            return
