"""The worst case over the uncertainty of the measured backlash, not only its mean.

The true backlash of each axis lies within its uncertainty of the profile's. The prediction is made
again at every corner of that box: all axes at their least or greatest, in every combination.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from gpre.mill.mill import Mill
from gpre.motion.motion import Motion
from gpre.prediction.deviation import (
    Deviation,
    Worst,
    aim_of,
    deviation,
    deviation_from,
    worst_places,
)
from gpre.prediction.samples import Samples, sample
from gpre.prediction.table_path import Change, TablePath, table_path, with_ends


@dataclass(frozen=True, slots=True)
class Corner:
    """change: mm, by which the backlash of X, Y and Z differs. worst: the worst place, or None."""

    change: Change
    worst: Worst | None

    @property
    def greatest(self) -> float:
        """The greatest deviation, mm."""
        return self.worst.size if self.worst else 0.0


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """corners: each combination of least and greatest backlash; empty if nothing is uncertain."""

    corners: tuple[Corner, ...]

    @property
    def worst(self) -> Corner | None:
        """The corner where the deviation is greatest."""
        return max(self.corners, key=lambda corner: corner.greatest, default=None)


def sensitivity(
    motion: Motion, mill: Mill, *, intended: Motion | None = None, samples: Samples | None = None
) -> Sensitivity:
    """Predict the deviation at every corner of the uncertainty.

    With `controller` the controller takes up the profile's backlash and the rest shows. With
    `program` and an intended path the program's own take-ups meet another backlash.
    """
    samples = sample(motion, mill) if samples is None else samples
    changes = corners_of(motion, mill)
    # the axes do not know of one another: the first and the last corner have all take-ups
    for change in changes[:1] + changes[-1:]:
        samples = with_ends(samples, mill, change)
    corners: list[Corner] = []
    aim = None
    for change in changes:
        path = table_path(motion, mill, change=change, samples=samples, ready=True)
        if intended is None:
            aim = aim_of(motion, path) if aim is None else aim
            found = deviation(motion, path, aim)
        else:
            found = held(motion, path, mill, intended)
        worst = worst_places(motion, found, 1)
        corners.append(Corner(change, worst[0] if worst else None))
    return Sensitivity(tuple(corners))


def held(motion: Motion, path: TablePath, mill: Mill, intended: Motion | None) -> Deviation:
    """Hold a table path against the intended one, or against the program itself for None."""
    if intended is None:
        return deviation(motion, path)
    return deviation_from(motion, path, intended, window_of(mill))


def window_of(mill: Mill) -> float:
    """Return how far apart along their runs places of the two paths may be that belong together."""
    return 4.0 * max(each.greatest_lost_motion + each.uncertainty for each in mill.axes)


def corners_of(motion: Motion, mill: Mill) -> tuple[Change, ...]:
    """Return the corners; one gravity-loaded, at rest or certain has one value only."""
    values: list[tuple[float, ...]] = []
    for axis, each in enumerate(mill.axes):
        travel = np.concatenate((motion.start[:, axis], motion.end[:, axis]))
        travel = travel[np.isfinite(travel)]
        moves = len(travel) > 0 and float(np.ptp(travel)) > each.resolution
        moves |= bool((motion.sweep != 0.0).any())
        varies = moves and each.uncertainty > 0.0 and not each.gravity_loaded
        values.append((-each.uncertainty, each.uncertainty) if varies else (0.0,))
    found = tuple((x, y, z) for x, y, z in itertools.product(*values))
    return () if found == ((0.0, 0.0, 0.0),) else found
