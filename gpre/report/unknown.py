"""Where two programs stand at places that nobody knows, and why: for people."""

from __future__ import annotations

import numpy as np

from gpre.driver.counting import Counted
from gpre.driver.proving import Proved
from gpre.motion.motion import Motion
from gpre.motion.unknown import Unknown

MOST = 12  # lines; what comes after is counted
_AXES = "XYZ"


def unknown_lines(proved: Proved) -> list[str]:
    """Return what is not known in both programs, a sentence each, at most MOST and a count.

    Stretches that both programs have are told by the lines of the first.
    """
    before, after = (_sentences(side) for side in (proved.before, proved.after))
    here = {reason for _, reason in before}
    said = [text for text, _ in before]
    said += [
        f"{text} (in {proved.after.program.source.name})"
        for text, reason in after
        if reason not in here
    ]
    if len(said) > MOST:
        said[MOST:] = [f"and {len(said) - MOST:,} more such stretches"]
    return said


def _sentences(side: Counted) -> list[tuple[str, str]]:
    """Return for each stretch its sentence and its reason; axes lost together share one."""
    motion = side.motion
    groups: dict[tuple[int, str, int], list[Unknown]] = {}
    for each in motion.unknown:
        groups.setdefault((each.block, each.reason, _until(motion, each)), []).append(each)
    result = []
    for (block, reason, last), members in groups.items():
        axes = _listed([_AXES[each.axis] for each in members])
        them = "it" if len(members) == 1 else "them"
        until = f" until line {last + 1} states {them}" if last >= 0 else " on"
        here = (
            f"from line {block + 1}{until}" if last != block else f"where line {block + 1} starts"
        )
        result.append((f"{axes} unknown {here}: {reason}", reason))
    return result


def _until(motion: Motion, each: Unknown) -> int:
    """Return the block in which the axis is stated again, -1 where it never is."""
    last = each.last - 1
    return int(motion.block[last]) if np.isfinite(motion.end[last, each.axis]) else -1


def _listed(names: list[str]) -> str:
    """Return names as people list them."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
