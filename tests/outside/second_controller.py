"""Second simulator, part three: the reference controller as a `transitions.Machine`.

Written from the controller's rules and docs/timing.md (section 8) alone.

Readings: where the specification was open
C1  What blocks a start refuses it at once, without a test (docs/timing.md, sections 8 and 10).
C2  A new start command during a test replaces it; the same again is ignored; STOP ends it.
C3  "A command the other way while moving": also while still slowing after a stop; refused from the limit switch to
    standstill and in hold-to-run.  STOP, a demand or a fault that stops the gate discards it.
C4  "A reversal is under way" from the demand's stop until the reversal's order ends.  STOP cancels it.
C5  At the closed end a start towards it is ignored, without a refusal.
C6  While the leaf still slows after a stop or a reversal, a fresh press of an edge ahead is a demand; after a limit
    it is nothing, after a demand it belongs to that demand.  During the stop after a fault it is a demand.
C7  An edge on the way back that is pressed when the reverse order is due: no reversal, entrapment lockout.
C8  In a reversal after a demand, a new fault of a device that guards it shortens it to the relief distance (at once
    where that is passed); in a reversal after a fault it stops it and locks out both ways.
C9  "Way back unguarded": no edge guards it that is heard, fresh, without a fault level and not latched.  No edge
    at all is not unguarded.
C10 Stopping, dwelling and reversing count as "in motion" for latching.
C11 `recovery_time` holds for starts only, not for a reset; it is counted edge by edge.
C12 Travel time exceeded, no start and no stop are drive lockouts; each acts at the limit's own instant, after sensing.
    A reset clears the drive lockout.
C13 Hold-to-run: wired only, in every lockout but entrapment and drive; no test; only from standstill; a hold pressed
    in an automatic move is a stop, in a reversal refused, in a test or warning ignored; no reversal, no demand
    counted.  A fault during it is latched and does not stop it; an edge that is faulty or not fresh does not stop it.
C14 A healthy edge pressed ahead refuses its beginning.
C15 Automatic closing: an edge that guards closing, pressed in pause, test or warning, restarts the pause, which runs
    while none is pressed; a lost link or a lockout ends it.  A start towards open at the open end arms it.
C16 "The next closing of a limit switch": one that is closed already when power returns does not give the place back.
C17 The alarm after a return of power runs its full time anew, and shows as `alarm` again; an unchanged
    lockout does not.
C18 The end of travel clears the count as the limit switch closes in any ordered movement, hold-to-run included, or in
    the stop after it ("any end": reversals too).
C19 With a relief set, the second demand's relief follows after the dwell; the main stays closed and the brake held
    until after it.
C20 A reset counts only at rest and in the pause; it clears the count only together with an entrapment lockout.
    Where nothing is cleared although locked out: refused.
C21 `press_limit` counts whenever the leaf stands, also in a dwell; motion breaks it.
C22 Motion without an order is not looked for in an entrapment or drive lockout (a released squeeze moves the leaf).
C24 Beams: docs/timing.md, section 8a.  A leaf that slows for a beam and is stopped by a command slows as after a stop.
C23 A welded contactor reads closed whatever the main does; "an order changed": of a contactor or of the main.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from second_leaf import DECIDE, DRIVE, OTHER, Clock, Leaf, Say
from transitions import Machine

FAULTY = ("above band", "open", "reading invalid")
MOVES = ("travelling", "holding", "reversing")
BUSY = (*MOVES, "stopping", "dwelling")
ENTRAPMENT, DRIVE_FAULT = "entrapment", "drive"
READ_BACK = 100_000


class Controller:
    """Inputs, clocks and states; an order given acts in the same instant."""

    state: str
    trigger: Callable[..., bool]
    ask: Callable[[set[str], int], None]
    ordered: Callable[[bool], None]
    drive: Callable[[], None]
    contactors: Callable[[], set[str]]
    """As read back."""

    def __init__(self, env: Clock, site: Any, say: Say, leaf: Leaf, reports: list[Any], can_ask: set[str]) -> None:
        self.env, self.table, self.travel, self.say, self.leaf = env, site.controller, site.gate.travel, say, leaf
        self.reports, self.can_ask = reports, can_ask
        self.powered, self.waiting = True, False
        self.known = True
        self.request = 0
        self.kept = self.to_keep = self._blank()
        self.keep = self._blank()
        self.lockout = "none"
        Machine(
            self,
            states=["resting", "testing", "warning", "pausing", *BUSY],
            initial="resting",
            auto_transitions=True,
            transitions=[
                ["test", ["resting", "pausing", "testing", "warning"], "testing"],
                ["warn", "testing", "warning"],
                ["go", ["testing", "warning"], "travelling"],
                ["hold", ["resting", "pausing", "testing", "warning"], "holding"],
                ["halt", list(MOVES), "stopping"],
                ["dwell", "stopping", "dwelling"],
                ["back", "dwelling", "reversing"],
                ["pause", ["stopping", "testing", "warning"], "pausing"],
                ["rest", ["stopping", "dwelling", "testing", "warning", "pausing"], "resting"],
            ],
        )
        self.main = False
        self._fresh_start()
        self.changed_at = -float(READ_BACK)

    @staticmethod
    def _blank() -> dict[str, Any]:
        lockouts = {"faults": {}, "both": False, ENTRAPMENT: False, DRIVE_FAULT: False}
        return {**lockouts, "count": 0, "of": None, "alarm": False}

    def _fresh_start(self) -> None:
        self.order: str | None = None
        self.slow = False
        self.changed_at = self.env.now
        self.brake_released = bool(self.keep[ENTRAPMENT] or self.keep[DRIVE_FAULT])
        self.queued = ""
        self.going = "closing"
        """The movement under way or last made."""
        self.cause = ""
        self.then: tuple[str, float] | None = None
        self.goal = ("closing", False, "close")
        self.fresh_command = False
        self.clocks: dict[str, float] = {}
        self.held: set[tuple[str, str]] = set()
        self.reset_pressed: float | None = None
        self.commands: list[tuple[str, str, bool]] = []
        self.seen: dict[str, tuple[bool, str]] = {r.edge: (False, "") for r in self.reports}
        """Whether each edge was pressed, and what was wrong with it."""
        self.met: set[str] = set()
        """Beams whose interruption was answered, or known when the order was given, until they are clear."""
        self.lost: dict[str, bool] = {}
        """Edges that were lost, or pressed at standstill: whether their reports are good again, for a while."""
        self.tripped: str | None = None
        self.from_here = 0.0

    # --- called from outside ---------------------------------------------------------------------------------

    def poke(self) -> None:
        """The image changed (or a clock ran out): decide in this instant's turn."""
        if not self.waiting:
            self.waiting = True
            self.env.then(self.env.now, DECIDE, self._decide)

    def press(self, word: str, origin: str) -> None:
        self.commands.append((word, origin, True))
        self.poke()

    def release(self, word: str, origin: str) -> None:
        self.commands.append((word, origin, False))
        self.poke()

    def power_goes(self) -> None:
        if self.order is not None:
            self.say("order none", "")
        self.order = None
        self._switch_main(False)
        self.powered = False

    def power_returns(self) -> None:
        self.powered = True
        self.keep = {**self.kept, "faults": dict(self.kept["faults"])}
        self._fresh_start()
        self.to_keep = self.kept
        self.known = False
        self.trigger("to_resting")
        self.cause = "power"
        self._show_lockout()
        if self.keep["alarm"]:
            self._sound()
        self._clock("read-back", READ_BACK)
        self.poke()

    # --- clocks ----------------------------------------------------------------------------------------------

    def _clock(self, name: str, after: float) -> None:
        self.clocks[name] = self.env.now + after
        self.env.then(self.clocks[name], DECIDE, self.poke)

    def _due(self, name: str) -> bool:
        if self.clocks.get(name, self.env.now + 1) <= self.env.now:
            del self.clocks[name]
            return True
        return False

    def _off(self, *names: str) -> None:
        for name in names:
            self.clocks.pop(name, None)

    # --- what is kept ----------------------------------------------------------------------------------------

    def _changed(self) -> None:
        now_kept = {**self.keep, "faults": dict(self.keep["faults"])}
        if now_kept == self.to_keep:
            return
        self.to_keep = now_kept

        def written() -> None:
            if self.powered and self.to_keep is now_kept:
                self.kept = now_kept

        self.env.then(self.env.now + self.table.store_write, DRIVE, written)
        self._show_lockout()

    def _show_lockout(self) -> None:
        ways = {way for way, _ in self.keep["faults"].values()}
        if ways and self.table.after_fault.value == "both directions":
            ways = {"opening", "closing"}
        if self.keep["both"] or len(ways) == 2:
            lockout = "both directions"
        else:
            lockout = next(iter(ways), "none")
        lockout = DRIVE_FAULT if self.keep[DRIVE_FAULT] else lockout
        lockout = ENTRAPMENT if self.keep[ENTRAPMENT] else lockout
        if lockout != self.lockout:
            self.lockout = lockout
            self.say(f"lockout {lockout}", "")

    def _bars(self, way: str) -> bool:
        return self.lockout not in ("none", OTHER[way])

    def _sound(self) -> None:
        self.keep["alarm"] = True
        self.say("alarm", "")
        self._clock("alarm", self.table.alarm_time)

    # --- devices ---------------------------------------------------------------------------------------------

    def _wrong(self, report: Any) -> str:
        if not report.heard:
            return ""
        return "not fresh" if not report.fresh else report.level if report.level in FAULTY else ""

    def _guarded(self, way: str) -> bool:
        guards = [r for r in self.reports if r.direction == way]
        whole = [r for r in guards if r.heard and not self._wrong(r) and r.edge not in self.keep["faults"]]
        return bool(whole) or not guards

    def _blocked(self, way: str) -> bool:
        """Whether an automatic start this way is out of the question."""
        guards = [r for r in self.reports if r.direction == way]
        in_order = all(r.heard and r.fresh and r.level == "at rest" and r.edge not in self.lost for r in guards)
        stop = any(word == "stop" for word, _ in self.held)
        return self._bars(way) or stop or self.leaf.force.output is not None or not in_order

    def _answered(self, way: str) -> bool:
        return all(r.answered == self.request for r in self.reports if r.direction == way and r.device in self.can_ask)

    # --- orders ----------------------------------------------------------------------------------------------

    def _give(self, way: str, slow: bool) -> None:
        self.order, self.going, self.slow = way, way, slow
        self.brake_released = False
        self.queued = ""
        self.from_here = self.leaf.position()
        self.say(f"order {way}", "")
        self._switch_main(True)
        self._changed_order()
        self._clock("start", self.table.start_limit)
        if self.state != "holding":
            opening = way == "opening"
            self._clock("travel", self.table.travel_time_opening if opening else self.table.travel_time_closing)
        self.ordered(True)
        self.drive()

    def _end(self, cause: str, then: tuple[str, float] | None = None) -> None:
        """The order ends; what follows at standstill."""
        self.trigger("halt")
        self.cause, self.then = cause, then
        self.order = None
        self.leaf.target = None
        self.say("order none", "")
        self._changed_order()
        self._off("start", "travel")
        self._clock("stop", self.table.stop_limit)
        self.ordered(False)
        self.drive()

    def _changed_order(self) -> None:
        self.changed_at = self.env.now
        self._clock("read-back", READ_BACK)

    def _switch_main(self, closed: bool) -> None:
        if closed != self.main:
            self.main = closed
            self.say("main closed" if closed else "main open", "")
            self._changed_order()
            self.drive()

    def _drive_fault(self) -> None:
        self.keep[DRIVE_FAULT] = True
        self.then, self.queued, self.fresh_command = None, "", False
        if self.state in MOVES:
            self._end("drive")
        self._switch_main(False)
        self.brake_released = True
        self._off("dwell", "pause", "test", "warning")
        self.drive()
        if self.state in ("testing", "warning", "pausing", "dwelling"):
            self.trigger("rest")

    # --- the decision ----------------------------------------------------------------------------------------

    def _decide(self) -> None:
        self.waiting = False
        if not self.powered:
            self.commands.clear()
            return
        presses, faults = self._look()
        self._drive_clocks()
        self._react(presses, faults)
        self._limits()
        commands, self.commands = self.commands, []
        for word, origin, pressed in commands:
            self._command(word, origin, pressed)
        self._stand()
        self._wait()
        self._press_limit()
        if self._due("alarm"):
            self.keep["alarm"] = False
        self._changed()

    def _look(self) -> tuple[set[str], set[str]]:
        """Fresh presses and new faults by guarded direction; latches what is to be latched."""
        presses: set[str] = set()
        faults: set[str] = set()
        for r in self.reports:
            was_pressed, was_wrong = self.seen[r.edge]
            pressed, wrong = r.fresh and r.level == "pressed", self._wrong(r)
            if pressed and not was_pressed:
                presses.add(r.direction)
            if wrong and wrong != was_wrong and (self.state in BUSY or wrong != "not fresh"):
                faults.add(r.direction)
                self.keep["faults"][r.edge] = (r.direction, "fault")
            self.seen[r.edge] = (pressed, wrong)
            self._recovery(r)
        return presses, faults

    def _recovery(self, r: Any) -> None:
        clock = f"recovery {r.edge}"
        good = r.heard and r.fresh and r.level == "at rest"
        if (r.heard and not r.fresh) or (r.level == "pressed" and self.leaf.going is None):
            self.lost[r.edge] = False
        if r.edge not in self.lost:
            return
        if good and not self.lost[r.edge]:
            self._clock(clock, self.table.recovery_time)
        elif not good:
            self._off(clock)
        self.lost[r.edge] = good
        if self._due(clock):
            del self.lost[r.edge]

    def _react(self, presses: set[str], faults: set[str]) -> None:
        rays = self._interrupted("opening") | self._interrupted("closing")
        self.met &= rays
        trip = self.leaf.force.output
        tripped = trip if trip is not None and trip != self.tripped else None
        self.tripped = trip
        if self.state == "holding":
            ahead = {b for b in self._interrupted(self.going) if b not in self.keep["faults"]}
            if tripped or ahead or (self._pressed_ahead(self.going) and self.going in presses):
                self._end("hold")
            return
        demand = self.state in ("travelling", "reversing") and (self.going in presses or tripped == self.going)
        slowing = self.state == "stopping" and self.cause in ("stop", "reversed", "fault", "beam")
        slowing |= self.state == "dwelling" and self.cause == "fault"
        demand |= slowing and self.going in presses
        if demand:
            self._demand()
        elif faults:
            self._fault(faults)
        if self.state in MOVES:
            self._rays()

    def _interrupted(self, way: str) -> set[str]:
        """The beams that guard this way and are interrupted."""
        return {r.edge for r in self.reports if r.direction == way and r.fresh and r.level == "interrupted"}

    def _rays(self) -> None:
        """A beam ahead, not met yet."""
        fresh = self._interrupted(self.going) - self.met
        if not fresh:
            return
        if self.state == "travelling":
            self.fresh_command, self.queued = False, ""
            self.met |= fresh
            self._end("beam", self._back())
        elif self.state == "reversing":
            self._end(ENTRAPMENT if self.cause == ENTRAPMENT else "reversed")

    def _pressed_ahead(self, way: str) -> bool:
        """Whether a healthy edge that guards this way is pressed."""
        mine = [r for r in self.reports if r.direction == way and r.edge not in self.keep["faults"]]
        return any(r.level == "pressed" and r.fresh for r in mine)

    def _back(self) -> tuple[str, float]:
        """The way back after a demand."""
        other = OTHER[self.going]
        distance = self.table.reversal_distance if self.going == "closing" else self.table.opening_relief
        return other, distance if self._guarded(other) else min(distance, self.table.opening_relief)

    def _demand(self) -> None:
        self.fresh_command, self.queued = False, ""
        if self.keep[ENTRAPMENT]:
            if self.state in MOVES:
                self._end(ENTRAPMENT)
            return
        if self.keep["count"]:
            self._entrap()
            return
        self.keep["count"], self.keep["of"] = 1, self.going
        if self.state in MOVES:
            self._end("demand", self._back())
        else:
            self.cause, self.then = "demand", self._back()
            if self.state == "stopping" and not self.leaf.going:
                self._stand()

    def _entrap(self) -> None:
        self.keep[ENTRAPMENT] = True
        self.keep["count"] = 2
        self.fresh_command = False
        relief = self.table.second_demand_relief
        then = None
        if relief:
            then = (OTHER[self.going], relief)
        if self.state in MOVES:
            self._end(ENTRAPMENT, then)
        elif self.state == "dwelling":
            self._cancel_reversal()
        else:
            self.cause, self.then = ENTRAPMENT, then
        self._sound()

    def _cancel_reversal(self) -> None:
        """Stay where the leaf stands."""
        self.then = None
        self._off("dwell")
        self._at_rest()
        self.trigger("rest")

    def _at_rest(self) -> None:
        """Main shut-off and brake at standstill."""
        self.brake_released = self.then is None and bool(self.keep[ENTRAPMENT] or self.keep[DRIVE_FAULT])
        self._switch_main(self.then is not None)
        self.drive()

    def _fault(self, faults: set[str]) -> None:
        if self.state in ("testing", "warning", "pausing"):
            self._refuse(self.goal[2])
        elif self.state == "travelling" and self.going in faults:
            self.fresh_command, self.queued = False, ""
            other = OTHER[self.going]
            if self._guarded(other):
                self._end("fault", self._back())
            else:
                self._end("fault")
                self.keep["both"] = True
        elif self.state == "reversing" and self.going in faults:
            if self.cause == "demand":
                self._shorten()
            elif self.cause == ENTRAPMENT:
                self._end(ENTRAPMENT)
            elif self.cause == "beam":
                self._end("reversed")
            elif self.cause == "fault":
                self._end("fault")
                self.keep["both"] = True
        elif self.state in ("stopping", "dwelling") and self.then is not None and self.then[0] in faults:
            if self.cause == "demand":
                self.then = (self.then[0], min(self.then[1], self.table.opening_relief))
            elif self.cause == "fault":
                self.then = None
                self.keep["both"] = True

    def _shorten(self) -> None:
        sign = 1 if self.going == "opening" else -1
        place = self.from_here + sign * self.table.opening_relief
        if (self.leaf.position() - place) * sign >= 0:
            self._end("reversed")
        else:
            self.leaf.watch(place, self.going)

    def _limits(self) -> None:
        """Ends of travel, and of a reversal."""
        if self.state not in MOVES and self.state != "stopping":
            return
        if self.leaf.limit[self.going].on and self.leaf.going == self.going:
            own = self.keep["of"] == self.going and self.cause not in (
                "demand", "fault", "beam", "reversed", "reversed at the end", "reversal stopped", ENTRAPMENT
            )
            own = own and self.state != "reversing"
            if self.keep["count"] == 1 and (own or self.table.count_cleared.value == "any end of travel"):
                self.keep["count"], self.keep["of"] = 0, None
            self.known = True
            if self.state == "travelling":
                self._end("limit")
            elif self.state == "holding":
                self._end("hold")
            elif self.state == "reversing":
                self._end("reversed at the end")
        if self.state == "reversing" and self.leaf.target is not None and self.leaf.target.on:
            self._end("reversed")

    def _drive_clocks(self) -> None:
        if self.leaf.going is not None and self.leaf.going == self.order:
            self._off("start")
        if self.leaf.going is None and self.order is None:
            self._off("stop")
        self._due("read-back")
        late = [name for name in ("stop", "start", "travel") if self._due(name)]
        wrong = self.env.now >= self.changed_at + READ_BACK and self.contactors() != {self.order} - {None}
        astray = self.leaf.going is not None and (
            self.state not in BUSY or self.state == "dwelling" or self.order == OTHER[self.leaf.going]
        )
        if (late or wrong or (astray and not self.keep[ENTRAPMENT])) and not self.keep[DRIVE_FAULT]:
            self._drive_fault()

    def _stand(self) -> None:
        """Standstill after an order."""
        if self.state != "stopping" or self.leaf.going is not None:
            return
        self._off("stop")
        if self.cause == ENTRAPMENT and self.then is not None:
            distance = min(self.then[1], abs(self.leaf.position() - self.from_here) / 2)
            self.then = (self.then[0], distance) if distance else None
        self._at_rest()
        if self.then is not None:
            self.trigger("dwell")
            self._clock("dwell", self.table.reversal_dwell)
        elif (self.cause == "limit" and self.going == "opening" and self.fresh_command
              and self.table.automatic_closing is not None and self.lockout == "none"):
            self.trigger("pause")
        else:
            self.trigger("rest")
            if self.queued:
                self._start(self.queued)

    def _wait(self) -> None:
        """What follows after waiting."""
        if self.state == "dwelling":
            if self.then is None:
                self._cancel_reversal()
            elif self._due("dwell"):
                self._reverse(*self.then)
        off = ("pressed", "interrupted")
        pressed = any(r.fresh and r.level in off and r.direction == "closing" for r in self.reports)
        if self.state in ("testing", "warning") and self.goal[1] and pressed:
            self._off("test", "warning")
            self.trigger("pause")
        if self.state == "pausing":
            if self.lockout != "none" or any(r.heard and not r.fresh for r in self.reports):
                self._refuse_closing()
            elif pressed:
                self._off("pause")
            elif "pause" not in self.clocks:
                self._clock("pause", self.table.automatic_closing)
            elif self._due("pause"):
                self._test("closing", True, "automatic")
        if self.state == "testing":
            self._testing()
        if self.state == "warning" and self._blocked("closing"):
            self._refuse_closing()
        elif self.state == "warning" and self._due("warning"):
            self._go()

    def _refuse_closing(self) -> None:
        self.say("refused", "automatic")
        self.fresh_command = False
        self._off("pause", "test", "warning")
        self.trigger("rest")

    def _reverse(self, way: str, distance: float) -> None:
        if any(r.fresh and r.level == "pressed" and r.direction == way for r in self.reports):
            if self.keep[ENTRAPMENT] or self.cause == "beam":
                self._cancel_reversal()
            else:
                self._entrap()
            return
        if self.cause in ("beam", "fault") and self._interrupted(way):
            self._cancel_reversal()
            return
        if self.cause == "beam" and not self._guarded(way):
            self._cancel_reversal()
            return
        if self.cause == "demand" and self._interrupted(way):
            distance = min(distance, self.table.opening_relief)
        self.met |= self._interrupted(way)
        self.trigger("back")
        self.then = None
        if self.leaf.limit[way].on:
            self.trigger("to_resting")
            return
        self._give(way, not self.known)
        if way == "closing" and self.known:
            distance = min(distance, self.from_here / 2)
        self.leaf.watch(self.from_here + (distance if way == "opening" else -distance), way)

    def _press_limit(self) -> None:
        for r in self.reports:
            name = f"press {r.edge}"
            if not r.fresh or r.level != "pressed" or self.leaf.going is not None:
                self._off(name)
            elif name not in self.clocks and r.edge not in self.keep["faults"]:
                self._clock(name, self.table.press_limit)
            elif self._due(name):
                self.keep["faults"][r.edge] = (r.direction, "press")
                if self.state in ("testing", "pausing", "warning"):
                    self._refuse(self.goal[2])

    # --- starts ----------------------------------------------------------------------------------------------

    def _test(self, way: str, automatic: bool, word: str) -> None:
        """Ask the devices that guard this way; the start follows when they have answered."""
        self._off("pause", "warning")
        if self._blocked(way):
            self._refuse(word)
            return
        self.goal = (way, automatic, word)
        self.request += 1
        self.trigger("test")
        self._clock("test", self.table.test_time)
        asked = {r.device for r in self.reports if r.direction == way} & self.can_ask
        if asked:
            self.ask(asked, self.request)

    def _refuse(self, word: str) -> None:
        self.say("refused", word)
        if self.state in ("testing", "pausing", "warning"):
            self.fresh_command = False
            self._off("pause", "test", "warning")
            self.trigger("rest")

    def _testing(self) -> None:
        way, automatic, word = self.goal
        if self._blocked(way):
            self._refuse(word)
        elif self._answered(way):
            self._off("test")
            if automatic:
                self.trigger("warn")
                self._clock("warning", self.table.closing_warning)
            else:
                self._go()
        elif self._due("test"):
            self._refuse(word)

    def _go(self) -> None:
        way, automatic, _ = self.goal
        self.fresh_command = not automatic
        self.cause = ""
        self.trigger("go")
        self._give(way, not self.known)

    # --- commands --------------------------------------------------------------------------------------------

    def _command(self, word: str, origin: str, pressed: bool) -> None:
        if ((word, origin) in self.held) == pressed:
            return
        (self.held.add if pressed else self.held.discard)((word, origin))
        if word in ("open", "close"):
            if pressed:
                self._start(word)
        elif word == "stop":
            if pressed:
                self._stop()
        elif word in ("hold open", "hold close"):
            self._hold(word, origin, pressed)
        elif word == "reset":
            self._reset(origin, pressed)
        elif word == "silence" and pressed:
            self.keep["alarm"] = False
            self._off("alarm")

    def _start(self, word: str) -> None:
        way = "opening" if word == "open" else "closing"
        self.queued = ""
        refusing = self.then is not None or self.cause in ("limit", "reversed at the end", "hold", ENTRAPMENT)
        if self.state in ("dwelling", "reversing", "holding") or (self.state == "stopping" and refusing):
            self.say("refused", word)
        elif self.state == "stopping":
            self.queued = word
        elif self.state in BUSY:
            if way != self.going:
                self._stop()
                self.queued = word
        elif self.state == "testing" and self.goal[0] == way and not self.goal[1]:
            return
        elif not self.leaf.limit[way].on:
            self._test(way, False, word)
        elif way == "opening" and self.table.automatic_closing is not None and self.lockout == "none":
            self._off("test", "warning", "pause")
            self.fresh_command = True
            self.trigger("to_pausing")
        elif self.state == "testing":
            self._off("test")
            self.trigger("rest")

    def _stop(self) -> None:
        self.fresh_command, self.queued = False, ""
        if self.state in MOVES:
            self._end("stop")
        elif self.state in ("stopping", "dwelling"):
            if self.then is not None and self.cause == "beam":
                self.cause = "stop"  # nothing was felt yet
            elif self.then is not None and self.cause != ENTRAPMENT:
                self.cause = "reversal stopped"
            self.then = None
        elif self.state != "resting":
            self._off("test", "pause", "warning")
            self.trigger("rest")

    def _hold(self, word: str, origin: str, pressed: bool) -> None:
        way = "opening" if word == "hold open" else "closing"
        if self.state == "holding":
            if pressed or way == self.going:
                self._end("hold")
            return
        if not pressed:
            return
        if self.state in ("travelling", "testing", "warning", *BUSY):
            if self.state == "travelling":
                self._stop()
            elif self.state in ("dwelling", "reversing"):
                self.say("refused", word)
            return
        both = any(w in ("hold open", "hold close") and w != word for w, _ in self.held)
        ahead = self._pressed_ahead(way) or self._interrupted(way) - set(self.keep["faults"])
        if origin != "wired in view" or self.lockout in (ENTRAPMENT, DRIVE_FAULT) or both or ahead:
            self._refuse(word)
        elif not self.leaf.limit[way].on:
            self.fresh_command = False
            self._off("pause", "test", "warning")
            self.cause = ""
            self.trigger("hold")
            self._give(way, True)

    def _reset(self, origin: str, pressed: bool) -> None:
        now = self.env.now
        if origin != "wired in view":
            if pressed:
                self.say("refused", "reset")
            return
        if pressed:
            self.reset_pressed = now
            return
        since, self.reset_pressed = self.reset_pressed, None
        if since is None or now - since > self.table.reset_window or self.state not in ("resting", "pausing"):
            self.say("refused", "reset")
            return
        felt = self.leaf.force.output is not None or self.leaf.going is not None
        caused = self.keep[DRIVE_FAULT] and self.contactors()
        if felt or caused or any(r.level == "pressed" for r in self.reports):
            self.say("refused", "reset")
            return
        self._clear()
        self.fresh_command = False
        if self.state == "pausing":
            self._off("pause")
            self.trigger("rest")

    def _clear(self) -> None:
        """A reset that counts: what has healed is cleared."""
        keep = self.keep
        before = {**keep, "faults": dict(keep["faults"])}
        if keep[ENTRAPMENT]:
            keep[ENTRAPMENT], keep["count"], keep["of"], keep["alarm"] = False, 0, None, False
            self._off("alarm")
            self.brake_released = False
        if keep[DRIVE_FAULT]:
            keep[DRIVE_FAULT] = False
            self.brake_released = False
        for r in self.reports:
            if r.edge in keep["faults"] and r.heard and r.fresh and r.level in ("at rest", "interrupted"):
                del keep["faults"][r.edge]
        if not keep["faults"]:
            keep["both"] = False
        self.drive()
        if before == keep and self.lockout != "none":
            self.say("refused", "reset")
