"""A run as waveforms, read back by vcdvcd, which is none of ours and has nothing to do with what wrote them."""

from __future__ import annotations

import math
import re
import signal
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from gatesim import events as e
from gatesim.cli import known
from gatesim.report.lanes import story_of
from gatesim.report.signals import SAMPLE, signals_of
from gatesim.report.waves import plain, vcd_of
from gatesim.run import RunResult, default_roles, run_scenario
from gatesim.trace import Section

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def ran(name: str) -> RunResult:
    return run_scenario(known.scenario(SCENARIOS / f"{name}.scenario.yaml"), default_roles())


@pytest.fixture(scope="module")
def run() -> RunResult:
    return ran("first-look")


@pytest.fixture(scope="module")
def waves(run) -> Any:
    return read(run)


def read(run: RunResult) -> Any:
    """By vcdvcd.  Its import lets a closed pipe end the process; that is taken back, for the sake of other tests."""
    before = signal.getsignal(signal.SIGPIPE)
    from vcdvcd import VCDVCD

    signal.signal(signal.SIGPIPE, before)
    return VCDVCD(vcd_string=vcd_of(run).decode("ascii"))


def test_a_closed_pipe_ends_no_process_of_the_tests(waves) -> None:
    assert signal.getsignal(signal.SIGPIPE) is signal.SIG_IGN


def whole(bits: str, size: int = 32) -> int:
    """A two's complement of leading bits left out."""
    number = int(bits, 2)
    return number - (1 << size) if number >> (size - 1) else number


def at(waves: Any, name: str, now: int) -> str:
    """What a reader says of a signal at an instant."""
    value: Any = waves[name][now]
    return str(value)


def test_the_time_step_is_a_microsecond_and_the_end_is_there(run, waves) -> None:
    assert waves.timescale["unit"] == "us"
    assert waves.timescale["magnitude"] == 1
    assert (waves.begintime, waves.endtime) == (0, run.scenario.ends)


def test_position_and_speed_are_those_of_the_trace(run, waves) -> None:
    """Calculated here from the pieces of motion, x + v t + a t^2 / 2, at 2,000 instants on the samples."""
    pieces = [(t, one.x, one.v, one.a) for t, one in run.sections[0].events if type(one) is e.MotionChanged]
    for now in range(0, int(run.scenario.ends), 3 * SAMPLE):
        since, x, v, a = [piece for piece in pieces if piece[0] <= now][-1]
        t = now - since
        for name, value in (("position_um", x + v * t + a * t * t / 2), ("speed_um_per_s", (v + a * t) * 1e6)):
            got = whole(at(waves, f"gate.leaf.{name}", now).zfill(32))
            assert abs(got - value) <= 0.5 + 1e-6, (now, name)


def test_the_force_is_known_where_the_trace_tells_it(run, waves) -> None:
    known_force = story_of(run.sections[0].events, run.scenario.site).forces["test block"]
    times = [round(one) for one in known_force.times]
    last = {now: force for now, (force, _) in zip(times, known_force.known, strict=True)}
    assert max(last.values()) > 100_000
    for now, force in last.items():
        assert abs(whole(at(waves, "gate.obstructions.test_block.force_mN", now).zfill(32)) - force) <= 1
    assert whole(at(waves, "gate.obstructions.test_block.force_mN", int(run.scenario.ends))) == 0


def test_what_happens_is_there_to_the_microsecond(run, waves) -> None:
    events = run.sections[0].events
    pressed = [round(t) for t, one in events if type(one) is e.EdgeActuated and one.edge == "front edge"]
    assert [now for now, value in waves["gate.edges.front_edge.pressed"].tv if value == "1"] == pressed
    sent = [round(t) for t, one in events if type(one) is e.FrameSent and one.transmitter == "front transmitter"]
    assert [now for now, value in waves["gate.radio.front_transmitter.sent_count"].tv if value != "0"] == sent
    orders = [(round(t), one.order) for t, one in events if type(one) is e.OrdersChanged]
    numbers = {None: 0, e.Direction.OPENING: 1, e.Direction.CLOSING: 2}
    for now, order in dict(orders).items():
        assert int(at(waves, "gate.controller.order", now), 2) == numbers[order]


def test_what_was_not_told_is_unknown(waves) -> None:
    assert at(waves, "gate.leaf.limit_open", 0) == "x"
    assert at(waves, "gate.controller.start_test_passed", 0) == "x"
    assert at(waves, "gate.edges.front_edge.pressed", 0) == "0"


def test_numbers_of_words_stand_in_the_comment(run) -> None:
    text = vcd_of(run).decode()
    comment = text[: text.index("$end")]
    assert "controller.order, leaf.moves: 0 none, 1 opening, 2 closing" in comment
    assert "controller.mode: 0 at rest, 1 testing before a move," in comment
    assert "Of a model" in comment


def test_the_same_run_gives_the_same_bytes_without_a_date(run) -> None:
    assert vcd_of(run) == vcd_of(ran("first-look"))
    assert b"$date" not in vcd_of(run)


def test_instants_are_whole_and_rise(run) -> None:
    stamps = [line[1:] for line in vcd_of(run).decode().splitlines() if line.startswith("#")]
    assert all(stamp.isdecimal() for stamp in stamps)
    assert all(one < two for one, two in pairwise(map(int, stamps)))


@pytest.mark.parametrize("name", ["two-leaves-contact-on-second", "beam-then-edge", "cell-critical", "open-opening",
                                  "alarm-and-power", "healthy-both-ways"])
def test_other_sites_are_read_and_nothing_is_left_over(name) -> None:
    run = ran(name)
    found = read(run)
    assert found.endtime == run.scenario.ends
    assert not [one for one in found.signals if one.startswith("gate.other.")]
    assert ("gate.second_leaf.position_um" in found.signals) is (run.scenario.site.second_leaf is not None)


def test_a_loop_without_end_has_no_value(run) -> None:
    events = (e.Stamped(5.0, e.LoopChanged("front edge", math.inf)), e.Stamped(9.0, e.LoopChanged("front edge", 2.0)))
    found = read(run._replace(sections=(Section(e.Run.WHOLE, 0, None, events, 20.0),)))
    assert [value for _, value in found["gate.edges.front_edge.loop_mohm"].tv][1:] == ["z", f"{2000:b}"]


HOSTILE = ("$end $var wire 1 ! x $end", "a.b[3] c", "\x1b[31m\n#99\n", "\u202eevil", "", "7up", "x" * 5_000,
           "<img onerror=1>")


def test_names_and_texts_of_any_kind_break_nothing(run) -> None:
    made = [e.Stamped(float(k), e.EdgeActuated(name, e.Direction.CLOSING, 0.0)) for k, name in enumerate(HOSTILE)]
    made += [e.Stamped(50.0, e.Announced(name, name)) for name in HOSTILE]
    made += [e.Stamped(60.0, e.WireDisturbed(name, name, e.Guard.BOTH, e.FoundBy.NEVER)) for name in HOSTILE]
    made += [e.Stamped(70.0, e.OrdersChanged(None, *[False] * 2, e.Brake.HOLD, False, e.Lockout.NONE, False, name))
             for name in HOSTILE]
    plainer = read(run._replace(sections=(Section(e.Run.WHOLE, 0, None, (), 99.0),)))
    hostile = run._replace(scenario=replace(run.scenario, title="".join(HOSTILE)),
                           sections=(Section(e.Run.WHOLE, 0, None, tuple(made), 99.0),))
    found = read(hostile)
    assert len([one for one in found.signals if ".edges." in one and one.endswith(".pressed")]) == len(
        [one for one in plainer.signals if ".edges." in one and one.endswith(".pressed")]) + len(HOSTILE)
    assert all(re.fullmatch(r"[A-Za-z0-9_.]+", one) for one in found.signals)
    assert found.endtime == 99
    text = vcd_of(hostile).decode()
    assert text.isascii()
    assert all(character == "\n" or character == "\t" or character.isprintable() for character in text)


def test_text_that_could_end_a_comment() -> None:
    assert plain("$end \\ \n\u202eå ok") == "<24>end <5c> <a><202e><e5> ok"


def test_two_devices_of_like_names_stay_two(run) -> None:
    events = tuple(e.Stamped(1.0, e.BeamInterrupted(name, e.Direction.CLOSING, "b")) for name in ("a b", "a_b"))
    found = read(run._replace(sections=(Section(e.Run.WHOLE, 0, None, events, 20.0),)))
    assert {one for one in found.signals if ".beams." in one} == {"gate.beams.a_b.interrupted",
                                                                 "gate.beams.a_b_2.interrupted"}


def test_an_event_without_a_signal_of_its_own_is_counted(run) -> None:
    class Odd(NamedTuple):
        what: str

    found = list(signals_of((e.Stamped(3.0, Odd("a")), e.Stamped(4.0, Odd("b"))), run.scenario.site, 9.0))
    (odd,) = [one for one in found if one.scope == ("other",)]
    assert (odd.name, odd.values) == ("Odd_count", [(3, 1), (4, 2)])


def test_without_pyvcd_it_is_said_which_extra_is_missing(monkeypatch, tmp_path, capsys) -> None:
    from gatesim.cli.main import serve

    monkeypatch.setitem(sys.modules, "vcd", None)
    made = tmp_path / "w.vcd"
    assert serve(["run", str(SCENARIOS / "first-look.scenario.yaml"), "--vcd", str(made)]) == 2
    said = capsys.readouterr()
    assert (said.out, made.exists()) == ("", False)
    assert "pip install 'gatesim[vcd]'" in said.err


def test_the_command_writes_the_file(tmp_path, capsys, run) -> None:
    from gatesim.cli.main import serve

    made = tmp_path / "w.vcd"
    assert serve(["run", str(SCENARIOS / "first-look.scenario.yaml"), "--vcd", str(made)]) == 0
    assert f"written: {made}" in capsys.readouterr().err
    assert made.read_bytes() == vcd_of(run)
