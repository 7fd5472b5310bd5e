"""`gatesim bench SCENARIO`: a controller on a wire, in real time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk

if TYPE_CHECKING:
    from gatesim.bench.wire.live import Rules
    from gatesim.bench.wire.server import Address
    from gatesim.bench.wire.session import OnWire, Session


@click.command("bench")
@click.argument("file", metavar="SCENARIO")
@click.option("--listen", metavar="ADDRESS:PORT", default="127.0.0.1:1502", show_default=True, help="Where to serve.")
@click.option("--beyond-loopback", is_flag=True, help="Allow an address that other machines can reach.")
@click.option("--reference", is_flag=True, help="Let the reference controller be the client, to see how it goes.")
@click.option("--once", is_flag=True, help="Don't play it again for each means alone; that is then undetermined.")
@click.option("--late", metavar="DURATION", default="10 ms", show_default=True,
              help="Later than this at any instant, and the run is undetermined.")
@click.option("--lost-after", metavar="DURATION", default="1 s", show_default=True,
              help="Without a heartbeat or a poll for so long the controller is lost.")
@click.option("--ready-within", metavar="DURATION", default="60 s", show_default=True,
              help="How long to wait for a controller.")
@click.option("--speed", type=click.FloatRange(0.1, 10), default=1.0, show_default=True,
              help="Seconds of the run in a second; only for a client that has no clock of its own.")
@options.seed
@options.units
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk, file: str, listen: str, beyond_loopback: bool, reference: bool, once: bool, late: str, lost_after: str,
    ready_within: str, speed: float, seed: int | None, style: str, output: str | None,
) -> int:
    """Serve the gate of a scenario over Modbus TCP, play it in real time, and judge the controller that drives it.

    The wiring is what `gatesim wiring SITE` shows. Never let a controller drive this and a real gate at once.
    """
    from gatesim.bench.wire.live import Rules
    from gatesim.bench.wire.server import address_of
    from gatesim.bench.wire.session import Session, on_loop
    from gatesim.cli import known
    from gatesim.cli.wanted import duration
    from gatesim.run import default_roles

    for_programs = talk.for_programs(style)
    rules = Rules(duration("late", late, 1), duration("lost-after", lost_after, 10_000),
                  duration("ready-within", ready_within, 10_000), speed)
    address = address_of(listen, beyond_loopback=beyond_loopback)
    scenario = known.scenario(file)
    site_file = scenario.file if scenario.overrides else scenario.site_file or file
    for warning in known.warnings(site_file, scenario.site):
        talk.note(warning)
    session = Session(scenario, default_roles(), rules, seed)
    done = on_loop(lambda: _serve(talk, session, address, rules, reference=reference, each_means=not once))
    return _deliver(talk, file, done, for_programs, output)


async def _serve(talk: Talk, session: Session, address: Address, rules: Rules, *, reference: bool,
                 each_means: bool) -> OnWire:
    import asyncio
    import gc

    from gatesim.bench.wire.peer import play

    # What is there by now stays; looking for it again and again would make us late.
    gc.collect()
    gc.freeze()
    client = None
    try:
        where = await session.listen(address)
        talk.note(f"serving on {where}; map hash {session.image.map.digest:08x}; "
                  f"waiting up to {rules.ready_within / 1e6:g} s for a controller")
        if reference:
            client = asyncio.ensure_future(play(where, session.image.settings, session.roles.controller))
        return await session.play(each_means=each_means, say=talk.note)
    finally:
        gc.unfreeze()
        session.close()
        if client is not None:
            await client


def _deliver(talk: Talk, file: str, done: OnWire, for_programs: bool, output: str | None) -> int:
    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.report import bench_text
    from gatesim.report.assemble import assemble

    judged = assemble(file, done.result, known.requirements(), known.faults())
    if for_programs:
        talk.deliver(bench_text.as_json(judged, done), output)
    else:
        talk.render(lambda console: bench_text.draw(console, judged, done, talk.loudness > 0), output)
    if done.ending is not None:
        talk.complain(f"gatesim: {done.ending.what}: {done.ending.why}")
        return Exit.OUR_FAULT
    return Exit.DIFFERS if judged.outcome == "differs" else Exit.AS_EXPECTED
