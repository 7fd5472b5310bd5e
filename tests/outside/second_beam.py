"""Second simulator, part four: presence beams and the input that tests them.

Written from docs/timing.md, section 8a, alone.  Names in the trace: `beam at rest`, `beam interrupted`, `beam reading
invalid`, with the beam's name; said when a report says so anew, and when it is heard again.

Readings: where the specification was open
B1  A test that is due or asked for while another runs begins in the instant in which that one is over, if the ray is
    clear then; the one under way does not answer a request made after its begin.
B2  "Continuously: from begin to begin": a test put off by an interruption moves those after it.
B3  The loss of supply ends a test without an outcome, and forgets that the last one failed.
B4  A fault in the output's wire is seen in its own instant, one in the light after the response time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from second_leaf import SCAN, SEND, Clock, Say

FAULTS = ("beam stuck clear", "beam stuck interrupted", "beam emitter dead", "beam pulse ignored", "beam dazzled")


class Beam:
    """One beam: what stands in its ray, light, output, input."""

    poke: Callable[[], None]

    def __init__(self, env: Clock, table: Any, report: Any, say: Say) -> None:
        self.env, self.table, self.report, self.say = env, table, report, say
        self.asked_for = table.monitoring.value == "before each move"
        self.there: set[str] = set()
        self.fault = ""
        self.powered = self.emitter = self.light = self.closed = False
        self.change = self.moment = 0
        """Numbers of the last change of light and of the last thing waited for: what is older means nothing."""
        self.start()

    # --- light and output ------------------------------------------------------------------------------------

    def stands(self, who: str, inside: bool) -> None:
        (self.there.add if inside else self.there.discard)(who)
        self._shine()

    def breaks(self, kind: str, begins: bool) -> None:
        self.fault = kind if begins else ""
        self._shine()
        self._turn()

    def _shine(self) -> None:
        fed = self.fault == "beam pulse ignored" or (self.emitter and self.fault != "beam emitter dead")
        light = self.fault == "beam dazzled" or (fed and not self.there)
        if light == self.light:
            return
        self.light = light
        self.change += 1
        mine = self.change
        if light != self.closed and self.powered:
            self.env.then(self.env.now + self.table.response_time, SCAN, lambda: self._follow(mine))

    def _follow(self, mine: int) -> None:
        if mine == self.change and self.powered:
            self.closed = self.light
            self._turn()

    def _reads_closed(self) -> bool:
        if self.fault == "beam stuck clear":
            return True
        return self.closed and self.fault != "beam stuck interrupted"

    # --- the input -------------------------------------------------------------------------------------------

    def start(self) -> None:
        """The supply came."""
        self.powered = self.emitter = True
        self.state = "settling"
        self.wanted = self.failed = False
        self.request = self.serves = 0
        self.begun: float | None = None
        self.due: float | None = None
        self.told = ""
        self._shine()
        if self.light and not self.closed:  # light that was there before the supply
            self.change += 1
            mine = self.change
            self.env.then(self.env.now + self.table.response_time, SCAN, lambda: self._follow(mine))
        self._wait(self.env.now + self.table.response_time)

    def stop(self) -> None:
        """The supply went."""
        self.powered = self.emitter = self.closed = False
        self.moment += 1
        self._shine()
        self.told = ""

    def ask(self, number: int) -> None:
        self.request = number
        self.report.answered = 0
        self.wanted = self.asked_for
        self._turn()

    def _turn(self) -> None:
        """The input's turn in this instant."""
        self.env.then(self.env.now, SEND, self._input)

    def _wait(self, until: float) -> None:
        self.moment += 1
        mine = self.moment

        def come() -> None:
            if mine == self.moment:
                self._input()

        self.env.then(until, SEND, come)
        self.until = until

    def _switch(self, on: bool) -> None:
        self.emitter = on
        self._shine()

    def _input(self) -> None:
        if not self.powered:
            return
        now, closed, time = self.env.now, self._reads_closed(), self.table.response_time
        if self.state == "dark" and not closed:
            self.state = "opened"
            self._wait((self.begun or 0) + self.table.test_pulse)
        elif self.state == "opened" and closed:
            self._switch(True)
            self._over(False)
        if self.state == "dark" and now >= self.until:
            self._switch(True)
            self._over(False)
        elif self.state == "opened" and now >= self.until:
            self.state = "bright"
            self._switch(True)
            self._wait(now + time)
        elif self.state == "bright" and closed:
            self._over(True)
        elif self.state == "bright" and now >= self.until:
            self.state, self.due = "following", now
        elif self.state == "settling" and now >= self.until:
            self.state = "following"
            self.due = None if self.asked_for else now
            self.report.heard = self.report.fresh = True
        if self.state == "following":
            if not self.failed:
                self.report.level = "at rest" if self._reads_closed() else "interrupted"
            self._say()
            self._begin()
        self.poke()

    def _over(self, passed: bool) -> None:
        self.state, self.failed = "following", not passed
        self.report.answered = self.serves if passed else 0
        self.wanted = self.wanted and self.serves != self.request
        if not passed:
            self.report.level = "reading invalid"
        again = not passed or not self.asked_for
        self.due = (self.begun or 0) + self.table.test_period if again else None

    def _begin(self) -> None:
        now = self.env.now
        if self._reads_closed() and (self.wanted or (self.due is not None and now >= self.due)):
            self.state, self.begun, self.serves = "dark", now, self.request
            self._switch(False)
            self._wait(now + self.table.response_time)
        elif self.due is not None and self.due > now:
            self._wait(self.due)

    def _say(self) -> None:
        if self.report.level != self.told:
            self.told = self.report.level
            self.say(f"beam {self.told}", self.report.edge)
