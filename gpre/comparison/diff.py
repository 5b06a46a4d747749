"""Compares two programs: their blocks, their motion, their cutting paths."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.comparison.comparison import Comparison, Figures
from gpre.comparison.motions import first_difference
from gpre.comparison.not_followed import hidden_difference
from gpre.geometry import path as paths
from gpre.geometry.coverage import coverage
from gpre.geometry.matching import keys_of, numbered, undirected
from gpre.geometry.too_dense import CrowdedError
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind
from gpre.proof.blocks import compare_blocks
from gpre.proof.side import Side, sub
from gpre.reversals.find import find_reversals
from gpre.source.text import SourceText

Ints = NDArray[np.intp]


def diff(before: SourceText, after: SourceText, mill: Mill | None = None) -> Comparison:
    """Compare two programs; both are read and traced afresh."""
    mill = (mill or Mill()).from_its_start()
    return diff_of(Side.of(before, mill), Side.of(after, mill), mill)


def diff_of(before: Side, after: Side, mill: Mill) -> Comparison:
    """Compare two programs that were run on a mill, from where it has the tool start."""
    sides = before, after
    blocks = compare_blocks(*(side.program.source.blocks() for side in sides))
    gone, added = _only_in_one(*sides)
    left_out, left_out_at = _farthest(sides[0], sides[1], mill.limits.tolerance)
    more, more_at = _farthest(sides[1], sides[0], mill.limits.tolerance)
    difference = first_difference(*sides, mill) or hidden_difference(*sides, blocks.hunks)
    return Comparison(
        before.program.source,
        after.program.source,
        _figures(sides[0], mill),
        _figures(sides[1], mill),
        blocks.hunks,
        len(blocks.same),
        blocks.changed,
        blocks.added,
        blocks.gone,
        added,
        gone,
        left_out,
        more,
        left_out_at,
        more_at,
        not difference,
        difference,
    )


def _figures(side: Side, mill: Mill) -> Figures:
    motion = side.motion
    resolution = (mill.x.resolution, mill.y.resolution, mill.z.resolution)
    found = find_reversals(motion, resolution)
    total = np.bincount(found.axis, minlength=3).tolist()
    in_cut = np.bincount(found.axis[found.in_cut], minlength=3).tolist()
    known = motion.known
    length = np.zeros(len(motion))
    length[known] = paths.lengths(paths.take(motion, known))
    rapid = motion.kind == Kind.RAPID
    return Figures(
        len(side.program),
        len(motion),
        (total[0], total[1], total[2]),
        (in_cut[0], in_cut[1], in_cut[2]),
        float(length[~rapid].sum()),
        float(length[rapid].sum()),
        int((~known).sum()),
    )


def _only_in_one(before: Side, after: Side) -> tuple[int, int]:
    """How many moves only `before` makes, and how many only `after`, either way round."""
    keys = [
        undirected(keys_of(side.motion, (side.motion.kind == Kind.RAPID).astype(np.int64)))[
            side.moves | ~side.ordinary
        ]
        for side in (before, after)
    ]
    left, right = numbered(*keys)
    count = int(max(left.max(initial=-1), right.max(initial=-1))) + 1
    surplus = np.bincount(left, minlength=count) - np.bincount(right, minlength=count)
    return int(np.maximum(surplus, 0).sum()), int(np.maximum(-surplus, 0).sum())


def _farthest(of: Side, by: Side, tolerance: float) -> tuple[float, int | None]:
    """How far the cutting path of one program leaves the other's, mm, and the block of it."""
    rows = of.feeding
    try:
        found = coverage(sub(of, rows), sub(by, by.feeding), tolerance, below=False)
    except CrowdedError:
        return np.inf, None
    block = int(of.motion.block[rows[found.row]]) if found.row >= 0 else None
    return found.greatest, block
