"""JSON for programs, written so that it can be looked at as well: nothing hidden stands in it raw."""

from __future__ import annotations

import json
from typing import Any

from gatesim.shown import HIDDEN


def as_json(value: Any, indent: int = 1) -> str:
    """The value as text, ending in a line feed; hidden characters are escaped, and so read back as they were."""
    # All of them lie below U+10000, and outside of its strings JSON has none.
    text = json.dumps(value, indent=indent, ensure_ascii=False)
    return HIDDEN.sub(lambda found: f"\\u{ord(found.group()):04x}", text) + "\n"
