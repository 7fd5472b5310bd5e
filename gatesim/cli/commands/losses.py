"""`gatesim losses SITE`: what lost radio frames do, with exact chances."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from gatesim.plant.site import Site
    from gatesim.search.loss import LossBench, LossRow
    from gatesim.search.loss_tree import Channel


@click.command("losses")
@click.argument("site_file", metavar="SITE")
@click.option("--loss", metavar="SHARE", default=None,
              help="Frames lost (in the good state), instead of all that the site says of it.")
@click.option("--worse", metavar="SHARE", default=None, help="Chance that a path turns bad before a frame.")
@click.option("--better", metavar="SHARE", default=None, help="Chance that a bad path turns good before a frame.")
@click.option("--loss-in-bad", metavar="SHARE", default=None, help="Frames lost in the bad state.  [default: 100 %]")
@click.option("--fault", "kinds", multiple=True, metavar="ID", help="This fault kind as well; may be given again.")
@click.option("--at", metavar="INSTANT", default=None,
              help="Moment of fault and contact in the story of the move.  [default: the worst of some tried]")
@click.option("--swept", is_flag=True, help="Of each fault the worst moment that a sweep finds (takes its time).")
@click.option("--late-at-most", metavar="SHARE", default=None, help="Exit with 1 where a late reaction is likelier.")
@click.option("--nuisance-at-most", metavar="SHARE", default=None, help="Exit with 1 where a nuisance is likelier.")
@click.option("--budget", metavar="SECONDS", type=click.FloatRange(min=0.1), default=None,
              help="Time for all; the chance of what is not reached is said.")
@options.seed
@options.roles
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk, site_file: str, loss: str | None, worse: str | None, better: str | None, loss_in_bad: str | None,
    kinds: tuple[str, ...], at: str | None, swept: bool, late_at_most: str | None, nuisance_at_most: str | None,
    budget: float | None, seed: int | None, logic: Wanted, style: str, output: str | None,
) -> int:
    """Fork a site's moves at each radio frame, heard or lost, and sum the chances: of a refused start, of a move broken
    off or a direction locked out though nothing is wrong, and of a late reaction to a contact or fault.

    No chance is estimated: each is the exact sum over all ways in which frames may be lost. With --worse and
    --better frames are lost in bursts.
    """
    from fractions import Fraction

    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.cli.roles import load_roles
    from gatesim.search.loss import LossBench

    site, used = known.site(site_file), 1 if seed is None else seed
    channels = _channels(site, loss, worse, better, loss_in_bad)
    most = [None if text is None else _share(text, name)
            for text, name in ((late_at_most, "--late-at-most"), (nuisance_at_most, "--nuisance-at-most"))]
    moment = None if at is None else _instant(at)
    bench = LossBench(site, load_roles(logic, talk.note_once), used, channels, budget=budget)
    rows = list(_rows(talk, bench, site, kinds, moment, swept))
    _deliver(talk, site.name, used, channels, rows, style, output)
    over = [row for row in rows for limit in [most[row.healthy]]
            if limit is not None and row.bad + row.unaccounted > limit]
    for row in over:
        limit, chance = most[row.healthy] or Fraction(), row.bad + row.unaccounted
        talk.complain(f"{row.story} {row.device}, {row.direction.value}: chance {float(chance):.3e}, more than "
                      f"{float(limit):.3e}")
    return Exit.DIFFERS if over else Exit.AS_EXPECTED


def _channels(site: Site, loss: str | None, worse: str | None, better: str | None,
              loss_in_bad: str | None) -> dict[str, Channel]:
    """The site's own loss, with what the options say instead.  BadUsage where nothing is ever lost."""
    from fractions import Fraction

    from gatesim.errors import BadUsage
    from gatesim.search.loss_tree import Channel, channels_of

    if (worse is None) != (better is None):
        raise BadUsage("--worse and --better go together: how bursts begin and how they end")
    if loss_in_bad is not None and worse is None:
        raise BadUsage("--loss-in-bad is for bursts; give --worse and --better as well")
    found = channels_of(site)
    given = {name: _share(text, f"--{name.replace('_', '-')}")
             for name, text in (("loss", loss), ("worse", worse), ("better", better), ("loss_in_bad", loss_in_bad))
             if text is not None}
    if given.get("better", 1) == 0:
        raise BadUsage("--better 0 %: a path that once turned bad would stay so for ever")
    if given:
        bursts = (given.get("worse", Fraction(0)), given.get("better", Fraction(1)),
                  given.get("loss_in_bad", Fraction(1)))
        found = {node.name: Channel(given.get("loss", Fraction(str(node.loss))), *bursts)
                 for node in site.transmitters}
    if found and all(one.mean == 0 and one.link is None for one in found.values()):
        raise BadUsage("no frame is ever lost here: the site's own loss is 0 %; say what is lost with --loss")
    return found


def _share(text: str, option: str) -> Fraction:
    """A share as the exact fraction of its decimal figure."""
    from fractions import Fraction

    from gatesim.errors import BadUsage
    from gatesim.units import BadQuantity, Dimension, Quantity, parse

    try:
        return Fraction(str(parse(text, Quantity(Dimension.SHARE, 0, 1))))
    except BadQuantity as error:
        raise BadUsage(f"{option}: {error.message}" + (f"; {error.hint}" if error.hint else "")) from None


def _instant(text: str) -> int:
    from gatesim.errors import BadUsage
    from gatesim.units import BadQuantity, Dimension, Quantity, parse

    try:
        return int(parse(text, Quantity(Dimension.DURATION, 0, None)))
    except BadQuantity as error:
        raise BadUsage(f"--at: {error.message}" + (f"; {error.hint}" if error.hint else "")) from None


def _rows(talk: Talk, bench: LossBench, site: Site, kinds: tuple[str, ...], at: int | None,
          swept: bool) -> Iterator[LossRow]:
    """Rows in their order: healthy, contact, faults, of both directions."""
    from gatesim.cli import known
    from gatesim.errors import BadUsage
    from gatesim.events import Direction

    for kind in kinds:
        if kind not in known.faults():
            raise BadUsage(f"there is no fault kind {kind!r}; `gatesim list faults` has them all")
    ways = [way for way in Direction if bench.holds(way, at)]
    if not ways:
        raise BadUsage(f"--at {0 if at is None else at / 1e6:.6f} s lies in no move: {bench.spans()}")
    stories: list[tuple[str, str, Direction]] = [("", "", way) for way in ways]
    for kind in kinds:
        stories += [(kind, spot.device, way) for spot in known.faults()[kind].places(site) for way in ways]
    bench.rows_to_come = sum(1 if kind else 4 for kind, _, _ in stories)
    for kind, device, way in talk.progress(stories, "stories"):
        if kind:
            yield bench.fault(kind, device, way, at, swept)
        else:
            yield from bench.healthy(way)
            yield from bench.contact(way, at)


def _deliver(talk: Talk, site: str, seed: int, channels: dict[str, Channel], rows: list[LossRow], style: str,
             output: str | None) -> None:
    from gatesim import __version__
    from gatesim.report import loss_json, loss_text

    if style == "json":
        talk.deliver(loss_json.loss_json(site, seed, channels, rows, __version__), output)
    else:
        talk.render(lambda console: loss_text.draw(console, site, seed, channels, rows), output)
