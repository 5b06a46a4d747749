"""A motion as samples: the ends of every move, points along arcs, and every place of a turn.

The play operator is exact once each turning point of the screw is a sample, so straight moves need
their two ends only; but where they stand for a stretch of an arc of the path that is meant, as the
window of a take-up does, the table is farthest from it in between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.repeats import evenly
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind, Motion
from gpre.prediction.curves import Curves

MOST_SAMPLES = 1_000_000  # on arcs; beyond that the chords grow
_MOST_STEPS = 16  # of a straight move beside an arc; windows are short
# rad; a deviation that goes as a cosine is met within 2 % even so
_GREATEST_STEP = np.pi / 8.0


@dataclass(frozen=True)
class Frames:
    """(n, 3) each, mm: what leads each move of a motion to machine coordinates and to the screw.

    One row where it is the same for all moves.
    """

    origin: Floats
    shift: Floats

    @classmethod
    def of(cls, motion: Motion) -> Frames:
        """Read them off the modal states and off where moves start."""
        origins = motion.origins
        if not len(motion):
            return cls(np.zeros((1, 3)), np.zeros((1, 3)))
        one = (origins == origins[0]).all()
        origin = origins[:1] if one else origins[motion.state]
        # a screw counts from anywhere, so a zero that is not known may stand for itself
        first = np.nan_to_num(origins[motion.state[:1]], nan=0.0)
        step = np.nan_to_num(motion.end[:-1] - motion.start[1:], nan=0.0)
        if not step.any():
            return cls(origin, first)
        return cls(origin, np.cumsum(np.vstack((first, step)), axis=0))


@dataclass(frozen=True)
class Samples:
    """m samples in the order of the motion.

    row: (m,) the move. along: (m,) 0 to 1, the place on it. point: (m, 3) mm, program coordinates,
    NaN where not known. curves: the moves. chord: mm, how far the chords of arcs leave them.
    """

    curves: Curves
    row: Ints
    along: Floats
    point: Floats
    frames: Frames
    chord: float

    def __len__(self) -> int:
        """Return the number of samples."""
        return len(self.row)

    @property
    def inner(self) -> NDArray[np.bool_]:
        """(m - 1,) bool: a sample and the next lie on one move."""
        result: NDArray[np.bool_] = self.row[1:] == self.row[:-1]
        return result

    def machine(self, axis: int) -> Floats:
        """(m,) mm: machine coordinates."""
        return self._in(self.frames.origin, axis)

    def screw(self, axis: int) -> Floats:
        """(m,) mm: machine coordinates as they would be if offsets never changed.

        An axis that stands still while the program counts it anew keeps its number.
        """
        return self._in(self.frames.shift, axis)

    def _in(self, frame: Floats, axis: int) -> Floats:
        by = frame[0, axis] if len(frame) == 1 else frame[self.row, axis]
        result: Floats = self.point[:, axis] + by
        return result


def sample(motion: Motion, mill: Mill, beside: Motion | None = None) -> Samples:
    """Sample a motion: chords within a tenth of the mill's tolerance, turns met exactly.

    beside: the path that is meant, where it is another. Straight moves at feed then have samples so
    near together that an arc of it bows by no more than that in between.
    """
    curves = Curves(motion)
    chord = mill.limits.tolerance / 10.0
    radius = _least_radius(beside)
    count = _counts(curves, chord, radius)
    many = int(count.sum()) - len(count)
    if many > MOST_SAMPLES:
        chord *= (many / MOST_SAMPLES) ** 2
        count = _counts(curves, chord, radius)
    row, along = _with_quadrants(curves, *evenly(count))
    samples = Samples(curves, row, along, curves.points(row, along), Frames.of(motion), chord)
    return _with_backlash_places(samples, mill)


def insert(samples: Samples, after: Ints, along: Floats) -> Samples:
    """Add samples at places `along` (k,) behind the samples `after` (k,), on the same moves."""
    if not len(after):
        return samples
    order = np.lexsort((along, after))
    after, along = after[order], along[order]
    fresh = np.append(True, (np.diff(after) > 0) | (np.diff(along) > 0.0))
    after, along = after[fresh], along[fresh]
    row = samples.row[after]
    point = samples.curves.points(row, along)
    # where each sample of the result comes from, the new ones counted behind the old
    source = np.insert(np.arange(len(samples)), after + 1, len(samples) + np.arange(len(after)))
    return Samples(
        samples.curves,
        np.concatenate((samples.row, row)).take(source),
        np.concatenate((samples.along, along)).take(source),
        np.concatenate((samples.point, point)).take(source, axis=0),
        samples.frames,
        samples.chord,
    )


def places(samples: Samples, axis: int, after: Ints, share: Floats) -> Floats:
    """(k,): where on its move an axis has made a share of the travel from a sample to the next.

    Straight moves by proportion; arcs are solved, as each runs one way between two samples.
    """
    first, last = samples.along[after], samples.along[after + 1]
    result: Floats = first + share * (last - first)
    row = samples.row[after]
    on_arc = np.flatnonzero(samples.curves.motion.kind[row] == Kind.ARC)
    if len(on_arc):
        low = samples.point[after[on_arc], axis]
        high = samples.point[after[on_arc] + 1, axis]
        target = low + share[on_arc] * (high - low)
        ends = first[on_arc], last[on_arc]
        result[on_arc] = samples.curves.solve(axis, row[on_arc], target, ends)
    return result


def _least_radius(motion: Motion | None) -> float:
    """Return the least radius of the arcs of a motion, mm; infinite where it has none."""
    if motion is None:
        return np.inf
    curves = Curves(motion)
    radius = curves.about.radius[np.isfinite(curves.about.radius)]
    return float(radius.min(initial=np.inf))


def _counts(curves: Curves, chord: float, radius: float) -> Ints:
    """(n,): how many steps each move is cut into; 1 for straight ones, where `radius` is infinite.

    The middle of a straight move is one of its places: there it is farthest from an arc.
    """
    motion = curves.motion
    count = np.ones(len(motion), np.intp)
    if np.isfinite(radius):
        step = np.sqrt(8.0 * radius * chord)  # chord = step² / 8R
        travel = motion.end - motion.start
        length = np.nan_to_num(np.sqrt(np.einsum("ij,ij->i", travel, travel)))
        steps = np.minimum(2.0 * np.ceil(length / (2.0 * step)), _MOST_STEPS)
        long = motion.at_feed & (length > step)
        count[long] = steps[long].astype(np.intp)
    if len(curves.arc_row):
        turn = np.nan_to_num(np.abs(curves.arcs.sweep))
        least = np.ceil(turn / _GREATEST_STEP).astype(np.intp)
        count[curves.arc_row] = np.maximum(arc.chord_counts(curves.arcs, chord), least)
    return count


def _with_quadrants(curves: Curves, row: Ints, along: Floats) -> tuple[Ints, Floats]:
    """Add the places where an axis turns within an arc."""
    if not len(curves.arc_row):
        return row, along
    found = [arc.quadrants_of(curves.arcs, curves.about, axis) for axis in range(3)]
    which = curves.arc_row[np.concatenate([each[0] for each in found])]
    place = np.concatenate([each[1] for each in found])
    position = np.searchsorted(row + along / 2.0, which + place / 2.0)
    new = row[position] + along[position] / 2.0 != which + place / 2.0
    order = np.lexsort((place[new], position[new]))
    position, which, place = position[new][order], which[new][order], place[new][order]
    return np.insert(row, position, which), np.insert(along, position, place)


def _with_backlash_places(samples: Samples, mill: Mill) -> Samples:
    """Add samples where an axis passes a row of its backlash table."""
    after: list[Ints] = []
    along: list[Floats] = []
    inner = samples.inner
    for axis, each in enumerate(mill.axes):
        if not isinstance(each.lost_motion, tuple) or each.gravity_loaded:
            continue
        machine = samples.machine(axis)
        for place, _ in each.lost_motion:
            behind = machine > place
            crossed = np.flatnonzero((behind[1:] != behind[:-1]) & inner)
            crossed = crossed[np.isfinite(machine[crossed] + machine[crossed + 1])]
            share = (place - machine[crossed]) / (machine[crossed + 1] - machine[crossed])
            some = (share > 0.0) & (share < 1.0)
            after.append(crossed[some])
            along.append(places(samples, axis, crossed[some], share[some]))
    if not after:
        return samples
    return insert(samples, np.concatenate(after), np.concatenate(along))
