"""How fast the screw crosses its backlash while cutting, where the path itself makes it do so.

A small end mill breaks when the backlash is taken up too fast (common practice, no source). With
`none` and `program` the speed is that of the axis along the path; with `controller` it is the
controller's own, one for all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.mill.mill import Mill
from gpre.motion.motion import Motion
from gpre.prediction.table_path import TablePath


@dataclass(frozen=True)
class TakeUps:
    """k crossings of the backlash by moves at feed, whole or in part, axis by axis.

    row: (k,) the move where each begins. axis: (k,). distance: (k,) mm, how much of the backlash is
    crossed. seconds: (k,). speed: (k,) mm/min, of the screw across the backlash, the greatest.
    """

    row: Ints
    axis: NDArray[np.uint8]
    distance: Floats
    seconds: Floats
    speed: Floats

    def __len__(self) -> int:
        """Return the number of take-ups."""
        return len(self.row)


def take_ups_of(motion: Motion, path: TablePath, mill: Mill) -> TakeUps:
    """Find the take-ups that the path itself makes; none where the controller makes them."""
    samples = path.samples
    step = np.flatnonzero(samples.inner)
    cutting = motion.at_feed[samples.row[step]]
    along = samples.point[step + 1] - samples.point[step]
    length = np.sqrt(np.einsum("ij,ij->i", along, along))
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds = length / motion.feed[samples.row[step]] * 60.0
    found: list[tuple[Ints, Ints, Floats, Floats, Floats]] = []
    for axis, each in enumerate(mill.axes):
        crossed = path.lag[step + 1, axis] - path.lag[step, axis]
        moves = np.flatnonzero((along[:, axis] != 0.0) & np.isfinite(crossed + seconds))
        crossed, time = crossed[moves], seconds[moves]
        way = np.where((np.abs(crossed) > DUST) & cutting[moves], np.sign(crossed), 0.0)
        heads = np.flatnonzero(np.diff(way, prepend=np.nan) != 0.0)
        if not len(heads):
            continue
        with np.errstate(divide="ignore", invalid="ignore"):
            speed = np.nan_to_num(np.abs(crossed) / time * 60.0)
        distance = np.abs(np.add.reduceat(crossed, heads))
        some = (distance > each.resolution) & (way[heads] != 0.0)
        row = samples.row[step[moves[heads[some]]]]
        found.append(
            (
                row,
                np.full(len(row), axis, np.intp),
                distance[some],
                np.add.reduceat(time, heads)[some],
                np.maximum.reduceat(speed, heads)[some],
            )
        )
    if not found:
        nothing = np.zeros(0)
        return TakeUps(np.zeros(0, np.intp), np.zeros(0, np.uint8), nothing, nothing, nothing)
    columns = [np.concatenate(parts) for parts in zip(*found, strict=True)]
    order = np.lexsort((columns[1], columns[0]))
    return TakeUps(
        columns[0][order],
        columns[1][order].astype(np.uint8),
        columns[2][order],
        columns[3][order],
        columns[4][order],
    )
