"""The bands of a site as plain text in 80 columns, each state drawn along the axis of codes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from gatesim.field.band import BandDesign, Bounds, LoopBand, Spread
from gatesim.field.corners import Region, Span
from gatesim.plant.loop_tables import Joining

COLUMNS = 80
LABEL = 18
AXIS = COLUMNS - LABEL

_HOW = {None: "", Joining.ONE_LEAD: ", one lead", Joining.SERIES: ", in series", Joining.PARALLEL: ", in parallel"}


def band_text(made: BandDesign) -> str:
    """The whole design; ends with a newline."""
    lines = [*_head(made)]
    for loop in made.loops:
        lines += _loop(loop)
    lines += _end(made)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _printable(text: str) -> str:
    """Names come from a file: nothing in them may act on a terminal or break a line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def _fold(text: str, first: str = "", rest: str | None = None) -> list[str]:
    after = " " * len(first) if rest is None else rest
    return textwrap.wrap(_printable(text), COLUMNS, initial_indent=first, subsequent_indent=after,
                         break_on_hyphens=False)


def _head(made: BandDesign) -> Iterator[str]:
    yield from _fold(f"Bands of {made.site}, {made.coldest:g} to {made.warmest:g} degC, each part at its worst")
    for caution in made.cautions:
        yield from _fold(caution, "! ")
    yield ""
    for said in made.overlaps:
        yield from _fold(f"OVERLAP, {said}", "  * ")
    if not made.overlaps:
        yield from _fold("No state reaches over a threshold, by these figures.")
    for remark in made.remarks:
        yield from _fold(remark, "  ? ")


def _loop(loop: LoopBand) -> Iterator[str]:
    yield ""
    opens = ", opens when pressed" if loop.opens else ""
    yield from _fold(f"Loop of {' and '.join(loop.edges)}{_HOW[loop.joining]}{opens}; {loop.device}, {loop.bits} bits, "
                     f"pull-up {ohms(loop.pull_up)}")
    yield f"  {'':<16}{'ohm':^21}{'mV':^17}{'code':^13}{'margin':>7}"
    for spread in loop.spreads:
        yield _row(spread)
    yield f"  band {loop.band_low} to {loop.band_high}, open from {loop.open_above} on, highest code {loop.full}"
    yield ""
    yield from drawing(loop)
    yield ""
    yield from _bounds(loop.bounds, loop.opens)
    if loop.narrowest is None:
        yield from _fold("NO ROOM for a band: a state beside it comes within a code of the loop at rest", "  * ")
    else:
        yield from _fold(f"narrowest band that holds it at rest, a code beside it on each side: "
                         f"{ohms(loop.narrowest.low)} to {ohms(loop.narrowest.high)}", "  ")
    for assumed in loop.assumed:
        yield from _fold(assumed, "  ? ")


def ohms(value: float) -> str:
    """A resistance as a meter shows it: four digits."""
    for factor, unit in ((1e6, "Mohm"), (1e3, "kohm")):
        if value >= factor:
            return f"{value / factor:.4g} {unit}" if value < 1e9 else "no reading"
    return f"{value:.4g} ohm"


def _short(value: float) -> str:
    if value >= 1e9:
        return "open"
    return f"{value / 1e6:.3g}M" if value >= 1e6 else f"{value:.1f}"


def _between(span: Span, digits: int) -> str:
    low, high = (f"{one:.{digits}f}" for one in span)
    return low if low == high else f"{low} to {high}"


def _row(spread: Spread) -> str:
    low, high = (_short(one) for one in spread.ohm)
    ohm = low if low == high else f"{low} to {high}"
    mark = " OVERLAP" if spread.overlaps else ""
    return (f"  {spread.shown.value:<18}{ohm:<19} {_between(spread.millivolt, 1):<17}{_between(spread.code, 0):<13}"
            f"{spread.margin:>6}{mark}")


def drawing(loop: LoopBand) -> Iterator[str]:
    """The states along the axis of codes, the thresholds below: `[` and `]` from `band_low` to `band_high`, `>` from
    open on."""
    for spread in loop.spreads:
        first, last = (_column(code, loop.full) for code in spread.code)
        mark = "#" if spread.overlaps else "="
        yield f"{spread.shown.value:<{LABEL}}{' ' * first}{mark * (last - first + 1)}"
    marks = ["."] * AXIS
    for code, sign in ((loop.open_above, ">"), (loop.band_high, "]"), (loop.band_low, "[")):
        marks[_column(code, loop.full)] = sign
    yield f"{'thresholds':<{LABEL}}{''.join(marks)}"
    yield f"{'code':<{LABEL}}{'0':<{AXIS - len(str(loop.full))}}{loop.full}"


def _column(code: float, full: int) -> int:
    return int(code * (AXIS - 1) / full)


def _bounds(bounds: Bounds, opens: bool) -> Iterator[str]:
    said = []
    if bounds.leakage is not None:
        said.append(f"a leakage of {ohms(bounds.leakage)} or less across a strip")
    if bounds.contact is not None:
        said.append(f"a pressed contact of {ohms(bounds.contact)} or less")
    if bounds.added is not None:
        said.append(f"{ohms(bounds.added)} or more added in the lead")
    yield from _fold(f"surely {Region.BELOW.value} or above it: {'; '.join(said) or 'nothing'}", "  ")
    if opens:
        yield from _fold("above the band is taken for a press, below it for a fault", "  ")
    else:
        yield from _fold("below the band is taken for a press, above it for a fault", "  ")


def _end(made: BandDesign) -> Iterator[str]:
    yield ""
    yield from _fold("Margin: codes left to the nearest threshold that the state must not reach. Everything outside "
                     "the band is a demand or a fault.")
