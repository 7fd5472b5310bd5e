"""What the reference controller makes of a beam, image by image: the rules are docs/timing.md, section 8a."""

from __future__ import annotations

from typing import Any

import pytest

from gatesim.events import Command, Direction, Level, Lockout, Origin
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings, GuardedEdge, Kind, Report
from gatesim.plant.logic.controller_reference import ReferenceController

OPENING, CLOSING = Direction.OPENING, Direction.CLOSING
S = 1_000_000
DEVICES = (
    GuardedEdge("nose", CLOSING, "in"),
    GuardedEdge("tail", OPENING, "in"),
    GuardedEdge("ray", CLOSING, "ray", Kind.BEAM),
    GuardedEdge("back ray", OPENING, "back ray", Kind.BEAM),
)


def settings(**other: Any) -> ControllerSettings:
    given = ControllerSettings(
        edges=DEVICES, travel=4e6, reversal_distance=1e6, opening_relief=1e5, second_demand_relief=0.0,
        reversal_dwell=200_000, test_time=S, start_limit=500_000, stop_limit=800_000, travel_time_opening=60 * S,
        travel_time_closing=60 * S, press_limit=10 * S, recovery_time=3 * S, reset_window=2 * S, alarm_time=300 * S,
        automatic_closing=20 * S, closing_warning=5 * S, fault_locks_both=False, count_cleared_at_any_end=False,
        faults_a_day=5)  # fmt: skip
    return given._replace(**other)


class Gate:
    """The controller with a drive that follows it at once; the leaf moves as the test says."""

    def __init__(self, controller: Any = None, at: float = 3e6, devices: tuple[GuardedEdge, ...] = DEVICES) -> None:
        self.controller = controller or ReferenceController(by_library=True)
        self.devices = devices
        self.state, self.do = self.controller.start(settings(edges=devices), None)
        self.now, self.levels = 0.0, [Level.REST] * len(devices)
        self.seen = ControllerSeen(
            frozenset(), False, False, (), False, True, at, True, None, False, False, False, False)
        self.dos: list[ControllerDo] = []
        self.go()

    def go(self, after: float = 0, **image: Any) -> ControllerDo:
        """Live on; what changes in the image; answers come at once, and contactors follow."""
        self.now += after
        self.seen = self.seen._replace(**image)
        for _ in range(4):
            reports = tuple([
                Report(device.edge, level, True, True, False, False, self.do.ask)
                for device, level in zip(self.devices, self.levels, strict=True)
            ])
            self.seen = self.seen._replace(
                reports=reports, opening_contactor=self.do.order is OPENING, closing_contactor=self.do.order is CLOSING,
                main_closed=self.do.main, sounder=self.do.alarm)
            self.state, self.do = self.controller.step(self.state, self.seen, self.now)
            self.dos.append(self.do)
        return self.do

    def set(self, device: str, level: Level, after: float = 100_000) -> ControllerDo:
        self.levels[[one.edge for one in self.devices].index(device)] = level
        return self.go(after)

    def press(self, command: Command, after: float = S) -> ControllerDo:
        self.go(after, controls=frozenset({(command, Origin.WIRED)}))
        return self.go(100_000, controls=frozenset())

    def start(self, command: Command) -> ControllerDo:
        """A command, and the leaf moving."""
        self.press(command)
        way = OPENING if command is Command.OPEN else CLOSING
        assert self.do.order is way
        return self.go(100_000, motion=way)

    def stand(self, moved: float = 1e5) -> ControllerDo:
        """The leaf comes to rest, and the dwell goes by."""
        way = self.seen.motion
        assert way is not None
        self.go(200_000, motion=None, position=self.seen.position + way.sign * moved)
        return self.go(200_000)

    def back(self, far: float = 1e6) -> ControllerDo:
        """The whole reversal, to rest."""
        assert self.do.order is not None
        way = self.do.order
        self.go(100_000, motion=way)
        self.go(S, position=self.seen.position + way.sign * far)
        return self.go(200_000, motion=None)


def interrupted_closing() -> Gate:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("ray", Level.INTERRUPTED)
    return gate


def test_an_interruption_ahead_stops_and_reverses() -> None:
    gate = interrupted_closing()
    assert (gate.do.order, gate.do.mode) == (None, "stopping to reverse")
    assert (gate.do.alarm, gate.do.lockout, gate.do.armed) == (False, Lockout.NONE, False)
    gate.stand()
    assert (gate.do.order, gate.do.mode) == (OPENING, "reversing")
    assert gate.do.watch == pytest.approx(2.9e6 + 1e6)
    gate.back()
    assert (gate.do.mode, gate.do.lockout) == ("at rest", Lockout.NONE)


def test_while_opening_it_goes_back_by_the_relief() -> None:
    gate = Gate(at=1e6)
    gate.start(Command.OPEN)
    gate.set("back ray", Level.INTERRUPTED)
    gate.stand()
    assert (gate.do.order, gate.do.watch) == (CLOSING, pytest.approx(1.1e6 - 1e5))


@pytest.mark.parametrize(("command", "beam"), [(Command.CLOSE, "back ray"), (Command.OPEN, "ray")])
def test_a_beam_behind_stops_nothing(command: Command, beam: str) -> None:
    gate = Gate()
    gate.start(command)
    assert gate.set(beam, Level.INTERRUPTED).order is not None


def test_it_is_not_counted_however_often() -> None:
    gate = Gate()
    for _ in range(4):
        gate.start(Command.CLOSE)
        gate.set("ray", Level.INTERRUPTED)
        gate.stand()
        gate.set("ray", Level.REST)
        gate.back()
    gate.start(Command.CLOSE)
    gate.set("nose", Level.PRESSED)
    assert gate.do.mode == "stopping to reverse"
    assert not any(do.alarm or do.lockout is not Lockout.NONE for do in gate.dos)
    gate.stand()
    gate.set("nose", Level.REST)
    gate.back()
    gate.go(4 * S)
    gate.start(Command.CLOSE)
    gate.set("ray", Level.INTERRUPTED)
    assert gate.do.mode == "stopping to reverse", "a beam after a demand is no second one"
    gate.stand()
    gate.set("ray", Level.REST)
    gate.back()
    gate.start(Command.CLOSE)
    gate.set("nose", Level.PRESSED)
    assert (gate.do.alarm, gate.do.lockout) == (True, Lockout.ENTRAPMENT), "but a second press is"


def test_a_press_while_the_leaf_stops_for_a_beam_is_a_demand_of_its_own() -> None:
    gate = interrupted_closing()
    gate.set("nose", Level.PRESSED)
    assert gate.do.mode == "stopping to reverse"
    gate.stand()
    assert gate.do.order is OPENING
    gate.set("nose", Level.REST)
    gate.set("ray", Level.REST)
    gate.back()
    gate.go(4 * S)
    gate.start(Command.CLOSE)
    assert gate.set("nose", Level.PRESSED).lockout is Lockout.ENTRAPMENT


def test_a_second_demand_while_the_leaf_stops_for_a_beam_locks_out() -> None:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("nose", Level.PRESSED)
    gate.stand()
    gate.set("nose", Level.REST)
    gate.back()
    gate.go(4 * S)
    gate.start(Command.CLOSE)
    gate.set("ray", Level.INTERRUPTED)
    assert gate.set("nose", Level.PRESSED).lockout is Lockout.ENTRAPMENT


def test_a_press_while_the_leaf_stops_for_a_fault_is_still_no_demand() -> None:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("nose", Level.OPEN)
    gate.set("nose", Level.PRESSED)
    assert gate.do.mode == "stopping to reverse"
    assert gate.do.lockout is Lockout.CLOSING


def test_an_interruption_that_lasts_through_the_reversal_is_one() -> None:
    gate = interrupted_closing()
    gate.stand()
    gate.back()
    assert gate.do.mode == "at rest"
    gate.press(Command.CLOSE)
    assert gate.do.order is None
    assert [refused[2:] for do in gate.dos for refused in do.refused] == [("interrupted", "ray")]


def test_a_fresh_interruption_in_the_reversal_stops_it() -> None:
    gate = interrupted_closing()
    gate.stand()
    gate.go(100_000, motion=OPENING)
    gate.set("back ray", Level.INTERRUPTED)
    assert (gate.do.order, gate.do.mode) == (None, "stopping")
    gate.stand()
    assert (gate.do.mode, gate.do.lockout) == ("at rest", Lockout.NONE)


def test_another_beam_ahead_is_met_though_the_first_is_still_interrupted() -> None:
    devices = (*DEVICES, GuardedEdge("second back ray", OPENING, "second back ray", Kind.BEAM))
    gate = Gate(devices=devices)
    gate.start(Command.CLOSE)
    gate.set("nose", Level.PRESSED)
    gate.set("back ray", Level.INTERRUPTED)
    gate.stand()
    gate.go(100_000, motion=OPENING)
    assert gate.do.order is OPENING
    assert gate.set("second back ray", Level.INTERRUPTED).order is None


def test_a_fault_ahead_in_the_reversal_after_a_beam_stops_it() -> None:
    gate = interrupted_closing()
    gate.stand()
    gate.go(100_000, motion=OPENING)
    gate.set("tail", Level.OPEN)
    assert (gate.do.order, gate.do.mode, gate.do.lockout) == (None, "stopping", Lockout.OPENING)


def test_with_the_way_back_interrupted_it_stands() -> None:
    gate = interrupted_closing()
    gate.set("back ray", Level.INTERRUPTED)
    gate.stand()
    assert (gate.do.order, gate.do.mode, gate.do.lockout) == (None, "at rest", Lockout.NONE)


def test_with_the_way_back_pressed_it_stands_too_and_sounds_no_alarm() -> None:
    gate = interrupted_closing()
    gate.set("tail", Level.PRESSED)
    gate.stand()
    assert (gate.do.order, gate.do.mode) == (None, "at rest")
    assert (gate.do.alarm, gate.do.lockout) == (False, Lockout.NONE)
    gate = interrupted_closing()
    gate.set("nose", Level.PRESSED)
    gate.set("tail", Level.PRESSED)
    assert gate.stand().lockout is Lockout.ENTRAPMENT, "after a demand it is squeezed from both sides"


def test_after_a_demand_an_interrupted_way_back_leaves_the_relief() -> None:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("nose", Level.PRESSED)
    gate.set("back ray", Level.INTERRUPTED)
    gate.stand()
    assert (gate.do.order, gate.do.watch) == (OPENING, pytest.approx(2.9e6 + 1e5))
    gate.go(100_000, motion=OPENING)
    assert gate.do.order is OPENING, "what was interrupted when it was ordered does not end it"
    gate.set("back ray", Level.REST)
    assert gate.set("back ray", Level.INTERRUPTED).order is None


def test_after_a_fault_an_interrupted_way_back_is_not_taken() -> None:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("nose", Level.OPEN)
    gate.set("back ray", Level.INTERRUPTED)
    gate.stand()
    assert (gate.do.order, gate.do.lockout) == (None, Lockout.CLOSING)


def test_with_nothing_in_order_on_the_way_back_a_beam_only_stops() -> None:
    gate = Gate()
    gate.set("tail", Level.OPEN)
    gate.set("back ray", Level.INVALID)
    gate.start(Command.CLOSE)
    gate.set("ray", Level.INTERRUPTED)
    gate.stand()
    assert (gate.do.order, gate.do.mode, gate.do.lockout) == (None, "at rest", Lockout.OPENING)


def test_a_beam_in_order_guards_the_way_back_as_an_edge_does() -> None:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("tail", Level.OPEN)
    gate.set("nose", Level.PRESSED)
    gate.stand()
    assert gate.do.watch == pytest.approx(2.9e6 + 1e6)


def test_interrupted_at_rest_it_refuses_the_start_and_nothing_must_recover() -> None:
    gate = Gate()
    gate.set("ray", Level.INTERRUPTED)
    gate.press(Command.CLOSE)
    assert gate.do.order is None
    gate.press(Command.OPEN)
    assert gate.do.order is OPENING, "it guards closing only"
    gate = Gate()
    gate.set("ray", Level.INTERRUPTED)
    gate.set("ray", Level.REST)
    gate.press(Command.CLOSE, 100_000)
    assert gate.do.order is CLOSING


def test_however_long_it_lasts_at_rest_it_is_no_fault() -> None:
    gate = Gate()
    gate.set("ray", Level.INTERRUPTED)
    gate.go(3_600 * S)
    assert gate.do.lockout is Lockout.NONE
    assert gate.do.wake is None


def test_interrupted_in_the_pause_it_begins_anew_at_the_end_of_it() -> None:
    gate = Gate(at=3e6)
    gate.start(Command.OPEN)
    gate.go(2 * S, at_open=True, position=4e6)
    gate.go(200_000, motion=None)
    assert gate.do.armed
    stood = gate.now
    gate.go(S)
    assert gate.do.wake == stood + 20 * S
    gate.set("ray", Level.INTERRUPTED, 5 * S)
    assert gate.do.wake == gate.now + 20 * S
    gate.go(20 * S)
    assert gate.do.mode == "at rest"
    assert gate.do.armed
    gate.set("ray", Level.REST, 5 * S)
    assert gate.do.wake == gate.now + 20 * S
    gate.go(20 * S)
    assert gate.do.mode == "warning before automatic closing"
    gate.set("ray", Level.INTERRUPTED, S)
    assert gate.do.mode == "at rest"
    assert gate.do.armed
    assert gate.do.wake == gate.now + 20 * S


def test_interrupted_in_motion_it_cancels_automatic_closing() -> None:
    gate = Gate(at=3e6)
    gate.start(Command.OPEN)
    gate.go(2 * S, at_open=True, position=4e6)
    gate.go(200_000, motion=None)
    gate.go(20 * S)
    gate.go(5 * S)
    assert gate.do.order is CLOSING
    gate.go(100_000, motion=CLOSING, at_open=False, position=3.9e6)
    gate.set("ray", Level.INTERRUPTED)
    gate.stand()
    gate.set("ray", Level.REST)
    gate.back(1.5e5)
    assert not gate.do.armed


@pytest.mark.parametrize("when", ["before", "meanwhile"])
def test_hold_to_run_obeys_a_healthy_beam_ahead(when: str) -> None:
    held = frozenset({(Command.HOLD_CLOSE, Origin.WIRED)})
    gate = Gate()
    if when == "before":
        gate.set("ray", Level.INTERRUPTED)
        assert gate.go(S, controls=held).order is None
        assert gate.dos[-4].refused[0][2:] == ("interrupted", "ray")
    else:
        assert gate.go(S, controls=held).order is CLOSING
        gate.go(100_000, motion=CLOSING)
        assert gate.set("back ray", Level.INTERRUPTED).order is CLOSING
        assert gate.set("ray", Level.INTERRUPTED).mode == "stopping hold-to-run"


def test_hold_to_run_passes_a_beam_with_a_latched_fault() -> None:
    gate = Gate()
    gate.set("ray", Level.INVALID)
    assert gate.do.lockout is Lockout.CLOSING
    assert gate.go(S, controls=frozenset({(Command.HOLD_CLOSE, Origin.WIRED)})).order is CLOSING


def test_a_test_not_answered_is_a_supervision_fault_and_stays_until_reset() -> None:
    gate = Gate()
    gate.start(Command.CLOSE)
    gate.set("ray", Level.INVALID)
    assert (gate.do.mode, gate.do.lockout, gate.do.alarm) == ("stopping to reverse", Lockout.CLOSING, False)
    assert [notice for do in gate.dos for notice in do.notices] == [("does not answer its test pulse", "ray")]
    gate.stand()
    gate.back()
    gate.press(Command.RESET)
    assert gate.do.lockout is Lockout.CLOSING, "not while it still does not answer"
    gate.set("ray", Level.REST)
    assert gate.do.lockout is Lockout.CLOSING
    gate.press(Command.RESET)
    assert gate.do.lockout is Lockout.NONE


def test_a_level_that_its_kind_does_not_have_is_a_fault() -> None:
    for device, level in (("nose", Level.INTERRUPTED), ("ray", Level.PRESSED), ("ray", Level.OPEN)):
        gate = Gate()
        gate.set(device, level)
        assert gate.do.lockout is Lockout.CLOSING, (device, level)


def test_an_interruption_bars_no_reset() -> None:
    gate = Gate()
    gate.set("nose", Level.OPEN)
    gate.set("nose", Level.REST)
    gate.set("ray", Level.INTERRUPTED)
    gate.press(Command.RESET)
    assert gate.do.lockout is Lockout.NONE


def test_table_and_library_agree_on_a_story() -> None:
    def told(by_library: bool) -> list[ControllerDo]:
        gate = Gate(ReferenceController(by_library=by_library))
        for _ in range(2):
            gate.start(Command.CLOSE)
            gate.set("ray", Level.INTERRUPTED)
            gate.set("nose", Level.PRESSED)
            gate.go(200_000, motion=None)
            gate.set("nose", Level.REST, 200_000)
            gate.set("ray", Level.REST)
            if gate.do.order:
                gate.back()
            gate.go(4 * S)
        return gate.dos

    assert told(True) == told(False)
    assert told(True)[-1].lockout is Lockout.ENTRAPMENT
