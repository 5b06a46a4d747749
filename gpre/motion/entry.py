"""What the interpreter hands to the vectorised run of plain blocks, and what that gives back.

A stretch is a run of plain blocks that hold only the letters G X Y Z I J K R F, whose G codes are
G0 to G3, G17 to G19, G90 and G91, or restate what is in force anyway (G94, G21, G54, G40, ...).
`gpre.motion.columns.run_plain(program, first, last, entry, controller)` runs the blocks `first`
to `last` (half open) of one. The caller sees to it that at the entry the motion mode is G0 to G3
and has been stated, the feed mode is G94, and a missing feed has been noted already.

A vectorised run makes no findings but the note of a full circle without an end point: it stops
before the first block that would need another one (a word twice, two codes of one group, I J K R
where no arc is made, radii that differ, ...), and the scalar interpreter goes on from there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.motion.state import State


@dataclass(frozen=True, slots=True)
class StretchEntry:
    """All that is in force between two blocks, as far as plain blocks look at it.

    position: mm, program coordinates, X Y Z; NaN where not known. rotary: degrees, A B C.
    plane: 17, 18 or 19. feed: mm/min, NaN where none is set. motion_stated: a motion mode was
    stated. feed_noted: it was said already that a move at feed has none. zero_noted: it was said
    already that the F0 in force stops a move at feed.
    """

    position: tuple[float, float, float]
    state: State
    plane: int = 17
    feed: float = float("nan")
    rotary: tuple[float, float, float] = (0.0, 0.0, 0.0)
    motion_stated: bool = False
    feed_noted: bool = False
    zero_noted: bool = False


@dataclass(frozen=True)
class Stretch:
    """Moves of a run of plain blocks, k moves; columns as in Motion.

    last: the first block not executed (at most the `last` asked for). exit: what is in force then.
    kind: (k,) uint8. start, end, centre: (k, 3) float64, mm. sweep: (k,) float64, radians.
    plane: (k,) uint8. feed: (k,) float64, mm/min. block: (k,) int32. state: (k,) int32, rows of
    `states`, which need not be free of doubles. findings: notes, in order of the blocks.
    room: how many rows lie free before and behind end, centre, sweep and feed within the arrays
    that these are views of (before end, one more: start and end are views of one array, of the
    places where the tool turns from one move to the next); whoever joins columns may fill them.
    """

    last: int
    exit: StretchEntry
    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    sweep: NDArray[np.float64]
    plane: NDArray[np.uint8]
    feed: NDArray[np.float64]
    block: NDArray[np.int32]
    state: NDArray[np.int32]
    states: tuple[State, ...]
    findings: tuple[Diagnostic, ...] = ()
    room: int = 0
