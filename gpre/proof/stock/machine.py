"""Runs moves on a height field, and keeps what each of them took off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.motion.motion import Motion
from gpre.proof.stock.cutter import Cutter
from gpre.proof.stock.field import Field
from gpre.proof.stock.sweep import sweep

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

NOTHING = 1e-6  # mm; a chip thinner than this is rounding


@dataclass(frozen=True)
class Taken:
    """What each move of a program took off; n moves, one row each.

    depth: (n,) mm, the thickest metal along the tool's axis. width: (n,) mm, how wide the metal
    lay square to the way; 0 for a move straight down. volume: (n,) mm³, and of it what stood on
    the right of the way: right, (n,) mm³. place: (n, 2) mm, where it was thickest.
    """

    depth: Floats
    width: Floats
    volume: Floats
    right: Floats
    place: Floats

    @classmethod
    def nothing(cls, count: int) -> Taken:
        """Give the record before anything was cut."""
        depth, width, volume, right = np.zeros((4, count))
        return cls(depth, width, volume, right, np.full((count, 2), np.nan))


@dataclass(frozen=True)
class Bench:
    """What a program is run on.

    fields: by the number of the frame (work system and origin) in which they lie. frame: (n,), of
    each move. cutters: by the number of the tool. taken: the record of what its moves took off.
    """

    fields: Mapping[int, Field]
    frame: NDArray[np.int64]
    cutters: Mapping[int, Cutter]
    taken: Taken


def machine(motion: Motion, rows: Ints, bench: Bench) -> None:
    """Cut with some moves, in order; the fields and the record are brought up to date."""
    low = np.minimum(motion.start[:, 2], motion.end[:, 2])
    tools = [state.tool for state in motion.states]
    highest = {number: float(field.top.max()) for number, field in bench.fields.items()}
    for row in rows.tolist():
        number = int(bench.frame[row])
        cutter = bench.cutters[tools[int(motion.state[row])]]
        # an arc in another plane may dip below its ends
        dips = motion.sweep[row] != 0.0 and motion.plane[row] != 17
        if not dips and low[row] - cutter.drop >= highest[number]:
            continue
        _cut(motion, row, bench.fields[number], cutter, bench.taken)


def _cut(motion: Motion, row: int, field: Field, cutter: Cutter, taken: Taken) -> None:
    cell = field.grid.cell
    left, right = np.inf, -np.inf
    for piece in sweep(field, motion, row, cutter):
        top = field.top[piece.window]
        if not top.size:
            continue
        chip = top - piece.height
        most = float(chip.max())
        if not most > NOTHING:
            continue
        cut = chip > NOTHING
        np.copyto(top, piece.height, where=cut)
        np.copyto(field.by[piece.window], row, where=cut)
        aside = np.broadcast_to(piece.aside, chip.shape)[cut]
        thick = chip[cut]
        volume = float(thick.sum())
        taken.volume[row] += volume * cell * cell
        taken.right[row] += float(thick @ (aside < 0.0)) * cell * cell
        left, right = min(left, float(aside.min())), max(right, float(aside.max()))
        if most > taken.depth[row]:
            taken.depth[row] = most
            at = np.unravel_index(int(chip.argmax()), chip.shape)
            rows, columns = piece.window
            taken.place[row] = field.x[columns][at[1]], field.y[rows][at[0]]
    if right > left:
        taken.width[row] = right - left + cell
