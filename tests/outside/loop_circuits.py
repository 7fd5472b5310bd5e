"""Loops as circuits: every wire, strip, resistor and leak as a component of its own, and two ways to solve them.

Written from how the trade wires edges, not from the product's formulas.  `nodal` solves the circuit exactly, in
fractions; `netlist` hands it to ngspice.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

SUPPLY, PULL_UP = 3.3, 8_200.0
OPEN_WIRE = 1e9
"""What a loop that nothing closes is taken to read (ohm): docs/timing.md, section 4."""


class Piece(NamedTuple):
    """One edge: each of its two wires, its resistor, its closed contact, the leak across its pair (ohm)."""

    go: float
    back: float
    resistor: float
    contact: float
    leak: float | None = None


class State(NamedTuple):
    """What is the matter: edges pressed; (edge, at its near end?) of a broken wire; edge whose pair is shorted at its
    strip, -1 for a short at the input."""

    pressed: tuple[int, ...] = ()
    broken: tuple[int, bool] | None = None
    shorted: int | None = None


Part = tuple[str, str, float]
"""A resistor between two nodes; "in" is the converter's input, "0" its ground."""


def edge(k: int, piece: Piece, state: State, hot: str, cold: str, opens: bool, last: bool) -> Iterator[Part]:
    """One edge's lead and strip between `hot` and `cold`; it ends at nodes h{k} and c{k}, and at r{k} beyond a strip
    that opens.  Where a wire is broken the next component begins at a node of its own (x, y, z)."""
    yield (f"x{k}" if state.broken == (k, True) else hot), f"h{k}", piece.go
    yield f"c{k}", cold, piece.back
    if piece.leak is not None:
        yield f"h{k}", f"c{k}", piece.leak
    if state.shorted == k:
        yield f"h{k}", f"c{k}", 1e-6
    if opens and k not in state.pressed:
        yield f"h{k}", f"r{k}", piece.contact
    if not opens and k in state.pressed:
        yield f"h{k}", f"c{k}", piece.contact
    if last:
        end = f"r{k}" if opens else f"h{k}"
        yield (f"y{k}" if state.broken == (k, False) else end), f"c{k}", piece.resistor


def one_lead(pieces: Sequence[Piece], state: State, opens: bool = False) -> list[Part]:
    """One lead through every strip, one resistor at the very end."""
    parts: list[Part] = []
    hot, cold = "in", "0"
    for k, piece in enumerate(pieces):
        parts += edge(k, piece, state, hot, cold, opens, k == len(pieces) - 1)
        hot, cold = (f"r{k}" if opens else f"h{k}"), f"c{k}"
        hot = f"z{k}" if state.broken == (k, False) else hot
    return parts


def in_series(pieces: Sequence[Piece], state: State, opens: bool = False) -> list[Part]:
    """Each edge with a resistor of its own, one after the other."""
    parts: list[Part] = []
    for k, piece in enumerate(pieces):
        parts += edge(k, piece, state, "in" if k == 0 else f"m{k}", "0" if k == len(pieces) - 1 else f"m{k + 1}",
                      opens, True)
    return parts


def in_parallel(pieces: Sequence[Piece], state: State, opens: bool = False) -> list[Part]:
    """Each edge with a resistor of its own, side by side."""
    parts: list[Part] = []
    for k, piece in enumerate(pieces):
        parts += edge(k, piece, state, "in", "0", opens, True)
    return parts


def connected(parts: Sequence[Part]) -> list[Part]:
    """The parts that something still connects to the input or to ground; an island has no voltage."""
    reached = {"in", "0"}
    while more := {node for one in parts if reached & set(one[:2]) for node in one[:2]} - reached:
        reached |= more
    return [one for one in parts if one[0] in reached]


def at_input(parts: list[Part], state: State) -> list[Part]:
    """The circuit with a short at the input, where there is one."""
    return connected([*parts, ("in", "0", 1e-6)] if state.shorted == -1 else parts)


def as_read(volt: float) -> float:
    """The voltage (V), where no current flows that of what an open wire is taken to read."""
    return min(volt, SUPPLY * OPEN_WIRE / (OPEN_WIRE + PULL_UP))


def nodal(parts: Sequence[Part]) -> float:
    """The input's voltage (V) by nodal analysis, exactly: G v = i, solved in fractions."""
    nodes = sorted({node for one in parts for node in one[:2]} - {"0"} | {"in"})
    size = len(nodes)
    matrix = [[Fraction(0)] * (size + 1) for _ in nodes]

    def conduct(one: str, other: str, ohm: float) -> None:
        g = 1 / Fraction(ohm)
        for a, b in ((one, other), (other, one)):
            if a != "0":
                matrix[nodes.index(a)][nodes.index(a)] += g
                if b != "0":
                    matrix[nodes.index(a)][nodes.index(b)] -= g

    for one, other, ohm in parts:
        conduct(one, other, ohm)
    entry = nodes.index("in")
    matrix[entry][entry] += 1 / Fraction(PULL_UP)
    matrix[entry][size] = Fraction(SUPPLY) / Fraction(PULL_UP)
    for k in range(size):
        pivot = next(row for row in range(k, size) if matrix[row][k] != 0)
        matrix[k], matrix[pivot] = matrix[pivot], matrix[k]
        matrix[k] = [value / matrix[k][k] for value in matrix[k]]
        for row in range(size):
            if row != k and matrix[row][k] != 0:
                factor = matrix[row][k]
                matrix[row] = [value - factor * own for value, own in zip(matrix[row], matrix[k], strict=True)]
    return as_read(float(matrix[entry][size]))


def netlist(circuits: Sequence[Sequence[Part]]) -> str:
    """All circuits side by side in one netlist, each with its own supply and pull-up."""
    lines = ["loops of contact edges"]
    for n, parts in enumerate(circuits):
        lines += [f"V{n} s{n} 0 {SUPPLY}", f"Rp{n} s{n} in_{n} {PULL_UP:.10g}"]
        for k, (one, other, ohm) in enumerate(parts):
            ends = [node if node == "0" else f"{node}_{n}" for node in (one, other)]
            lines.append(f"R{n}_{k} {ends[0]} {ends[1]} {ohm:.17g}")
    shown = "\n".join(f"print v(in_{n})" for n in range(len(circuits)))
    return "\n".join([*lines, ".options reltol=1e-9 gmin=1e-20", ".control", "set numdgt=12", "op", shown, "quit",
                      ".endc", ".end", ""])


def by_ngspice(program: str, circuits: Sequence[Sequence[Part]], folder: Path) -> list[float]:
    """The inputs' voltages (V) by ngspice, one for each circuit."""
    file = folder / "loops.cir"
    file.write_text(netlist(circuits))
    said = subprocess.run([program, "-b", str(file)], capture_output=True, text=True, check=False, timeout=120)
    found = [line.partition("=")[2] for line in said.stdout.splitlines() if line.startswith("v(in_")]
    assert len(found) == len(circuits), said.stdout[-2000:] + said.stderr[-2000:]
    return [as_read(float(value)) for value in found]
