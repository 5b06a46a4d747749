"""A mill whose profile leaves little open, for tests that are about other things.

It states what is in force at the start, and its tools are changed by hand: the axes stay.
"""

from dataclasses import replace

from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.motion.not_stated import SETTINGS

STATED = frozenset(SETTINGS)
KNOWN = Mill(controller=Controller(stated=STATED, tool_change_moves="none"))  # and its start


def known(mill: Mill) -> Mill:
    """Return the mill with units, distance mode, plane and tool change stated by its profile."""
    controller = replace(mill.controller, stated=STATED, tool_change_moves="none", start_known=True)
    return replace(mill, controller=controller)


def changed_by_hand(mill: Mill) -> Mill:
    """Return the mill with tools that are changed by hand, the axes stay; it knows its start."""
    controller = replace(mill.controller, tool_change_moves="none", start_known=True)
    return replace(mill, controller=controller)


def known_mill(*parts: object, **others: object) -> Mill:
    """Return a mill made of parts, as `Mill` takes them, with the rest stated as above."""
    return known(Mill(*parts, **others))  # type: ignore[arg-type]
