"""Whether two sites are the same, told by a short text."""

from __future__ import annotations

import hashlib
from typing import Any


def site_hash(site: Any) -> str:
    """SHA-256 of everything that a site says."""
    return hashlib.sha256(repr(site).encode()).hexdigest()
