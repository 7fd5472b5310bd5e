"""How the program speaks: results to stdout or a file, talk to stderr.

`Talk` is the one object that all commands share during a call.  Colours follow NO_COLOR, FORCE_COLOR, TERM=dumb and
whether anybody watches (rich decides); text is laid out for 100 columns where no terminal says otherwise.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from io import StringIO
from typing import TYPE_CHECKING, Literal, TypeVar

import click

from gatesim.errors import BadUsage
from gatesim.report.plain import Page, Plain
from gatesim.shown import System, visible

if TYPE_CHECKING:
    from rich.console import Console

T = TypeVar("T")
WIDTH = 100
_COLOURS: dict[str, Literal["standard", "256", "truecolor"]] = {
    "standard": "standard",
    "256": "256",
    "truecolor": "truecolor",
}


@dataclass
class Talk:
    """One call's loudness (-1 quiet, 0, 1 verbose), the units of its text, and its ways out."""

    loudness: int = 0
    system: System = System.SI
    told: set[str] = field(default_factory=set)
    """What was said once and need not be said again."""

    def for_programs(self, style: str) -> bool:
        """Whether a program is to read it, which is SI always: a BadUsage for US units in it."""
        for_people = style in ("text", "html")
        if not for_people and self.system is not System.SI:
            raise BadUsage(f"--units us is for text; `--format {style}` is in the units of gatesim always (us, um, mN)")
        return not for_people

    def note(self, text: str) -> None:
        """Say something beside the result; silent with --quiet."""
        if self.loudness >= 0:
            click.echo(visible(text), err=True)

    def note_once(self, text: str) -> None:
        """Say something beside the result, the first time only."""
        if text not in self.told:
            self.told.add(text)
            self.note(text)

    def complain(self, text: str) -> None:
        """Say what is wrong; never silent."""
        click.echo(visible(text), err=True)

    def not_to_a_terminal(self, style: str, output: str | None) -> None:
        """A BadUsage where a format that is no text would go to a terminal."""
        if style == "parquet" and output in (None, "-") and sys.stdout.isatty():
            raise BadUsage(f"--format {style} is no text; give --output FILE, or redirect it")

    def deliver(self, result: str | bytes, output: str | None) -> None:
        """Write the result to stdout, or whole or not at all to a file."""
        if output is not None and output != "-":
            write_whole(output, result.encode() if isinstance(result, str) else result)
            self.note(f"written: {output}")
            return
        try:
            click.echo(result, nl=False)
            sys.stdout.flush()
        except BrokenPipeError:
            # Whoever read us has seen enough; the verdict's exit code stands.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

    def render_lines(self, draw: Callable[[Page], None], output: str | None) -> None:
        """Deliver what `draw` prints, all of it unfolded lines: without rich where nobody watches."""
        if (output is None or output == "-") and _may_be_watched():
            self.render(draw, output)
            return
        page = Plain()
        draw(page)
        self._deliver_page(page.text(), output)

    def blocks(self, output: str | None) -> bool:
        """Whether whoever watches can be shown block characters; plain marks in files, pipes and plain terminals."""
        to_file = output is not None and output != "-"
        encoding = (sys.stdout.encoding or "").lower().replace("-", "")
        return not to_file and sys.stdout.isatty() and os.environ.get("TERM") != "dumb" and encoding == "utf8"

    def render(self, draw: Callable[[Console], None], output: str | None) -> None:
        """Deliver what `draw` prints on a console."""
        from rich.console import Console

        from gatesim.report.careful import Careful

        to_file = output is not None and output != "-"
        real = Console(highlight=False, no_color=True if to_file else None)
        watched = real.is_terminal and not to_file
        colours = _COLOURS.get(str(real.color_system)) if watched else None
        wide = WIDTH if to_file else width()
        page = StringIO()
        draw(
            Careful(
                file=page,
                width=wide,
                highlight=False,
                markup=False,
                emoji=False,
                force_terminal=watched,
                color_system=colours,
                legacy_windows=False,
            )
        )
        self._deliver_page(page.getvalue(), output)

    def _deliver_page(self, text: str, output: str | None) -> None:
        lines = [line.rstrip() for line in text.splitlines()]
        self.deliver("\n".join(lines) + "\n", output)

    def progress(self, items: Sequence[T], title: str) -> Iterator[T]:
        """Go through the items; where a person watches stderr and the work is long, show how far it is."""
        if self.loudness < 0 or len(items) < 2 or not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
            yield from items
            return
        with click.progressbar(items, label=title, file=sys.stderr, show_eta=False) as bar:
            yield from bar

    def counted(self, items: Iterable[T], count: int, title: str) -> Iterator[T]:
        """Go through items that come in their own time; where a person watches, show how many, how fast and how long
        yet."""
        if self.loudness < 0 or count < 2 or not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
            yield from items
            return
        with click.progressbar(items, length=count, label=title, file=sys.stderr, show_pos=True, show_eta=True) as bar:
            yield from bar


def _may_be_watched() -> bool:
    return sys.stdout.isatty() or any(os.environ.get(name) for name in ("FORCE_COLOR", "TTY_COMPATIBLE"))


def width() -> int:
    """Columns to lay out for: the terminal's, at least 60, or `WIDTH` where nobody watches."""
    from rich.console import Console

    real = Console()
    return max(real.width, 60) if real.is_terminal else WIDTH


def write_whole(path: str, content: bytes, mode: int | None = None) -> None:
    """Write a file whole or not at all, with these rights or a new file's.  A BadUsage if it can't be written."""
    folder = os.path.dirname(path) or "."
    made = ""
    try:
        handle, made = tempfile.mkstemp(dir=folder, prefix=".gatesim-")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(made, 0o666 & ~_umask() if mode is None else mode)
        os.replace(made, path)
    except OSError as error:
        if made:
            with suppress(OSError):
                os.unlink(made)
        raise BadUsage(f"cannot write {path}: {error.strerror}") from None


def _umask() -> int:
    now = os.umask(0)
    os.umask(now)
    return now
