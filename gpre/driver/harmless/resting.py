"""Whether the tool stands clear of metal when something happens, and where, for people.

It does so at a height that is known to be clear (see `Run.clear`). It does so, too, where the
height is not known but nobody has brought the tool down since it was clear for sure: at a tool
change, at home at the top of Z, and where it stands as the program starts. (Common practice, no
source: a tool is changed, and a program started, where there is room for it.)
"""

from __future__ import annotations

import numpy as np

from gpre.driver.harmless.home import G53, is_home, not_up, takes_z, words_of
from gpre.driver.harmless.runs import ProgramRun
from gpre.driver.spelling import NOT_PLAIN
from gpre.motion.events import Event, EventKind
from gpre.motion.motion import Kind, Role

# what may happen meanwhile without a move in Z that is not seen
_STILL = frozenset(
    (
        EventKind.SPINDLE, EventKind.COOLANT, EventKind.MODE, EventKind.MESSAGE, EventKind.STOP,
        EventKind.DWELL, EventKind.HOME, EventKind.OFFSET, EventKind.TOOL_CHANGE,
    )
)  # fmt: skip


def clear_place(run: ProgramRun, event: Event) -> str:
    """Return where the tool stands clear when something happens, or "" if it may not be clear."""
    if event.move and run.ends_clear[1][event.move - 1]:
        return f"at {run.height(event)}"
    if _at_changer(run, event):
        return "where the tool is changed"
    since, place = _last_refuge(run, event)
    return place if _stays_up(run, since, event) else ""


def not_clear(run: ProgramRun, event: Event) -> str:
    """Return that the tool may not be clear when something happens, for people."""
    if event.move and np.isfinite(run.motion.end[event.move - 1, 2]):
        return f"the tool is not clear of the metal there, at {run.height(event)}"
    row = event.move - 1
    why = next(
        (
            f": {each.reason}"
            for each in run.motion.unknown
            if each.axis == 2 and each.first <= row < each.last
        ),
        "",
    )
    return f"whether the tool is clear of the metal there is not known{why}"


def _at_changer(run: ProgramRun, event: Event) -> bool:
    """Return whether G30 has taken Z to where the tool is changed next."""
    row, events = event.move - 1, run.motion.events
    if row < 0 or not any(
        each.kind is EventKind.HOME and each.block == run.motion.block[row] for each in events
    ):
        return False
    if not any(letter == "Z" for letter, _ in words_of(run, row)):
        return False
    for each in events[events.index(event) + 1 :]:
        if each.move != event.move or each.kind not in _STILL:
            return False
        if each.kind is EventKind.TOOL_CHANGE:
            return True
    return False


def _last_refuge(run: ProgramRun, event: Event) -> tuple[int, str]:
    """Return the last place before an event where the tool was clear, and the move after it."""
    found = 0, "where the program starts"
    for each in run.motion.events:
        if each is event:
            break
        if each.kind is EventKind.TOOL_CHANGE:
            found = each.move, "where the tool was changed"
    for row in range(event.move - 1, found[0] - 1, -1):
        words = words_of(run, row)
        in_g91 = G53 in words and run.motion.state_of(row).distance == 91
        if is_home(run, row, words) and takes_z(run, words) and not in_g91:
            return (row + 1, "at home in Z") if not not_up(run, row, words) else found
        if run.motion.kind[row] != Kind.RAPID:
            break
    return found


def _stays_up(run: ProgramRun, since: int, event: Event) -> bool:
    """Return whether the tool only went along X and Y at rapid from a move on, at one height."""
    motion, program = run.motion, run.side.program
    rows = np.arange(since, event.move)
    if (motion.kind[rows] != Kind.RAPID).any() or (motion.role[rows] != Role.NONE).any():
        return False
    blocks = np.unique(motion.block[rows])
    if (program.blocks.flags[blocks] & NOT_PLAIN).any():
        return False
    if any(letter == "Z" for row in rows.tolist() for letter, _ in words_of(run, row)):
        return False
    for each in motion.events:
        if each is event:
            return True
        lowers = each.kind is EventKind.OFFSET and each.value.startswith("G43")
        if each.move >= since and (each.kind not in _STILL or lowers):
            return False
    return True
