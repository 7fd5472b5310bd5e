"""A first controller of one's own (docs/first-controller.md): `First` fails two requirements, `Second` meets them.

An exercise and no controller for a gate: it looks at no fault and asks no device before it starts.
"""

from dataclasses import dataclass, field

from gatesim.events import Brake, Command, Direction, Level, Lockout
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings

WAYS = {Command.OPEN: Direction.OPENING, Command.CLOSE: Direction.CLOSING}


@dataclass
class State:
    settings: ControllerSettings
    order: Direction | None = None
    target: float | None = None
    turning: Direction | None = None
    controls: frozenset = field(default_factory=frozenset)


class First:
    """Opens, closes, stops; reverses when an edge is pressed or the force sensing trips."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[State, ControllerDo]:
        state = State(settings)
        return state, self.put_out(state)

    def step(self, state: State, seen: ControllerSeen, now: float) -> tuple[State, ControllerDo]:
        new, state.controls = seen.controls - state.controls, seen.controls
        for command, _ in new:
            if command in WAYS:
                state.order, state.target = WAYS[command], None
        if any(command is Command.STOP for command, _ in seen.controls) or self.there(state, seen):
            state.order = state.target = None
        elif state.target is None and state.order is not None and self.blocked(state, seen):
            state.order = state.order.other
            state.target = seen.position + state.order.sign * state.settings.reversal_distance
        return state, self.put_out(state)

    def there(self, state: State, seen: ControllerSeen) -> bool:
        """At the end, or far enough back."""
        at_end = seen.at_open if state.order is Direction.OPENING else seen.at_closed
        back = state.target is not None and (seen.position - state.target) * state.order.sign >= 0
        return state.order is not None and (at_end or back)

    def blocked(self, state: State, seen: ControllerSeen) -> bool:
        """Something is in the way."""
        guards = {edge.edge for edge in state.settings.edges if edge.direction is state.order}
        return seen.force or any(one.level is Level.PRESSED for one in seen.reports if one.edge in guards)

    def put_out(self, state: State) -> ControllerDo:
        return ControllerDo(
            order=state.order, slow=False, main=state.order is not None, brake=Brake.HOLD, alarm=False,
            lockout=Lockout.NONE, armed=False, mode="moving" if state.order else "at rest", ask=0, watch=state.target,
            wake=None, keep=b"")


class Second(First):
    """Waits for standstill before it turns round, and goes back no farther than it must."""

    def step(self, state: State, seen: ControllerSeen, now: float) -> tuple[State, ControllerDo]:
        if state.turning is not None:
            state.controls = seen.controls
            if seen.motion is None:
                state.order, state.turning = state.turning, None
                if state.target is not None:  # turned round by something in the way, not by a command
                    opens = state.order is Direction.OPENING
                    far = state.settings.reversal_distance if opens else state.settings.opening_relief
                    state.target = seen.position + state.order.sign * far
            return state, self.put_out(state)
        before = state.order
        state, do = super().step(state, seen, now)
        if before is not None and state.order is before.other:
            state.turning, state.order = state.order, None
            do = self.put_out(state)
        return state, do
