"""Reads a program on the mill that a profile tells of; of gpre it takes the records alone.

What the profile does not tell is not known: home, where a tool change leaves the axes and where the
tool stands at first are NaN. Zeros that it does not tell lie far apart, so that no two of them are
alike, and the place is NaN where one of them comes in force, until the program states it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from own_blocks import Reading
from own_machine import follow
from own_mills import Machine, Point, plain_machine
from own_steps import Move, Step

if TYPE_CHECKING:
    from gpre.mill.mill import Mill

NOWHERE: Point = (math.nan, math.nan, math.nan)
ZEROS: dict[int, Point] = {
    system: (137.0 * system, 59.0 * system, -200.0 - 7.0 * system) for system in range(1, 10)
}


def machine_of(mill: Mill | None) -> Machine:
    """Return the mill of a profile; without one, the tool stands at the zero of G54 at first."""
    if mill is None:
        return plain_machine(radii=0.01, back_off=0.254, feed=math.nan, home=NOWHERE)
    told = mill.controller
    origins = {**ZEROS, **told.origins}
    start = tuple(a + b for a, b in zip(told.start, origins[1], strict=True))
    change = {"all": NOWHERE, "z": (None, None, math.nan), "none": (None, None, None)}
    return plain_machine(
        origins=origins,
        lengths={**{at: 11.0 * at for at in range(1, 100)}, 0: 0.0, **told.lengths},
        home=told.home or NOWHERE,
        second_home=told.second_home or NOWHERE,
        change=change[told.tool_change_moves],
        start=start if told.start_known else NOWHERE,
        units=told.units,
        plane=told.plane,
        distance=told.distance,
        all_home=told.g28_moves == "all",
        radii=told.arc_radius_tolerance,
        back_off=told.peck_back_off,
        feed=math.nan,
        told_systems=frozenset(told.origins),
        told_lengths=frozenset({0, *told.lengths}),
        reading=Reading(deletes=told.block_delete),
    )


def read_on(text: bytes | str, mill: Mill | None = None) -> list[Step]:
    """Return what a program does on a mill, step by step, as far as it can be followed."""
    return follow(text.encode() if isinstance(text, str) else text, machine_of(mill))


def program_place(move: Move, at: int) -> NDArray[np.float64]:
    """(3,) mm: where a move starts (0) or ends (-1), as the program counts."""
    return np.subtract(move.path[at], move.zero)
