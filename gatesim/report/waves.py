"""A run as a value change dump (IEEE Std 1364, section "Value change dump (VCD) files"), written by pyvcd.

The time step is 1 us, in whole numbers: pyvcd would cut a fraction without a word.  Names have letters, digits and `_`
only, texts printable ASCII only.  Where a choice of words is a number, the comment in the head says which.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from io import StringIO
from typing import TYPE_CHECKING, Any

from gatesim import __version__
from gatesim.errors import BadUsage
from gatesim.events import Run
from gatesim.report.signals import SAMPLE, Form, Scope, Signal, signals_of
from gatesim.run import RunResult
from gatesim.units import us

if TYPE_CHECKING:
    from vcd import VCDWriter
    from vcd.writer import Variable

TOP = "gate"
NO_VALUE = "z"
"""What has no value: a loop without end."""
UNKNOWN = "x"


def vcd_of(run: RunResult) -> bytes:
    """The bytes of the file: the whole run, its twins left out.  BadUsage where pyvcd is not installed."""
    whole = next(section for section in run.sections if section.run is Run.WHOLE)
    signals = list(signals_of(whole.events, run.scenario.site, whole.ends))
    page = StringIO()
    with writer()(page, timescale="1 us", date="", version=f"gatesim {__version__}",
                   comment=_comment(run, signals)) as file:
        names = _Names()
        variables = {id(one): _registered(file, one, names) for one in signals}
        changes = sorted(((at, k, value) for k, one in enumerate(signals) for at, value in one.values),
                         key=lambda change: change[:2])
        for at, k, value in changes:
            file.change(variables[id(signals[k])], at, _value(signals[k], value))
        file.close(us(whole.ends))
    return page.getvalue().encode("ascii")


def writer() -> type[VCDWriter]:
    """What writes such files.  BadUsage where pyvcd is not installed."""
    try:
        from vcd import VCDWriter
    except ImportError:
        raise BadUsage("waveforms need the package pyvcd, which is not installed; "
                       "`pip install 'gatesim[vcd]'` brings it") from None
    return VCDWriter


def _registered(file: Any, signal: Signal, names: _Names) -> Variable[Any]:
    scope, name = names.of(signal.scope, signal.name)
    if signal.form is Form.TEXT:
        return file.register_var(scope, name, "string", init="")  # type: ignore[no-any-return]
    kind = "integer" if signal.form is Form.WHOLE else "wire"
    first = UNKNOWN if signal.first is None else signal.first
    return file.register_var(scope, name, kind, size=signal.form.value, init=first)  # type: ignore[no-any-return]


def _value(signal: Signal, value: int | str | None) -> int | str:
    if signal.form is Form.TEXT:
        return plain(str(value))
    if value is None or (isinstance(value, int) and value.bit_length() > signal.form.value):
        return NO_VALUE
    return value


class _Names:
    """Names as a dump may have them, each once in its scope, the same for the same signals."""

    def __init__(self) -> None:
        self._scopes: dict[tuple[Scope, str], str] = {}
        self._taken: set[tuple[Scope, str]] = set()

    def of(self, scope: Scope, name: str) -> tuple[Scope, str]:
        """Both for the writer."""
        made: Scope = (TOP,)
        for part in scope:
            if (made, part) not in self._scopes:
                self._scopes[made, part] = self._free(made, part)
            made = (*made, self._scopes[made, part])
        return made, self._free(made, name)

    def _free(self, scope: Scope, name: str) -> str:
        wanted = re.sub(r"[^A-Za-z0-9_]", "_", name)[:60] or "_"
        if wanted[0].isdigit():
            wanted = f"_{wanted}"
        free, k = wanted, 2
        while (scope, free) in self._taken:
            free, k = f"{wanted}_{k}", k + 1
        self._taken.add((scope, free))
        return free


def plain(text: str) -> str:
    """Printable ASCII; everything else, and the sign that ends a comment, as an escape."""
    return "".join(c if " " <= c <= "~" and c not in "$\\" else f"<{ord(c):x}>" for c in text)


def _comment(run: RunResult, signals: Iterable[Signal]) -> str:
    """What the file is, and what its numbers mean."""
    legends: dict[str, list[str]] = {}
    for signal in signals:
        if signal.legend:
            words = ", ".join(f"{number} {plain(word)}" for word, number in signal.legend.items())
            legends.setdefault(words, []).append(f"{'.'.join(map(plain, signal.scope))}.{signal.name}")
    return "\n".join((
        f"{plain(run.scenario.title)}; site {plain(run.scenario.site.name)}, seed {run.seed}",
        "Of a model; it says nothing about a gate that stands somewhere.",
        f"Position, speed and force are sampled every {SAMPLE // 1000} ms between the events that set them.",
        f"{UNKNOWN}: not told yet. {NO_VALUE}: without value (a loop without end).",
        *(f"{', '.join(names)}: {words}" for words, names in legends.items()),
    ))
