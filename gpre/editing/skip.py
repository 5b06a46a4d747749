"""Raised where a place in a program stays as it is."""

from __future__ import annotations


class Skip(Exception):  # noqa: N818
    """Nothing is changed there: `reason`, and what the user could give (`tool 3`, `stock`)."""

    def __init__(self, reason: str, needs: tuple[str, ...] = ()) -> None:
        """Keep both."""
        super().__init__(reason)
        self.reason = reason
        self.needs = needs


def skip_if(reason: str, needs: tuple[str, ...] = ()) -> None:
    """Raise Skip where there is a reason; "" is none: `skip_if(editable.why_not_touch(block))`."""
    if reason:
        raise Skip(reason, needs)
