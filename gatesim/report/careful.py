"""The console that people watch: rich's, from which nothing hidden reaches a terminal but rich's own colours."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

from gatesim.shown import visible


class Careful(Console):
    """A console on which a terminal's escape sequences in what is printed are written out, not obeyed."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """As rich's; every text that it makes is visible."""
        for segment in super().render(renderable, options):
            yield segment if segment.control else segment._replace(text=visible(segment.text))
