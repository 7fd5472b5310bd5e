"""The watchdog's bounds, proved by an SMT solver and by an explicit-state checker, and met by the receiver.

P period, J jitter on an absolute grid (it does not add up), D spread of the delay, T watchdog, k - 1 losses in a row.

- No trip while the node lives, if and only if T >= k P + J + D.
- After the node's death the watchdog trips at the latest T + D - j P + (J if j >= 1) later, j being the frames lost
  just before it.  (Of a cut path: T, and D more where a frame in flight survives.)

Own derivation, no published source.  z3 proves both for all P, J, D, T (symbols, k and j given) and gives the schedule
that misses a bound one tick too tight; the reference receiver is then run on that schedule.  spin explores
`watchdog.pml`, a model written for the purpose, in whole ticks.  z3 is the solver of the package z3-solver; spin is the
checker of the Debian package of that name.  Where spin or a C compiler is not installed its tests are skipped by name;
under CI=true they fail instead.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import z3

from gatesim.events import Level
from gatesim.plant.logic.contract import Frame, Paired, ReceiverSeen, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReferenceReceiver
from gatesim.scenario.check_site import warnings_of
from gatesim.scenario.read import read_site

MODEL = Path(__file__).parent / "watchdog.pml"
SITES = Path(__file__).parents[2] / "scenarios" / "sites"


def no_nuisance(p: Any, j: Any, d: Any, k: int) -> Any:
    """The least watchdog that never trips on k - 1 losses in a row."""
    return k * p + j + d


def latest(t: Any, p: Any, j: Any, d: Any, lost: int) -> Any:
    """How long after the node's death the watchdog trips at the latest."""
    return t + d - lost * p + (j if lost else 0)


class Link(NamedTuple):
    """Symbols of one schedule: check-ins and delays of so many frames, each heard or lost."""

    p: Any
    j: Any
    d: Any
    t: Any
    sent: list[Any]
    heard_at: list[Any]
    lost: list[Any]
    rules: list[Any]


def link(frames: int, k: int) -> Link:
    """Frame 0 is heard; later ones may be lost, at most k - 1 in a row; no frame overtakes another (J + D < P)."""
    p, j, d, t = z3.Ints("P J D T")
    late = [z3.Int(f"late{n}") for n in range(frames)]
    delay = [z3.Int(f"delay{n}") for n in range(frames)]
    lost = [z3.Bool(f"lost{n}") for n in range(frames)]
    rules = [j >= 0, d >= 0, j + d < p, t > 0, z3.Not(lost[0])]
    for n in range(frames):
        rules += [late[n] >= 0, late[n] <= j, delay[n] >= 0, delay[n] <= d]
        if n + k <= frames:
            rules.append(z3.Not(z3.And(*lost[n:n + k])))
    sent = [n * p + late[n] for n in range(frames)]
    return Link(p, j, d, t, sent, [sent[n] + delay[n] for n in range(frames)], lost, rules)


def trips(made: Link) -> Any:
    """Some frame that is heard comes after the watchdog that the one heard before it armed."""
    expiry, found = made.heard_at[0] + made.t, []
    for n in range(1, len(made.sent)):
        found.append(z3.And(z3.Not(made.lost[n]), made.heard_at[n] > expiry))
        expiry = z3.If(made.lost[n], expiry, made.heard_at[n] + made.t)
    return z3.Or(*found)


def solved(*rules: Any) -> Any:
    """A model, or None where there is none; anything else is no answer."""
    solver = z3.Solver()
    solver.set("timeout", 60_000)
    solver.add(*rules)
    answer = solver.check()
    assert answer in (z3.sat, z3.unsat), f"z3 says {answer}: {solver.reason_unknown()}"
    return solver.model() if answer == z3.sat else None


def receiver_trips(heard_at: Sequence[int], t: int, until: int) -> list[int]:
    """When the reference receiver takes its report for not fresh, hearing a good frame at each of these instants."""
    role = ReferenceReceiver()
    state, do = role.start(ReceiverSettings((Paired("tx", 7, ("edge",), False),), t, t, 8), None)
    coming, found = list(heard_at), []
    while True:
        instants = [at for at in (coming[0] if coming else None, do.wake) if at is not None and at <= until]
        if not instants:
            return found
        now, frames = min(instants), ()
        if coming and coming[0] == now:
            n = len(heard_at) - len(coming)
            frames = (Frame(7, 1, n % 256, n, (Level.REST,), False, False, 0, True),)
            coming.pop(0)
        fresh = do.reports[0].fresh
        state, do = role.step(state, ReceiverSeen(frames, False, 0), now)
        if fresh and not do.reports[0].fresh:
            found.append(int(now))


def numbers(model: Any, *symbols: Any) -> list[int]:
    return [model.eval(one, model_completion=True).as_long() for one in symbols]


@pytest.mark.slow
@pytest.mark.parametrize("k", [1, 2, 3, 4])
def test_z3_no_nuisance_for_every_period_jitter_and_delay(k) -> None:
    made = link(k + 2, k)
    bound = no_nuisance(made.p, made.j, made.d, k)
    assert solved(*made.rules, made.t >= bound, trips(made)) is None
    # One less, and there is a schedule; the receiver trips on it, and does not with the bound itself.
    model = solved(*made.rules, made.t == bound - 1, made.p > 5, made.j > 0, made.d > 0, trips(made))
    assert model is not None
    heard_at = [at for at, lost in zip(numbers(model, *made.heard_at), made.lost, strict=True)
                if not z3.is_true(model.eval(lost, model_completion=True))]
    (t,) = numbers(model, made.t)
    assert receiver_trips(heard_at, t, heard_at[-1])
    assert not receiver_trips(heard_at, t + 1, heard_at[-1])


def test_z3_gives_the_figures_known_from_elsewhere() -> None:
    """P 1000, J 50, D 20, k 3: 3070 is safe and 3069 is not."""
    made = link(6, 3)
    fixed = [*made.rules, made.p == 1000, made.j == 50, made.d == 20]
    assert no_nuisance(1000, 50, 20, 3) == 3070
    assert solved(*fixed, made.t == 3070, trips(made)) is None
    assert solved(*fixed, made.t == 3069, trips(made)) is not None


def death(made: Link, lost: int) -> tuple[list[Any], Any]:
    """The node dies once the last frame was sent, the last `lost` ones lost; how long until the watchdog trips."""
    last = len(made.sent) - 1
    died = z3.Int("died")
    ends = [z3.Not(made.lost[last - lost]), *made.lost[last - lost + 1:]]
    return [*made.rules, *ends, died >= made.sent[last]], made.heard_at[last - lost] + made.t - died


@pytest.mark.slow
@pytest.mark.parametrize("lost", [0, 1, 2])
def test_z3_latest_detection_of_a_dead_node(lost) -> None:
    k = 3
    made = link(k + 1, k)
    rules, latency = death(made, lost)
    safe = made.t >= no_nuisance(made.p, made.j, made.d, k)
    bound = latest(made.t, made.p, made.j, made.d, lost)
    assert solved(*rules, safe, latency > bound) is None
    model = solved(*rules, safe, latency > bound - 1, made.p > 5, made.j > 0, made.d > 0)
    assert model is not None
    heard_at = [at for at, gone in zip(numbers(model, *made.heard_at), made.lost, strict=True)
                if not z3.is_true(model.eval(gone, model_completion=True))]
    p, j, d, t, died = numbers(model, made.p, made.j, made.d, made.t, z3.Int("died"))
    assert [at - died for at in receiver_trips(heard_at, t, heard_at[-1] + 2 * t)] == [latest(t, p, j, d, lost)]


@pytest.mark.parametrize(("lost", "worst"), [(0, 3090), (1, 2140), (2, 1140)])
def test_the_latest_detection_known_from_elsewhere(lost, worst) -> None:
    """3100, 2150, 1150 with a watchdog polled every 10, as it was computed apart from this project; ours has none."""
    assert latest(3070, 1000, 50, 20, lost) == worst


def test_the_check_of_a_site_warns_one_microsecond_below_the_bound(tmp_path) -> None:
    text = (SITES / "mill-lane.site.yaml").read_text()
    node = read_site(SITES / "mill-lane.site.yaml").transmitters[0]
    bound = no_nuisance(node.checkin_in_motion, node.checkin_jitter, node.latency_spread, 1)
    for limit, warned in ((bound, False), (bound - 1, True)):
        file = tmp_path / "a.site.yaml"
        file.write_text(text.replace('watchdog_in_motion: "900 ms"', f'watchdog_in_motion: "{limit} us"'))
        said = [line for line in warnings_of(read_site(file)) if "trips the watchdog" in line]
        assert bool(said) is warned


def spin(tmp_path: Path, *defined: str) -> int:
    """States of a whole exploration that finds no error; -1 where one is found."""
    for tool in ("spin", "gcc"):
        if shutil.which(tool) is None:
            if os.environ.get("CI") == "true":
                pytest.fail(f"{tool} is not installed")
            pytest.skip(f"{tool} is not installed")

    def run(*command: str) -> str:
        return subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, text=True, timeout=120).stdout

    run("spin", "-a", *defined, str(MODEL))
    run("gcc", "-O1", "-DSAFETY", "-o", "pan", "pan.c")
    said = run("./pan", "-m100000")
    assert "max search depth too small" not in said
    errors = re.search(r"errors: (\d+)", said)
    assert errors is not None, said
    if errors.group(1) != "0":
        assert "assertion violated" in said
        return -1
    states = re.search(r"(\d+) states, stored", said)
    assert states is not None
    return int(states.group(1))


P, J, D, K = 10, 1, 1, 3
"""As in `watchdog.pml`."""


@pytest.mark.slow
def test_spin_no_nuisance(tmp_path) -> None:
    bound = no_nuisance(P, J, D, K)
    assert bound == 32
    assert spin(tmp_path, f"-DT={bound}") > 100
    assert spin(tmp_path, f"-DT={bound - 1}") == -1


@pytest.mark.slow
@pytest.mark.parametrize("lost", [0, 1, 2])
def test_spin_latest_detection_of_a_dead_node(tmp_path, lost) -> None:
    t = no_nuisance(P, J, D, K)
    bound = latest(t, P, J, D, lost)
    assert spin(tmp_path, f"-DT={t}", f"-DLOST={lost}", f"-DB={bound}") > 100
    assert spin(tmp_path, f"-DT={t}", f"-DLOST={lost}", f"-DB={bound - 1}") == -1
