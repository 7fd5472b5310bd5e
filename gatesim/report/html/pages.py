"""Pages that stand alone: one file with its style, script and data, which asks nothing of any network.

A policy in the head lets run that one style and that one script only, known by their SHA-256 (CSP level 2, section 7.16
and 7.17 of the W3C recommendation), and nothing from elsewhere.  Text of a scenario is escaped by the templates; data
for the script stands in a block that is never run, with every `<`, `>`, `&` and `'` written as an escape.
"""

from __future__ import annotations

import os
from base64 import b64encode
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from gatesim import __version__
from gatesim.errors import BadUsage
from gatesim.requirements.verdict import Outcome
from gatesim.search.classes import Class
from gatesim.shown import visible

if TYPE_CHECKING:
    from jinja2 import Environment

FILES = Path(__file__).with_name("files")
CAUTION = ("A verdict is about the model and its figures. It is no statement about a gate that stands somewhere, and "
           "it replaces no test on the gate.")

MARKS: dict[str, tuple[str, str]] = {
    "as expected": ("as", "="), "differs": ("bad", "≠"), "error": ("bad", "!"),
    Outcome.PASS.value: ("good", "✓"), Outcome.FAIL.value: ("bad", "✗"),
    Outcome.NOT_EXERCISED.value: ("idle", "○"), Outcome.UNDETERMINED.value: ("open", "?"),
    Class.SAFE.value: ("good", "✓"), Class.NO_EFFECT.value: ("as", "–"), Class.NUISANCE.value: ("open", "■"),
    Class.LATENT.value: ("hidden", "◐"), Class.LATE.value: ("bad", "⧗"), Class.UNSAFE.value: ("bad", "✗"),
}
"""Of each outcome or class its look and its sign; the words always stand beside them."""


def page(name: str, title: str, data: dict[str, Any] | None = None, **fields: Any) -> str:
    """A whole page from the template and script of this name; `data` is what the script reads.

    BadUsage where jinja2 is not installed.
    """
    style, script = _file("style.css"), _file("common.js") + _file(f"{name}.js")
    policy = (f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; "
              "base-uri 'none'; form-action 'none'")
    made = _environment().get_template(f"{name}.html").render(
        title=title, data=data or {}, style=style, script=script, policy=policy, caution=CAUTION, marks=MARKS,
        version=__version__, **fields)
    # What can't be written as UTF-8 (a lone surrogate), or hides, is shown as its escape.
    return visible(made.encode("utf-8", "backslashreplace").decode()) + "\n"


def can_write() -> None:
    """BadUsage, before anything runs, where jinja2 is not installed."""
    _environment()


@cache
def _environment() -> Environment:
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined
    except ImportError:
        raise BadUsage("--format html needs jinja2: `pip install 'gatesim[html]'`") from None
    return Environment(loader=FileSystemLoader(FILES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
                       lstrip_blocks=True)


@cache
def _file(name: str) -> str:
    return (FILES / name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def link(file: str, output: str | None) -> str | None:
    """A relative link from the page to a file beside it; None where the page goes to nowhere known."""
    if output in (None, "-") or "\\" in file:
        return None
    there = os.path.relpath(file, os.path.dirname(str(output)) or ".")
    return "./" + quote(os.fsencode(there))
