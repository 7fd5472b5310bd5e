"""Logic of the contract as a client on the wire: `python -m gatesim.bench.wire.peer 127.0.0.1:1502 SITE`.

It polls the input registers, calls the logic as a programmable controller would (when its image has changed, when its
wake has passed, when the leaf has passed the watched position), and writes all outputs in one request.  So the
reference controller is played over the wire; with another controller it is an example in Python.
"""

from __future__ import annotations

import asyncio
import sys
from contextlib import suppress
from typing import Any

from gatesim.bench.wire import points as p
from gatesim.bench.wire.client import Client, Gone
from gatesim.bench.wire.image import split, to_bytes, to_words
from gatesim.bench.wire.server import Address, address_of
from gatesim.events import Brake, Direction
from gatesim.plant.logic.contract import Controller, ControllerDo, ControllerSeen, ControllerSettings, Report

BEAT = 0.1
"""Seconds between two heartbeats where nothing else is written."""
_AT_ONCE = 120


def _number(words: list[int], *, signed: bool = False) -> int:
    return int.from_bytes(b"".join(word.to_bytes(2, "big") for word in words), "big", signed=signed)


def seen_of(wiring: p.Wiring, words: list[int]) -> ControllerSeen:
    """The image from the input registers, from 0 on."""
    bits = [bool(words[p.WORDS + n // 16] >> n % 16 & 1) for n in range(wiring.discretes)]
    general = dict(zip(p.GENERAL, bits, strict=False))
    motion = Direction.OPENING if general["moving opening"] else None
    reports = []
    for k, device in enumerate(wiring.devices):
        own = bits[p.REPORTS_AT + p.PER_REPORT * k :]
        level = next(one for one, bit in zip(p.LEVELS, own, strict=False) if bit)
        flags = dict(zip(p.FLAGS, own[len(p.LEVELS) :], strict=False))
        reports.append(Report(device, level, answered=words[wiring.answered_at + k], **flags))
    return ControllerSeen(
        controls=frozenset([one for n, one in enumerate(p.CONTROLS) if bits[p.CONTROLS_AT + n]]),
        at_closed=general["at closed"], at_open=general["at open"], reports=tuple(reports), force=general["force"],
        force_ready=general["force ready"], position=float(_number(words[p.POSITION : p.POSITION + 2], signed=True)),
        position_known=general["position known"],
        motion=Direction.CLOSING if general["moving closing"] else motion,
        opening_contactor=general["opening contactor"], closing_contactor=general["closing contactor"],
        main_closed=general["main shut-off closed"], sounder=general["sounder"],
        supply_good=general["supply good"])


class Outputs:
    """The holding registers as this controller wants them, up to the messages."""

    def __init__(self, devices: tuple[str, ...]) -> None:
        self.words = [0] * p.STORE_LENGTH
        self._devices = devices
        self._count = 0

    def put(self, do: ControllerDo) -> None:
        """Take over what the logic put out."""
        bits = (do.order is Direction.OPENING, do.order is Direction.CLOSING, do.slow, do.main,
                do.brake is Brake.RELEASE, do.alarm, do.armed)
        self.words[p.ORDERS] = sum(bit << k for k, bit in enumerate(bits))
        self.words[p.LOCKOUT] = p.LOCKOUTS.index(do.lockout)
        self.words[p.TEST_REQUEST] = do.ask & 0xFFFF
        for text, about in do.notices:
            what = p.NOTICES.index(text) if text in p.NOTICES else 0
            self._tell(p.Message.NOTICE, what, 0, self._number(about))
        for command, origin, _, about in do.refused:
            self._tell(p.Message.REFUSED, p.COMMANDS.index(command), p.ORIGINS.index(origin), self._number(about))
        for direction, passed in do.tested:
            self._tell(p.Message.TESTED, int(direction is Direction.CLOSING), int(passed), 0)

    def _number(self, about: str) -> int:
        if about in self._devices:
            return self._devices.index(about) + 1
        return p.FIRST_PLACE + p.PLACES.index(about) if about in p.PLACES else 0

    def _tell(self, kind: p.Message, what: int, detail: int, about: int) -> None:
        at = p.FIRST_MESSAGE + self._count % p.MESSAGE_PLACES * p.PER_MESSAGE
        self.words[at : at + p.PER_MESSAGE] = [kind.value, what, detail, 0, about]
        self._count = (self._count + 1) & 0xFFFF
        self.words[p.MESSAGES] = self._count


class Peer:
    """A controller that polls."""

    def __init__(self, client: Client, settings: ControllerSettings, controller: Controller) -> None:
        self.client, self.settings, self.controller = client, settings, controller
        self.map = p.wiring(settings)
        self.outputs = Outputs(self.map.devices)
        self._state: Any = None
        self._do: ControllerDo | None = None
        self._seen: ControllerSeen | None = None
        self._levels: list[int] = []
        self._kept: bytes = b""
        self._written: list[int] = []
        self._beaten = -BEAT

    async def check(self) -> None:
        """See that the server has the wiring that this was made for.  Gone where it has another."""
        words = await self.client.inputs(p.MAP_VERSION, 3)
        if words != [p.VERSION, *split(self.map.digest, 2)]:
            raise Gone("the server has another wiring than this site")

    async def poll(self, at: float) -> None:
        """Read, think, write; `at` in seconds of our own clock."""
        words = await self.client.inputs(0, self.map.kept_at)
        going, supply = words[p.WORDS] & 1, words[p.WORDS] >> 1 & 1
        if going and supply:
            if words[p.POWER_UPS] != self.outputs.words[p.POWER_UP_SEEN]:
                await self._power_up(words)
            self._think(words)
        if at - self._beaten >= BEAT or self.outputs.words != self._written:
            self._beaten = at
            self.outputs.words[p.HEARTBEAT] = (self.outputs.words[p.HEARTBEAT] + 1) & 0xFFFF
            await self.client.write(0, self.outputs.words)
            self._written = self.outputs.words.copy()
        if self._do is not None and self._do.keep != self._kept:
            await self._keep(self._do.keep)

    async def _power_up(self, words: list[int]) -> None:
        self.outputs.words[p.POWER_UP_SEEN] = words[p.POWER_UPS]
        length = words[p.KEPT_LENGTH]
        kept: list[int] = []
        for at in range(0, (length + 1) // 2, _AT_ONCE):
            kept += await self.client.inputs(self.map.kept_at + at, min(_AT_ONCE, (length + 1) // 2 - at))
        self._kept = to_bytes(kept, length)
        self._state, do = self.controller.start(self.settings, self._kept or None)
        self.outputs.put(do)
        self._do, self._seen = do, None

    def _think(self, words: list[int]) -> None:
        now, position = _number(words[p.RUN_TIME : p.RUN_TIME + 4]), words[p.POSITION : p.POSITION + 2]
        levels = words[p.WORDS :]
        if self._seen is None or levels != self._levels:
            seen, self._levels = seen_of(self.map, words), levels
        else:
            seen = self._seen._replace(position=float(_number(position, signed=True)))
        before, done = self._seen, self._do
        assert done is not None
        due = done.wake is not None and now >= done.wake
        passed = (before is not None and done.watch is not None
                  and (before.position - done.watch) * (seen.position - done.watch) <= 0)
        if before is None or due or passed or seen._replace(position=0.0) != before._replace(position=0.0):
            self._state, self._do = self.controller.step(self._state, seen, now)
            self.outputs.put(self._do)
        self._seen = seen

    async def _keep(self, content: bytes) -> None:
        words = to_words(content)[: p.STORE_WORDS]
        for at in range(0, len(words), _AT_ONCE):
            await self.client.write(p.STORE + at, words[at : at + _AT_ONCE])
        await self.client.write(p.STORE_LENGTH, [min(len(content), 2 * p.STORE_WORDS)])
        self._kept = content


async def play(address: Address, settings: ControllerSettings, controller: Controller, poll: float = 0.005) -> None:
    """Play until the server closes the connection; `poll` in seconds.  Gone where it can't even begin."""
    client = await Client.to(address)
    peer = Peer(client, settings, controller)
    loop = asyncio.get_running_loop()
    try:
        await peer.check()
        with suppress(Gone):
            at = loop.time()
            while True:
                await peer.poll(at)
                at = max(at + poll, loop.time())
                await asyncio.sleep(at - loop.time())
    finally:
        client.close()


def main(args: list[str]) -> int:
    """The reference controller as a client: ADDRESS:PORT SITE [POLL_MS]."""
    from gatesim.bench.wire.session import on_loop
    from gatesim.plant.operator import controller_settings
    from gatesim.requirements.catalogue import requirements
    from gatesim.run import default_roles
    from gatesim.scenario.read import read_site

    if not 2 <= len(args) <= 3:
        sys.stderr.write("usage: python -m gatesim.bench.wire.peer ADDRESS:PORT SITE [POLL_MS]\n")
        return 2
    site = read_site(args[1], {name: one.failures for name, one in requirements().items()})
    poll = float(args[2]) / 1000 if len(args) == 3 else 0.005
    try:
        address = address_of(args[0], beyond_loopback=True)
        on_loop(lambda: play(address, controller_settings(site), default_roles().controller, poll))
    except Gone as error:
        sys.stderr.write(f"{error}\n")
        return 3
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
