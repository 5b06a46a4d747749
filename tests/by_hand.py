"""A mill whose tools are changed by hand: the axes stay where they are meanwhile."""

from __future__ import annotations

from dataclasses import replace

from gpre.mill.mill import Mill


def by_hand(mill: Mill | None = None) -> Mill:
    """Return the mill with that stated in its profile."""
    mill = mill or Mill()
    return replace(mill, controller=replace(mill.controller, tool_change_moves="none"))
