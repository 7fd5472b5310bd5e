"""Renderers over hand-made results: honest counting, figures, the matrix, the cells of a trace."""

from __future__ import annotations

from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from gatesim import events as e
from gatesim.cli import known
from gatesim.errors import Trouble
from gatesim.events import Direction, FoundBy, Stamped
from gatesim.report import check_text, matrix, run_text
from gatesim.report.careful import Careful
from gatesim.report.cells import CELLS, Cell, Phase, State, witnessed
from gatesim.report.check_json import scenario_object
from gatesim.report.figures import figures, margin, quantity
from gatesim.report.judged import Judged, JudgedRow, Proof, Residual, closest, summary
from gatesim.report.plain import Plain
from gatesim.report.replay import Player
from gatesim.requirements.verdict import Figures, Measure, Outcome, Verdict

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
NOTHING = Figures(None, None, None)


def _row(outcome: Outcome, figured: Figures = NOTHING, **more: Any) -> JudgedRow:
    requirement = known.requirements()["reversal-begun"]
    given = {"expected": None, "differs": False, "why": "", "profile": "two means", "evidence": ()} | more
    return JudgedRow(requirement, Verdict(outcome, figured), **given)


def _page(draw: Any, *args: Any, width: int = 100) -> str:
    page = StringIO()
    draw(Console(file=page, width=width, highlight=False, color_system=None), *args)
    return page.getvalue()


GOOD = Judged("a", "A", 1, (_row(Outcome.PASS, Figures(500_000, 2_000_000, 1_500_000), expected="pass"),))
BAD = Judged(
    "b",
    "B",
    1,
    (
        _row(
            Outcome.FAIL,
            Figures(2_500_000, 2_000_000, -500_000),
            differs=True,
            expected="pass",
            why="failed: too late",
            evidence=(Proof(1_500_000, "gate", "touches the block", "{}"),),
        ),
    ),
)
IDLE = Judged(
    "c", "C", 1, (_row(Outcome.NOT_EXERCISED),), residual=(Residual("x-swapped", "X swapped", FoundBy.NEVER),)
)
ERROR = Judged("d", None, None, errors=(Trouble("d", 3, 7, "unknown key 'titel'", "did you mean title?"),))


@pytest.mark.parametrize(
    ("value", "measure", "said"),
    [
        (312_400, Measure.US, "312.4 ms"),
        (-1, Measure.US, "-0.0 ms"),
        (12_345_000, Measure.US, "12.345 s"),
        (30 * 86_400_000_000, Measure.US, "30.0 days"),
        (18_000, Measure.UM, "18.0 mm"),
        (400_000, Measure.MN, "400.0 N"),
        (3, Measure.ONE, "3"),
    ],
)
def test_figures_carry_their_unit(value, measure, said) -> None:
    assert quantity(value, measure) == said


def test_a_margin_shows_its_sign() -> None:
    assert margin(5, Measure.ONE) == "+5"
    assert figures(Figures(3, 5, 2), Measure.ONE) == "measured 3, limit 5, margin +2"
    assert figures(Figures(None, None, None), Measure.US) == ""


def test_counts_add_up() -> None:
    assert summary([GOOD, BAD, IDLE, ERROR]) == (2, 1, 1)


def test_text_says_all_of_a_difference_and_never_a_pass_for_what_was_not_run() -> None:
    page = _page(check_text.draw, [GOOD, BAD, IDLE, ERROR], None, False)
    assert "DIFFERS      b" in page
    assert "expected pass, got fail" in page
    assert "measured 2500.0 ms, limit 2000.0 ms, margin -500.0 ms" in page
    assert "1.500 s  gate        touches the block" in page
    assert "d:3:7: unknown key 'titel'; did you mean title?" in page
    assert "RESIDUAL RISK" in page
    assert "x-swapped: X swapped; found never (c)" in page
    assert "2 as expected, 1 differ, 1 error; seed 1" in page
    idle = _page(run_text.draw_verdicts, IDLE, False)
    assert "so not shown to hold (1): reversal-begun" in idle
    assert "pass" not in idle


def test_colour_is_never_the_only_signal() -> None:
    page = StringIO()
    check_text.draw(Console(file=page, width=100, force_terminal=True, color_system="standard"), [BAD], None, False)
    assert "\x1b[" in page.getvalue()
    assert "DIFFERS" in page.getvalue()


def test_the_closest_is_a_pass_nearest_to_its_limit() -> None:
    near = _row(Outcome.PASS, Figures(1_900_000, 2_000_000, 100_000))
    assert closest([*GOOD.rows, near, *BAD.rows, *IDLE.rows]) is near
    assert closest([*BAD.rows, *IDLE.rows]) is None


def test_times_stay_null_where_nothing_was_measured() -> None:
    verdict = scenario_object(IDLE)["verdicts"][0]
    assert (verdict["measured_us"], verdict["limit_us"], verdict["outcome"]) == (None, None, "not exercised")
    assert scenario_object(ERROR)["errors"] == [
        {"file": "d", "line": 3, "column": 7, "message": "unknown key 'titel'", "hint": "did you mean title?"}
    ]


CELL = Cell(State.OPEN, Direction.CLOSING, Phase.MID_TRAVEL)


def test_a_claim_that_the_trace_does_not_show_is_no_cover() -> None:
    shown = GOOD._replace(claims=(str(CELL),), witnessed=frozenset({CELL}))
    claimed = GOOD._replace(claims=(str(CELL), "nonsense"))
    covered = matrix.cover([shown, claimed])
    assert covered[CELL] == ((1,), (2,))
    assert len(covered) == len(CELLS) == 60
    page = _page(matrix.draw, [shown, claimed, BAD, ERROR])
    assert "1 of 60 cells covered" in page
    assert "no such cell: 'nonsense'" in page
    assert "1 2?" in page
    line = next(line for line in page.splitlines() if line.startswith("reversal-begun"))
    assert line.split()[1:] == ["P", "P", "F"]


def _closing(site: Any, *events: tuple[float, Any]) -> frozenset[Cell]:
    travel = site.gate.travel
    move = [
        Stamped(0, e.CommandPressed(e.Command.CLOSE, e.Origin.WIRED)),
        Stamped(1, e.LeafStarted(Direction.CLOSING, travel)),
        Stamped(1, e.MotionChanged(travel, -0.2, 0.0, Direction.CLOSING)),
    ]
    return witnessed([*move, *(Stamped(at, event) for at, event in events)], site)


@pytest.fixture
def site() -> Any:
    from pathlib import Path

    return known.site(Path(__file__).parents[2] / "scenarios" / "sites" / "mill-lane.site.yaml")


@pytest.mark.parametrize(("share", "phase"), [(0.02, Phase.START), (0.5, Phase.MID_TRAVEL), (0.97, Phase.LAST)])
@pytest.mark.parametrize(
    ("ohm", "state"),
    [(1e9, State.OPEN), (12_000.0, State.OUT_OF_BAND), (5_000.0, State.OUT_OF_BAND), (0.3, State.SHORT)],
)
def test_cells_are_read_from_what_happened(site, share, phase, ohm, state) -> None:
    edge = next(edge for edge in site.edges if edge.name == "front edge")
    at = 1 + share * site.gate.travel / 0.2
    cells = _closing(site, (at, e.LoopChanged(edge.name, ohm)))
    assert {cell for cell in cells if cell.state is not State.HEALTHY} == {Cell(state, Direction.CLOSING, phase)}


def test_a_pressed_edge_is_no_short(site) -> None:
    at = 1 + 0.5 * site.gate.travel / 0.2
    cells = _closing(
        site, (at, e.EdgeActuated("front edge", Direction.CLOSING, 1.0)), (at, e.LoopChanged("front edge", 118.6))
    )
    assert all(cell.state is State.HEALTHY for cell in cells)


def test_moving_back_unasked_is_a_reversal(site) -> None:
    middle = site.gate.travel / 2
    at = 1 + middle / 0.2
    cells = _closing(
        site,
        (at, e.LeafStopped(middle)),
        (at + 1, e.LeafStarted(Direction.OPENING, middle)),
        (
            at + 2,
            e.WireDisturbed(
                "radio path of front transmitter", "front transmitter", e.Guard.CLOSING, FoundBy.NEXT_CHECK_IN
            ),
        ),
    )
    assert Cell(State.LOST_LINK, Direction.OPENING, Phase.REVERSAL) in cells


def test_the_story_sums_frames_and_keeps_time_in_order(site) -> None:
    frames = [Stamped(1e6 * n, e.FrameSent("t", n, n, (e.Level.REST,), "check-in")) for n in range(1, 6)]
    end = Stamped(9e6, e.PowerLost())
    brief = list(run_text.story([*frames, end], site, False))
    assert [line.sentence for line in brief] == ["t: 5 frames sent, 0 heard", "the operator's supply is lost"]
    full = list(run_text.story([*frames, end], site, True))
    assert len(full) == 6
    assert [line.at for line in full] == sorted(line.at for line in full)


def test_the_strip_follows_the_leaf() -> None:
    leaf = run_text.Leaf(12e6, 0)
    assert leaf.strip(0) == "|#...........|"
    leaf.see(0, e.MotionChanged(0.0, 1.0, 0.0, Direction.OPENING))
    assert leaf.strip(6.5e6) == "|......>.....|"


def test_two_leaves_have_a_strip_each_and_are_named() -> None:
    court = known.site(SITES / "foundry-court.site.yaml")
    moved = [
        Stamped(0, e.LeafStarted(Direction.OPENING, 0.0)),
        Stamped(0, e.MotionChanged(0.0, 0.2, 0.0, Direction.OPENING)),
        Stamped(6e6, e.MotionChanged(0.0, 0.2, 0.0, Direction.OPENING, e.LeafName.SECOND)),
        Stamped(9e6, e.LimitReached(e.Side.OPEN, e.LeafName.SECOND)),
        Stamped(9e6, e.PowerLost()),
    ]
    lines = list(run_text.story(moved, court, False))
    assert lines[0].sentence == "first leaf: begins opening at 0 mm"
    assert lines[-2].sentence == "second leaf: reaches the open limit switch"
    assert lines[-1].sentence == "the operator's supply is lost"
    assert lines[-1].strip == "|.........>..| |....>.......|"
    page = _page(run_text.draw_story, lines, width=80)
    assert "|.........>..| |....>.......|  gate        second leaf: reaches" in page


def test_a_cell_of_the_matrix_is_that_of_the_device_s_leaf() -> None:
    court = known.site(SITES / "foundry-court.site.yaml")
    moves = [
        Stamped(0, e.MotionChanged(1.2e6, -0.18, 0.0, Direction.CLOSING, e.LeafName.SECOND)),
        Stamped(0, e.LeafStarted(Direction.CLOSING, 1.2e6, e.LeafName.SECOND)),
    ]
    opened = Stamped(1e6, e.LoopChanged("second front edge", 1e9))
    assert Cell(State.OPEN, Direction.CLOSING, Phase.MID_TRAVEL) in witnessed([*moves, opened], court)
    # A fault of the leaf that stands happens while the other one moves.
    other = Stamped(1e6, e.LoopChanged("first front edge", 1e9))
    assert Cell(State.OPEN, Direction.CLOSING, Phase.MID_TRAVEL) in witnessed([*moves, other], court)
    assert Cell(State.OPEN, Direction.CLOSING, Phase.AT_REST) in witnessed([other], court)


def test_the_player_hides_the_cause_and_goes_both_ways() -> None:
    lines = [
        run_text.Line(t * 1e6, "", who, said, False)
        for t, who, said in ((0, "gate", "g"), (1, "wire", "w"), (2, "gate", "h"))
    ]
    player = Player(lines, "verdict!", hidden=True)
    assert player.forth().endswith("g")
    assert player.pause(2.0) == 1.0
    assert player.forth().endswith("h")
    assert player.back().endswith("g")
    assert "hidden" in player.end()
    player.forth()
    assert player.reveal().endswith("w")
    assert player.end() == "verdict!"


def test_a_plain_page_is_what_rich_would_print() -> None:
    title = "Tab\there, [bold]no markup[/bold], bell\x07, \x1b[31m, \u202e, ü"
    odd = Judged("e[x].yaml", title, 1, (), (Trouble("e", 1, 2, "[a]", "x\ty"),))
    results = [GOOD, BAD, IDLE, ERROR, odd]
    page = Plain()
    for loud in (False, True):
        check_text.draw(page, results, None, loud)
    rich = StringIO()
    for loud in (False, True):
        check_text.draw(Careful(file=rich, width=60, highlight=False, emoji=False), results, None, loud)
    assert page.text() == rich.getvalue()
