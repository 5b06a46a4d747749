"""Work counted in lines of Python that run, which is the same on every machine."""

from __future__ import annotations

import sys
from collections.abc import Callable


def steps(action: Callable[[], object]) -> int:
    """Count the lines of Python that an action runs."""
    count = 0

    def trace(*_: object) -> Callable[..., object]:
        nonlocal count
        count += 1
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        action()
    finally:
        sys.settrace(before)
    return count
