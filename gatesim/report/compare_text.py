"""Where two controllers differ, for people: the story up to there, and what each puts out."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from gatesim.report.figures import instant
from gatesim.report.run_text import Line, story
from gatesim.run import run_scenario
from gatesim.search.compare import DRIVEN, RANDOM, Compared
from gatesim.search.outputs import By


def story_until(found: Compared) -> tuple[Line, ...]:
    """The story as the first controller lives it, up to the difference."""
    if found.found is None or found.difference is None or found.difference.died:
        return ()
    events = run_scenario(found.found, found.pair.first).sections[0].events
    return tuple([line for line in story(tuple(events), found.site, False) if line.at <= found.difference.at])


def draw(console: Console, found: Compared, names: tuple[str, str], told: tuple[Line, ...]) -> None:
    """The whole result."""
    console.print(Text(f"Two controllers at {found.site.name} (seed {found.seed}), by {found.pair.by.value}",
                       style="bold"), soft_wrap=True)
    console.print(f"  first   {escape(names[0])}", soft_wrap=True)
    console.print(f"  second  {escape(names[1])}", soft_wrap=True)
    console.print()
    if found.difference is None:
        console.print(Text("No difference found.", style="bold"))
        _tried(console, found)
        console.print("What was not tried may differ: this is no proof that they are the same.", soft_wrap=True)
        return
    _difference(console, found, told)
    console.print()
    _tried(console, found)


def _difference(console: Console, found: Compared, told: tuple[Line, ...]) -> None:
    assert found.difference is not None
    assert found.found is not None
    died = found.difference.died
    console.print(Text("One of them died." if died else "They differ.", style="bold red"))
    if not died and found.candidates:
        console.print(f"Shortened from {_count(found.steps_before, 'step')} to {len(found.found.steps)} "
                      f"({_count(found.candidates, 'story', 'stories')} tried)", markup=False)
    if told:
        console.print()
        console.print(Text("The story, as the first lives it", style="bold"))
        before = ""
        for line in told:
            at = instant(line.at)
            console.print(f"  {at if at != before else '':>12}  {line.strip}  {line.who:<12}{line.sentence}",
                          markup=False, soft_wrap=True)
            before = at
    console.print()
    if found.pair.by is By.VERDICTS:
        console.print(Text("At the end the verdicts differ", style="bold"))
    else:
        console.print(Text(f"At {instant(found.difference.at)}", style="bold"))
    wide = max(len(name) for name in found.difference.members)
    for name, first, second in zip(found.difference.members, found.difference.first, found.difference.second,
                                   strict=True):
        console.print(f"  {name:<{wide}}  first: {first}; second: {second}", markup=False, soft_wrap=True)
    if found.verdicts and found.pair.by is not By.VERDICTS:
        console.print()
        console.print(Text("Requirements that say different things of them in this story", style="bold"))
        wide = max(len(one.requirement) for one in found.verdicts)
        for one in found.verdicts:
            console.print(f"  {one.requirement:<{wide}}  first: {one.first}; second: {one.second}", markup=False,
                          soft_wrap=True)


def _tried(console: Console, found: Compared) -> None:
    said = f"Tried: {_count(found.tried[RANDOM], 'random story', 'random stories')}"
    said += f", {_count(found.tried[DRIVEN], 'driven story', 'driven stories')}"
    if found.undriven:
        said += f" ({found.undriven})"
    console.print(said + (f"; time was over before all {found.wanted} were" if found.ended else "") + ".",
                  markup=False, soft_wrap=True)


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
