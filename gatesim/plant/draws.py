"""Chance as a pure function of (seed, stream, counter): integer arithmetic only, equal on every platform."""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256

_MASK = (1 << 64) - 1


def stream_key(name: str) -> int:
    """The 64-bit key of a named stream."""
    return int.from_bytes(sha256(name.encode()).digest()[:8], "big")


def _mix(z: int) -> int:
    # The finaliser of SplitMix64 (Steele, Lea, Flood, OOPSLA 2014), which passes the usual statistical batteries.
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9 & _MASK
    z = (z ^ (z >> 27)) * 0x94D049BB133111EB & _MASK
    return z ^ (z >> 31)


@lru_cache(maxsize=4096)
def _begin(seed: int, key: int) -> int:
    return _mix((seed * 0x9E3779B97F4A7C15 + key) & _MASK)


def draw(seed: int, key: int, counter: int, below: int) -> int:
    """The counter-th draw of a stream: 0 <= n < below, uniform to within below / 2**64."""
    z = (_begin(seed, key) + (counter + 1) * 0x9E3779B97F4A7C15) & _MASK
    # `_mix`, written out: a frame takes two draws.
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9 & _MASK
    z = (z ^ (z >> 27)) * 0x94D049BB133111EB & _MASK
    return (z ^ (z >> 31)) * below >> 64
