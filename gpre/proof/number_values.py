"""Numbers in texts by their value, so that `1.`, `1.0` and `01` are the same text."""

from __future__ import annotations

import re

_NUMBER = re.compile(rb"\d+\.?\d*|\.\d+")


def by_value(text: bytes) -> bytes:
    """Return a text with each number written in one manner; signs stay as they are."""
    return _NUMBER.sub(lambda found: b"%r" % float(found.group()), text)
