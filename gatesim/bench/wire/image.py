"""The process image of the server: inputs as they are shown, outputs as they were written, each write whole or not.

No socket and no clock: `Image` is asked by `modbus.answer`, and gives the controller's outputs as the contract has
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gatesim.bench.shapes import nothing_done
from gatesim.bench.wire import points as p
from gatesim.bench.wire.modbus import Refusal, Refused
from gatesim.errors import LogicError
from gatesim.events import Brake, Direction
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings


def split(value: int, words: int) -> list[int]:
    """A whole number as words, the high one first; a negative one as two's complement."""
    return [(value >> 16 * k) & 0xFFFF for k in reversed(range(words))]


def packed(bits: Sequence[bool]) -> list[int]:
    """Bits as words, the first bit the least significant."""
    return [sum(bit << k for k, bit in enumerate(bits[at : at + 16])) for at in range(0, len(bits), 16)]


def to_words(content: bytes) -> list[int]:
    """Bytes as words, the first one high."""
    even = content + b"\0" * (len(content) % 2)
    return [even[k] << 8 | even[k + 1] for k in range(0, len(even), 2)]


def to_bytes(words: Sequence[int], length: int) -> bytes:
    """And back."""
    return b"".join(word.to_bytes(2, "big") for word in words)[:length]


class Image:
    """What a client reads and writes.

    `beats` counts the changes of the heartbeat, `changes` the writes that changed anything else; `echoed` says whether
    the controller tells which power-up it has seen, and so can be started anew.
    """

    def __init__(self, settings: ControllerSettings) -> None:
        self.settings, self.map = settings, p.wiring(settings)
        self.inputs, self.outputs = [0] * self.map.inputs, [0] * p.HOLDINGS
        self.inputs[p.MAP_VERSION] = p.VERSION
        self.inputs[p.MAP_HASH : p.MAP_HASH + 2] = split(self.map.digest, 2)
        self.inputs[p.DEVICES] = len(self.map.devices)
        self.beats = self.changes = 0
        self.echoed = False
        self.kept: bytes = b""
        self._told = 0
        self._cell = p.WORDS * 16
        self._off: ControllerDo = nothing_done("controller", settings)

    # --- what gatesim shows -------------------------------------------------------------------------------------------

    def run_begins(self) -> None:
        """A new run is announced; nothing is shown of it yet, and no lockout is told."""
        self.outputs[p.LOCKOUT] = 0
        self.inputs[p.RUN_NUMBER] = (self.inputs[p.RUN_NUMBER] + 1) & 0xFFFF

    def power_up(self, kept: bytes | None) -> None:
        """The controller's supply has come: its outputs are off, and what was kept is there."""
        number = self.inputs[p.POWER_UPS] % 0xFFFF + 1
        self.inputs[p.POWER_UPS] = number
        words = to_words(kept or b"")[: p.STORE_WORDS]
        at = self.map.kept_at
        self.inputs[at : at + len(words)] = words
        self.inputs[p.KEPT_LENGTH] = min(len(kept or b""), 2 * p.STORE_WORDS)
        self.outputs[p.ORDERS] = 0
        self._told = self.outputs[p.MESSAGES]
        self.kept = kept or b""

    def show(self, seen: ControllerSeen) -> None:
        """Show the inputs; the first two bits are `show_now`'s."""
        general = [False, False, seen.at_closed, seen.at_open, seen.force, seen.force_ready, seen.position_known,
                   seen.motion is Direction.OPENING, seen.motion is Direction.CLOSING, seen.opening_contactor,
                   seen.closing_contactor, seen.main_closed, seen.sounder]
        bits = general + [False] * (p.CONTROLS_AT - len(general))
        bits += [control in seen.controls for control in p.CONTROLS]
        bits += [False] * (p.REPORTS_AT - len(bits))
        for report in seen.reports:
            one = [report.level is level for level in p.LEVELS]
            one += [getattr(report, flag) for flag in p.FLAGS]
            bits += one + [False] * (p.PER_REPORT - len(one))
        words = packed(bits)
        words[0] |= self.inputs[p.WORDS] & 3
        self.inputs[p.WORDS : p.WORDS + len(words)] = words
        at = self.map.answered_at
        self.inputs[at : at + len(seen.reports)] = [report.answered & 0xFFFF for report in seen.reports]

    def show_now(self, now: int, position: float, *, going: bool, supply: bool) -> None:
        """What changes all the time: the time (us), the position (um, rounded half up), and whether all is on."""
        self.inputs[p.RUN_TIME : p.RUN_TIME + 4] = split(now, 4)
        self.inputs[p.POSITION : p.POSITION + 2] = split(int(position + 0.5) if position >= 0 else
                                                         -int(0.5 - position), 2)
        self.inputs[p.WORDS] = self.inputs[p.WORDS] & ~3 | going | supply << 1

    # --- what the controller puts out ---------------------------------------------------------------------------------

    def do(self) -> ControllerDo:
        """The outputs that stand, with the messages that are new.  LogicError for both directions at once."""
        if not self.current():
            return self.off()  # they are of before the power loss
        bits = self.outputs[p.ORDERS]
        opening, closing, slow, main, released, alarm, armed = (bool(bits >> k & 1) for k in range(7))
        if opening and closing:
            raise LogicError("the controller ordered both directions at once, which no order is")
        order = Direction.OPENING if opening else Direction.CLOSING if closing else None
        news = self._news()
        return ControllerDo(
            order=order, slow=slow, main=main, brake=Brake.RELEASE if released else Brake.HOLD, alarm=alarm,
            lockout=p.LOCKOUTS[self.outputs[p.LOCKOUT]], armed=armed, mode=f"mode {self.outputs[p.MODE]}",
            ask=self.outputs[p.TEST_REQUEST], watch=None, wake=None, keep=self.kept, **news)

    def off(self) -> ControllerDo:
        """No output.  The store is as it is, and what was told of a lockout stands until the controller speaks."""
        return self._off._replace(keep=self.kept, lockout=p.LOCKOUTS[self.outputs[p.LOCKOUT]])

    def current(self) -> bool:
        """Whether what is written comes from a controller that has seen its latest power-up, or needs to see none."""
        return not self.echoed or self.outputs[p.POWER_UP_SEEN] == self.inputs[p.POWER_UPS]

    def _news(self) -> dict[str, Any]:
        count = (self.outputs[p.MESSAGES] - self._told) & 0xFFFF
        notices: list[Any] = []
        refused: list[Any] = []
        tested: list[Any] = []
        for k in range(count - min(count, p.MESSAGE_PLACES), count):
            place = p.FIRST_MESSAGE + (self._told + k) % p.MESSAGE_PLACES * p.PER_MESSAGE
            kind, what, detail, _, about = self.outputs[place : place + p.PER_MESSAGE]
            if kind == p.Message.NOTICE.value:
                notices.append((_word(p.NOTICES, what), self._about(about)))
            elif kind == p.Message.REFUSED.value and what < len(p.COMMANDS) and detail < len(p.ORIGINS):
                refused.append((p.COMMANDS[what], p.ORIGINS[detail], "as the controller says", self._about(about)))
            elif kind == p.Message.TESTED.value:
                tested.append((Direction.CLOSING if what else Direction.OPENING, bool(detail)))
        self._told = self.outputs[p.MESSAGES]
        return {"notices": tuple(notices), "refused": tuple(refused), "tested": tuple(tested)}

    def _about(self, number: int) -> str:
        if p.FIRST_PLACE <= number < p.FIRST_PLACE + len(p.PLACES):
            return p.PLACES[number - p.FIRST_PLACE]
        return self.map.devices[number - 1] if 1 <= number <= len(self.map.devices) else ""

    # --- what the server asks -----------------------------------------------------------------------------------------

    def read_bits(self, table: p.Table, address: int, count: int) -> list[bool]:
        """Bits of a table.  Refused outside it."""
        self._within(table, address, count)
        words, first = (self.outputs, 0) if table is p.Table.COIL else (self.inputs, self._cell)
        return [bool(words[at // 16] >> at % 16 & 1) for at in range(first + address, first + address + count)]

    def read_words(self, table: p.Table, address: int, count: int) -> list[int]:
        """Registers of a table.  Refused outside it."""
        self._within(table, address, count)
        return (self.inputs if table is p.Table.INPUT else self.outputs)[address : address + count]

    def write_bits(self, address: int, bits: Sequence[bool]) -> None:
        """Coils, all of them in one step.  Refused outside the table."""
        self._within(p.Table.COIL, address, len(bits))
        word = self.outputs[p.ORDERS]
        for k, bit in enumerate(bits, address):
            word = word | 1 << k if bit else word & ~(1 << k)
        self.write_words(p.ORDERS, [word])

    def write_words(self, address: int, words: Sequence[int]) -> None:
        """Holding registers, all of them in one step.  Refused outside the table, or for a value that is none."""
        self._within(p.Table.HOLDING, address, len(words))
        new = self.outputs.copy()
        new[address : address + len(words)] = words
        if new[p.LOCKOUT] >= len(p.LOCKOUTS) or new[p.STORE_LENGTH] > 2 * p.STORE_WORDS:
            raise Refused(Refusal.VALUE)
        old, self.outputs = self.outputs, new
        beat = 1 << p.COIL_NAMES.index("heartbeat")
        if old[p.HEARTBEAT] != new[p.HEARTBEAT] or (old[p.ORDERS] ^ new[p.ORDERS]) & beat:
            self.beats += 1
        old[p.HEARTBEAT], old[p.ORDERS] = new[p.HEARTBEAT], old[p.ORDERS] & ~beat | new[p.ORDERS] & beat
        self.changes += old != new
        self.echoed = self.echoed or new[p.POWER_UP_SEEN] != 0
        if address <= p.STORE_LENGTH < address + len(words) and self.current():
            self.kept = to_bytes(new[p.STORE : p.STORE + p.STORE_WORDS], new[p.STORE_LENGTH])

    def _within(self, table: p.Table, address: int, count: int) -> None:
        if address + count > self.map.size(table):
            raise Refused(Refusal.ADDRESS)


def _word(words: Sequence[str], number: int) -> str:
    return words[number] if number < len(words) else words[0]


class WireController:
    """The controller role as the contract has it, played by whoever is on the wire.

    It is called when the image changes, as any controller is, and when something was written.  What it remembers is on
    the other side of the wire: it can't be forked.
    """

    def __init__(self, image: Image) -> None:
        self.image = image

    @property
    def power_cycles(self) -> bool:
        """Whether the controller starts anew with its supply."""
        return self.image.echoed

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[WireState, ControllerDo]:
        """Power-up: it is shown, and nothing is put out before the controller has seen it."""
        self.image.power_up(kept)
        return WireState(), self.image.off()

    def step(self, state: WireState, seen: ControllerSeen, now: float) -> tuple[WireState, ControllerDo]:
        """Show the inputs and take what stands."""
        self.image.show(seen)
        return state, self.image.do()


class WireState:
    """Nothing: the state is beyond the wire."""

    __slots__ = ()

    def copy(self) -> WireState:
        """The same."""
        return self
