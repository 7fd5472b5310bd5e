"""The process image: every write whole or not, inputs and outputs as the contract has them."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.bench.shapes import nothing_done
from gatesim.bench.wire import points as p
from gatesim.bench.wire.image import Image, WireController
from gatesim.bench.wire.modbus import Refused, answer
from gatesim.bench.wire.peer import Outputs, seen_of
from gatesim.cli import known
from gatesim.errors import LogicError
from gatesim.events import Brake, Command, Direction, Level, Lockout, Origin
from gatesim.plant.logic.contract import ControllerSeen, Report
from gatesim.plant.operator import controller_settings

SITES = Path(__file__).parents[3] / "scenarios" / "sites"
SETTINGS = controller_settings(known.site(SITES / "ferry-steps.site.yaml"))
DEVICES = tuple(edge.edge for edge in SETTINGS.edges)
FLAG = st.booleans()
MICROMETRES = st.integers(-(2**31), 2**31 - 1).map(float)


@pytest.fixture
def image() -> Image:
    made = Image(SETTINGS)
    made.power_up(None)
    return made


def seen(**given) -> ControllerSeen:
    reports = tuple(Report(device, Level.REST, True, True, False, False, 0) for device in DEVICES)
    plain = ControllerSeen(frozenset(), False, False, reports, False, True, 0.0, True, None, False, False, False, False)
    return plain._replace(**given)


def coils(*on: str) -> list[bool]:
    return [name in on for name in p.COIL_NAMES]


def test_turning_round_in_one_write_is_never_both(image) -> None:
    image.write_bits(0, coils("order open", "main shut-off"))
    assert image.do().order is Direction.OPENING
    assert answer(bytes.fromhex("0F 0000 0002 01 02"), image)[0] == 15
    assert image.do().order is Direction.CLOSING


def test_both_directions_are_told_as_what_they_are(image) -> None:
    image.write_bits(0, coils("order open"))
    image.write_bits(1, [True])
    with pytest.raises(LogicError, match="both directions at once"):
        image.do()


def test_a_refused_write_changes_nothing(image) -> None:
    before = image.outputs.copy()
    with pytest.raises(Refused):
        image.write_words(0, [1, 1, 0, 99])
    assert (image.outputs, image.beats, image.changes) == (before, 0, 0)


def test_the_heartbeat_is_no_output(image) -> None:
    image.write_words(p.HEARTBEAT, [7])
    image.write_words(p.HEARTBEAT, [7])
    image.write_bits(7, [True])
    assert (image.beats, image.changes) == (2, 0)
    image.write_bits(5, [True])
    assert (image.beats, image.changes) == (2, 1)


def test_every_output_arrives(image) -> None:
    image.write_words(0, [0b1111110, 1, 0, 4, 12, 3])
    assert image.do() == nothing_done("controller", SETTINGS)._replace(
        order=Direction.CLOSING, slow=True, main=True, brake=Brake.RELEASE, alarm=True, armed=True,
        lockout=Lockout.ENTRAPMENT, mode="mode 12", ask=3)


def test_coils_and_the_word_are_the_same(image) -> None:
    image.write_words(p.ORDERS, [0b10101])
    assert image.read_bits(p.Table.COIL, 0, 6) == [True, False, True, False, True, False]


def test_the_supply_takes_the_outputs_away(image) -> None:
    image.write_words(0, [0b1001, 1, 1])
    image.power_up(b"kept")
    assert image.do() == nothing_done("controller", SETTINGS)._replace(keep=b"kept")


def test_what_was_told_of_a_lockout_stands_until_the_controller_speaks(image) -> None:
    image.write_words(0, [0, 1, 1, 4])
    image.power_up(b"kept")
    assert image.do().lockout is Lockout.ENTRAPMENT
    image.write_words(0, [0, 2, 2, 0])
    assert image.do().lockout is Lockout.NONE
    image.write_words(p.LOCKOUT, [2])
    image.run_begins()
    assert image.do().lockout is Lockout.NONE


def test_outputs_of_before_the_power_loss_do_not_count(image) -> None:
    image.write_words(p.POWER_UP_SEEN, [1])
    image.power_up(b"old")
    image.write_words(0, [1])
    image.write_words(p.STORE_LENGTH, [0])
    assert (image.do().order, image.do().keep) == (None, b"old")
    image.write_words(0, [1, 5, 2])
    assert image.do().order is Direction.OPENING


def test_the_store_is_kept_when_its_length_is_written(image) -> None:
    image.write_words(p.STORE, [0x6162, 0x6300])
    assert image.do().keep == b""
    image.write_words(p.STORE_LENGTH, [3])
    assert image.do().keep == b"abc"


def test_what_was_kept_is_shown(image) -> None:
    image.power_up(b"abc")
    words = image.read_words(p.Table.INPUT, image.map.kept_at, 2)
    assert (words, image.inputs[p.KEPT_LENGTH]) == ([0x6162, 0x6300], 3)


def test_messages_are_told_once(image) -> None:
    out = Outputs(DEVICES)
    said = nothing_done("controller", SETTINGS)._replace(
        notices=(("battery low", DEVICES[0]), ("a word of its own", "")),
        refused=((Command.CLOSE, Origin.RADIO, "why", "force sensing"),), tested=((Direction.CLOSING, True),))
    out.put(said)
    image.write_words(0, out.words)
    told = image.do()
    assert told.notices == (("battery low", DEVICES[0]), ("something else", ""))
    assert told.refused == ((Command.CLOSE, Origin.RADIO, "as the controller says", "force sensing"),)
    assert told.tested == ((Direction.CLOSING, True),)
    assert image.do().notices == ()


def test_of_too_many_messages_the_last_stand(image) -> None:
    out = Outputs(DEVICES)
    out.put(nothing_done("controller", SETTINGS)._replace(notices=(("battery low", DEVICES[0]),) * 5))
    out.put(nothing_done("controller", SETTINGS)._replace(notices=(("about to close", ""),) * 6))
    image.write_words(0, out.words)
    assert [text for text, _ in image.do().notices] == ["battery low"] * 2 + ["about to close"] * 6


@given(words=st.lists(st.integers(0, 65535), min_size=48, max_size=48))
def test_any_registers_are_answered_within_the_contract(words) -> None:
    image = Image(SETTINGS)
    image.power_up(None)
    try:
        image.write_words(0, words)
    except Refused:
        return
    try:
        do = image.do()
    except LogicError:
        assert words[0] & 3 == 3
        return
    assert len(do.notices) + len(do.refused) + len(do.tested) <= p.MESSAGE_PLACES
    assert {device for _, device in do.notices} <= {"", *DEVICES, *p.PLACES}


REPORTS = st.tuples(*(st.builds(Report, st.just(device), st.sampled_from(Level), FLAG, FLAG, FLAG, FLAG,
                                st.integers(0, 65535), FLAG) for device in DEVICES))
SEEN = st.builds(
    ControllerSeen, st.frozensets(st.tuples(st.sampled_from(Command), st.sampled_from(Origin))), FLAG, FLAG, REPORTS,
    FLAG, FLAG, MICROMETRES, FLAG, st.none() | st.sampled_from(Direction), FLAG, FLAG, FLAG, FLAG)


@given(SEEN)
def test_the_image_goes_over_the_wire_whole(shown) -> None:
    image = Image(SETTINGS)
    image.show(shown)
    image.show_now(5, shown.position, going=True, supply=shown.supply_good)
    words = image.read_words(p.Table.INPUT, 0, image.map.kept_at)
    assert seen_of(image.map, words) == shown
    assert image.read_bits(p.Table.DISCRETE, 0, 2) == [True, shown.supply_good]


@given(st.integers(0, 2**63), st.floats(-2e6, 2e6))
def test_time_and_position_are_whole_and_rounded_half_up(now, position) -> None:
    image = Image(SETTINGS)
    image.show_now(now, position, going=True, supply=True)
    words = image.read_words(p.Table.INPUT, p.RUN_TIME, 6)
    assert sum(word << 16 * k for k, word in enumerate(reversed(words[:4]))) == now
    at = words[4] << 16 | words[5]
    assert abs(at - (at >> 31 << 32) - position) <= 0.5


def test_the_controller_is_shown_and_asked() -> None:
    controller = WireController(Image(SETTINGS))
    state, do = controller.start(SETTINGS, b"kept")
    assert (do.order, do.keep, controller.power_cycles) == (None, b"kept", False)
    controller.image.write_bits(1, [True])
    state, do = controller.step(state, seen(at_open=True), 5)
    assert (do.order, do.wake, state.copy() is state) == (Direction.CLOSING, None, True)
    assert controller.image.read_bits(p.Table.DISCRETE, 2, 2) == [False, True]


@pytest.mark.parametrize("site", sorted(SITES.glob("*.yaml")), ids=lambda path: path.name)
def test_every_site_has_a_wiring_without_overlap(site) -> None:
    found = p.wiring(controller_settings(known.site(site)))
    taken = [(point.table, at) for point in found.points for at in range(point.address, point.address + point.size)]
    assert len(taken) == len(set(taken))
    for table in p.Table:
        assert max(at for one, at in taken if one is table) < found.size(table)
    assert found.kept_at <= 125  # all inputs but the store in one request


def test_another_site_has_another_hash() -> None:
    given = [controller_settings(known.site(site)) for site in SITES.glob("*.yaml")]
    told = {tuple((edge.edge, edge.kind, edge.direction) for edge in one.edges) for one in given}
    assert len({p.wiring(one).digest for one in given}) == len(told) > 1


def test_the_hash_knows_which_way_an_edge_guards() -> None:
    turned = tuple(edge._replace(direction=edge.direction.other) for edge in SETTINGS.edges)
    assert p.wiring(SETTINGS._replace(edges=turned)).digest != p.wiring(SETTINGS).digest
