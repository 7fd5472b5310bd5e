"""For all tests: the plant asks no wall clock and draws from no global random numbers."""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from hypothesis import settings

pytest_plugins = ["pytester"]

# The same cases in every run: a red build must be the change's doing, not the day's.
settings.register_profile("same", derandomize=True, deadline=None, database=None)
settings.load_profile("same")

GUARDED = (
    (time, "time"),
    (time, "monotonic"),
    (time, "perf_counter"),
    (time, "sleep"),
    (random, "random"),
    (random, "randrange"),
    (random, "choice"),
)


def _guard(real: Callable[..., Any], name: str) -> Callable[..., Any]:
    def call(*args: Any, **more: Any) -> Any:
        if sys._getframe(1).f_globals.get("__name__", "").startswith("gatesim.plant"):
            raise AssertionError(f"the plant called {name}: its time and its chance come from the world")
        return real(*args, **more)

    return call


@pytest.fixture(autouse=True, scope="session")
def no_clock_and_no_dice_in_the_plant() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        for module, name in GUARDED:
            patch.setattr(module, name, _guard(getattr(module, name), f"{module.__name__}.{name}"))
        yield
