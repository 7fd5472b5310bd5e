"""Loss in bursts as a path of two states, good and bad, that is looked at when a frame is sent.

Per frame: before each frame the state changes by a chance.  In time: the state changes at random moments; between two
frames that are t apart it keeps a memory of e^-(1/good + 1/bad)t.  Powers of it are tabled when a site is loaded, so
that a run only multiplies.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from gatesim.plant.radio_tables import Bursts

DIGITS = 12
"""Decimals of what is tabled: coarse against the last digit in which platforms differ, fine against any chance."""

HALVINGS = 48
"""Gaps of up to 2^48 us are told apart; a longer one keeps no memory."""


class BurstChain(NamedTuple):
    """The two states, ready for a run.

    `share_bad` in the long run; `memory[k]` is kept over 2^k us (in time), or `step` from frame to frame (per frame).
    """

    loss_in_good: float
    loss_in_bad: float
    share_bad: float
    step: float
    memory: tuple[float, ...]

    def chance_of_bad(self, bad: bool, gap: float) -> float:
        """The chance that the state is bad, for a state this long ago (us)."""
        kept = self.step if not self.memory else self._kept(int(gap))
        return self.share_bad + ((1.0 if bad else 0.0) - self.share_bad) * kept

    def _kept(self, gap: int) -> float:
        if gap >> HALVINGS:
            return 0.0
        kept = 1.0
        for k, one in enumerate(self.memory):
            if gap >> k & 1:
                kept *= one
        return kept


def chain_of(bursts: Bursts) -> BurstChain:
    """The chain of a site's `bursts` table (checked before: one of its two forms is whole)."""
    if bursts.mean_good is not None and bursts.mean_bad is not None:
        rate = 1 / bursts.mean_good + 1 / bursts.mean_bad
        share = bursts.mean_bad / (bursts.mean_good + bursts.mean_bad)
        memory = tuple([round(math.exp(-rate * (1 << k)), DIGITS) for k in range(HALVINGS)])
        return BurstChain(bursts.loss_in_good, bursts.loss_in_bad, share, 0.0, memory)
    worse, better = bursts.good_to_bad or 0.0, bursts.bad_to_good or 0.0
    share = worse / (worse + better) if worse + better > 0 else 0.0
    return BurstChain(bursts.loss_in_good, bursts.loss_in_bad, share, 1 - worse - better, ())
