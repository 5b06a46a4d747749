"""A mill whose profile states what is in force at the start, for tests that are not about that."""

from dataclasses import replace

from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.motion.not_stated import SETTINGS

STATED = frozenset(SETTINGS)
KNOWN = Mill(controller=Controller(stated=STATED))


def known(mill: Mill) -> Mill:
    """Return the mill with units, distance mode and plane stated by its profile."""
    return replace(mill, controller=replace(mill.controller, stated=STATED))
