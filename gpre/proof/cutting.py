"""The cutting path must be the same both ways, and every cycle must keep what it does in a hole."""

from __future__ import annotations

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import polar
from gpre.geometry.coverage import REACH, Coverage, coverage
from gpre.geometry.tolerance import ARC_RADII, POINT, RESOLUTION
from gpre.motion.motion import Role
from gpre.program.words import BlockFlag
from gpre.proof.planes import travel_planes
from gpre.proof.proof import Obligation
from gpre.proof.side import Bools, Floats, Ints, Pair, Side, sub
from gpre.proof.swept import Swept

Hole = tuple[object, ...]


def cutting_path(pair: Pair) -> Obligation:
    """Show that each program cuts wherever the other cuts, as deep, within the tolerance.

    New moves at feed on or above the travel plane cut nothing and do not count, nor do those that
    stay within what the tool has swept.
    """
    rows = pair.before.feeding, _not_in_the_air(pair)
    extra = _added(pair, rows)
    if not extra.holds and _idle(pair, rows[1][extra.failed]):
        rows = rows[0], np.setdiff1d(rows[1], rows[1][extra.failed])
        extra = _added(pair, rows)
    missing = _left_out(pair, rows)
    worst, side, which = max(
        ((missing, pair.before, 0), (extra, pair.after, 1)),
        key=lambda each: (not each[0].holds, each[0].greatest),
    )
    block = int(side.motion.block[rows[which][worst.row]]) if worst.row >= 0 else None
    figure = f"left out at most {_mm(missing)}, added at most {_mm(extra)}"
    if not worst.holds:
        x, y, z = worst.point
        what = "is no longer cut" if which == 0 else "was not cut"
        figure += f"; X{x:.4f} Y{y:.4f} Z{z:.4f} {what}"
    return Obligation(
        "cutting path",
        holds=missing.holds and extra.holds,
        figure=figure,
        value=max(missing.greatest, extra.greatest),
        limit=pair.tolerance,
        before=block if which == 0 else None,
        after=block if which == 1 else None,
    )


def _left_out(pair: Pair, rows: tuple[Ints, Ints]) -> Coverage:
    """Return how far the path of `before` leaves that of `after`; rows of both."""
    old, new = sub(pair.before, rows[0]), sub(pair.after, rows[1])
    groups = pair.groups[0][rows[0]], pair.groups[1][rows[1]]
    return coverage(old, new, pair.tolerance, of_group=groups[0], by_group=groups[1])


def _added(pair: Pair, rows: tuple[Ints, Ints]) -> Coverage:
    """Return how far the path of `after` leaves that of `before`; rows of both."""
    old, new = sub(pair.before, rows[0]), sub(pair.after, rows[1])
    groups = pair.groups[0][rows[0]], pair.groups[1][rows[1]]
    return coverage(new, old, pair.tolerance, of_group=groups[1], by_group=groups[0])


def _idle(pair: Pair, rows: Ints) -> bool:
    """Return whether all these moves of `after` stay within what the tool has swept."""
    swept = Swept(pair)
    return all(swept.holds(row) for row in rows.tolist())


def true_arcs(pair: Pair) -> Obligation:
    """Show that new arcs are as true as the original's: a controller may refuse others.

    The radii at the two ends of an arc may differ by 0.002 mm (NISTIR 6556, 3.5.3), or by what
    the original's own arcs have.
    """
    limit = max(ARC_RADII, float(_radii_differ(pair.before).max(initial=0.0)))
    differ = _radii_differ(pair.after)
    worst = float(differ.max(initial=0.0))
    holds = worst <= limit + POINT
    block = int(pair.after.motion.block[int(np.argmax(differ))]) if not holds else None
    return Obligation(
        "arcs",
        holds=holds,
        figure=f"the radii at their ends differ by at most {worst:.4f} mm",
        value=worst,
        limit=limit,
        after=block,
    )


def _radii_differ(side: Side) -> Floats:
    """(n,) mm: how far the radii at the ends of each arc differ, 0 for other moves."""
    result = np.zeros(len(side.motion))
    rows, arcs = paths.arcs_of(sub(side, side.feeding))
    result[side.feeding[rows]] = np.abs(polar(arcs).radius_change)
    return result


def _not_in_the_air(pair: Pair) -> Ints:
    after = pair.after
    rows = after.feeding
    lowest = paths.bounds(sub(after, rows))[0][:, 2]
    planes = travel_planes(pair.before, pair.job)
    in_the_air = (pair.partner[rows] < 0) & (lowest >= planes[after.setup[rows]] - RESOLUTION)
    return rows[~in_the_air]


def _mm(found: Coverage) -> str:
    return f"{found.greatest:.4f} mm" if np.isfinite(found.greatest) else f"more than {REACH:g} mm"


def same_holes(pair: Pair) -> Obligation:
    """Show that every cycle makes the same holes: code, place, depth, R, P and Q."""
    old, new = _holes(pair.before), _holes(pair.after)
    gone, added = old.keys() - new.keys(), new.keys() - old.keys()
    changed = [hole for hole in old.keys() & new.keys() if len(old[hole]) != len(new[hole])]
    count = sum(len(blocks) for blocks in old.values())
    if not (gone or added or changed):
        return Obligation(
            "holes",
            holds=True,
            figure=f"all {count} holes of cycles are the same" if count else "no holes of cycles",
        )
    was = next(iter(sorted(gone, key=lambda hole: old[hole])), None)
    now = next(iter(sorted(added, key=lambda hole: new[hole])), None)
    odd = was or now or changed[0]
    _, code, x, y, z, *_ = odd
    return Obligation(
        "holes",
        holds=False,
        figure=f"G{int(str(code)) / 10:g} at X{x:.4f} Y{y:.4f} to Z{z:.4f} {_other_hole(was, now)}",
        before=old[odd][0] if odd in old else None,
        after=new[odd][0] if odd in new else None,
    )


def _other_hole(was: Hole | None, now: Hole | None) -> str:
    """Say what became of a hole; None: there is none that only one of the two programs makes."""
    if was is None or now is None:
        return "is not made as often" if was is now else "is new" if was is None else "is gone"
    if was[1:5] != now[1:5]:
        return "is not the same"
    if was[7] != now[7]:
        return f"starts from Z{now[7]:.4f}, not Z{was[7]:.4f}"
    return "is made with another P or Q" if was[8:] != now[8:] else "is made at another time"


def _holes(side: Side) -> dict[Hole, list[int]]:
    """Return the holes of cycles with the blocks that make them."""
    motion = side.motion
    result: dict[Hole, list[int]] = {}
    rows = np.flatnonzero(motion.role != Role.NONE)
    if not len(rows):
        return result
    words = _CycleWords(side)
    ends = np.flatnonzero(np.append(_new_hole(side, rows)[1:], True))
    first = 0
    for last in ends.tolist():
        mine = rows[first : last + 1]
        first = last + 1
        feed = mine[motion.role[mine] == Role.FEED]
        if not len(feed):
            continue
        row, block = int(mine[0]), int(motion.block[mine[0]])
        code = motion.state_of(row).motion
        place = (*motion.end[feed[-1]].tolist(), *motion.start[feed[0]].tolist())
        hole = (
            int(side.section[row]),
            code,
            *(_rounded(each) for each in place),
            *words.at(block, code),
        )
        result.setdefault(hole, []).append(block)
    return result


def _rounded(value: float) -> float:
    if np.isnan(value):  # where the place is not known, both programs must not know it
        return float("inf")
    return round(round(value / RESOLUTION) * RESOLUTION, 6) + 0.0


def _new_hole(side: Side, rows: Ints) -> Bools:
    """(k,): the rows of cycle moves that begin a hole: another block, or the next repeat."""
    motion = side.motion
    new = np.ones(len(rows), bool)
    new[1:] = (motion.block[rows][1:] != motion.block[rows][:-1]) | (np.diff(rows) > 1)
    new[1:] |= motion.role[rows][1:] == Role.POSITION
    return new


class _CycleWords:
    """P and Q of cycles, which stay in force from block to block (NISTIR 6556, 3.5.16)."""

    def __init__(self, side: Side) -> None:
        self._side = side
        self._code = 0
        self._sticky: dict[str, float | bytes] = {}

    def at(self, block: int, code: int) -> tuple[object, ...]:
        """Return what a cycle's block has in force besides place and depth."""
        if code != self._code:
            self._sticky = {}
        self._code = code
        program = self._side.program
        if program.blocks.flags[block] & BlockFlag.STATEMENT:
            self._sticky["block"] = program.source.block_bytes(block)
        first, last = program.blocks.first_word[block : block + 2].tolist()
        for letter, value in zip(
            program.words.letter[first:last].tolist(),
            program.words.value[first:last].tolist(),
            strict=True,
        ):
            if letter in b"PQ":
                self._sticky[chr(letter)] = value
        return tuple(sorted(self._sticky.items()))
