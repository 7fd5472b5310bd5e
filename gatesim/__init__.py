"""gatesim: every fault of a gate's protective devices, at every moment, before anyone stands in the path."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from gatesim.plant.logic.contract import Classifier, Controller, Receiver
    from gatesim.run import run_scenario
    from gatesim.scenario.read import read_scenario, read_site

__version__ = "0.1.0"
__all__ = ["Classifier", "Controller", "Receiver", "__version__", "read_scenario", "read_site", "run_scenario"]

_FROM = {
    "Classifier": "gatesim.plant.logic.contract",
    "Controller": "gatesim.plant.logic.contract",
    "Receiver": "gatesim.plant.logic.contract",
    "read_scenario": "gatesim.scenario.read",
    "read_site": "gatesim.scenario.read",
    "run_scenario": "gatesim.run",
}


def __getattr__(name: str) -> Any:
    # Loaded when first asked for: `gatesim --help` reads no file and runs no simulation.
    if name not in _FROM:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_FROM[name]), name)
