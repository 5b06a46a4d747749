"""A motion as samples: the ends of every move, points along arcs, and every place of a turn.

The play operator is exact once each turning point of the screw is a sample, so straight moves need
their two ends only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.arc import Arcs, Floats, Ints, Polar
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind, Motion

MOST_SAMPLES = 3_000_000  # on arcs; beyond that the chords grow
_STEPS = 40
_CLOSE = 1e-11  # mm; what the solver leaves


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
        origins = np.array([state.origin for state in motion.states], np.float64).reshape(-1, 3)
        if not len(motion):
            return cls(np.zeros((1, 3)), np.zeros((1, 3)))
        one = (origins == origins[0]).all()
        origin = origins[:1] if one else origins[motion.state]
        step = np.nan_to_num(motion.end[:-1] - motion.start[1:], nan=0.0)
        if not step.any():
            return cls(origin, origin[:1])
        return cls(origin, np.cumsum(np.vstack((origin[:1], step)), axis=0))


@dataclass(frozen=True)
class Samples:
    """m samples in the order of the motion.

    row: (m,) the move. along: (m,) 0 to 1, the place on it. point: (m, 3) mm, program coordinates,
    NaN where not known. chord: mm, how far the chords of arcs leave them.
    """

    row: Ints
    along: Floats
    point: Floats
    frames: Frames
    chord: float

    def __len__(self) -> int:
        """Give the number of samples."""
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


def sample(motion: Motion, mill: Mill) -> Samples:
    """Sample a motion: chords within a tenth of the mill's tolerance, turns met exactly."""
    chord = _chord(motion, mill.limits.tolerance / 10.0)
    row, along, _ = paths.sample(motion, chord)
    row, along = _with_quadrants(motion, row, along)
    point = paths.points(paths.take(motion, row), along)
    samples = Samples(row, along, point, Frames.of(motion), chord)
    return _with_slack_places(motion, samples, mill)


def insert(motion: Motion, samples: Samples, after: Ints, along: Floats) -> Samples:
    """Add samples at places `along` (k,) behind the samples `after` (k,), on the same moves."""
    if not len(after):
        return samples
    order = np.lexsort((along, after))
    after, along = after[order], along[order]
    fresh = np.append(True, (np.diff(after) > 0) | (np.diff(along) > 0.0))
    after, along = after[fresh], along[fresh]
    row = samples.row[after]
    point = paths.points(paths.take(motion, row), along)
    # where each sample of the result comes from, the new ones counted behind the old
    source = np.insert(np.arange(len(samples)), after + 1, len(samples) + np.arange(len(after)))
    return Samples(
        np.concatenate((samples.row, row)).take(source),
        np.concatenate((samples.along, along)).take(source),
        np.concatenate((samples.point, point)).take(source, axis=0),
        samples.frames,
        samples.chord,
    )


def places(motion: Motion, samples: Samples, axis: int, after: Ints, share: Floats) -> Floats:
    """(k,): where on its move an axis has made a share of the travel from a sample to the next.

    Straight moves by proportion; arcs are solved, as each runs one way between two samples.
    """
    first, last = samples.along[after], samples.along[after + 1]
    result: Floats = first + share * (last - first)
    on_arc = np.flatnonzero(motion.kind[samples.row[after]] == Kind.ARC)
    if len(on_arc):
        low = samples.point[after[on_arc], axis]
        high = samples.point[after[on_arc] + 1, axis]
        target = low + share[on_arc] * (high - low)
        arcs = Arcs(*paths.take(motion, samples.row[after[on_arc]]))
        result[on_arc] = _solve(arcs, axis, target, first[on_arc], last[on_arc])
    return result


def _chord(motion: Motion, chord: float) -> float:
    """Give the chord to sample with: the one wished for, unless it makes too many samples."""
    _, arcs = paths.arcs_of(motion)
    count = int(arc.chord_counts(arcs, chord).sum()) if len(arcs.sweep) else 0
    return chord * (count / MOST_SAMPLES) ** 2 if count > MOST_SAMPLES else chord


def _with_quadrants(motion: Motion, row: Ints, along: Floats) -> tuple[Ints, Floats]:
    """Add the places where an axis turns within an arc."""
    rows, arcs = paths.arcs_of(motion)
    if not len(rows):
        return row, along
    about = arc.polar(arcs)
    found = [arc.quadrants_of(arcs, about, axis) for axis in range(3)]
    which = rows[np.concatenate([each[0] for each in found])]
    place = np.concatenate([each[1] for each in found])
    position = np.searchsorted(row + along / 2.0, which + place / 2.0)
    new = row[position] + along[position] / 2.0 != which + place / 2.0
    order = np.lexsort((place[new], position[new]))
    position, which, place = position[new][order], which[new][order], place[new][order]
    return np.insert(row, position, which), np.insert(along, position, place)


def _with_slack_places(motion: Motion, samples: Samples, mill: Mill) -> Samples:
    """Add samples where an axis passes a row of its table of slack."""
    after: list[Ints] = []
    along: list[Floats] = []
    inner = samples.inner
    for axis, each in enumerate(mill.axes):
        if not isinstance(each.lost_motion, tuple) or each.hangs:
            continue
        machine = samples.machine(axis)
        for place, _ in each.lost_motion:
            behind = machine > place
            crossed = np.flatnonzero((behind[1:] != behind[:-1]) & inner)
            crossed = crossed[np.isfinite(machine[crossed] + machine[crossed + 1])]
            share = (place - machine[crossed]) / (machine[crossed + 1] - machine[crossed])
            some = (share > 0.0) & (share < 1.0)
            after.append(crossed[some])
            along.append(places(motion, samples, axis, crossed[some], share[some]))
    if not after:
        return samples
    return insert(motion, samples, np.concatenate(after), np.concatenate(along))


def _solve(arcs: Arcs, axis: int, target: Floats, low: Floats, high: Floats) -> Floats:
    """(k,): where each arc has the coordinate `target`, between `low` and `high`, one way.

    Regula falsi in the Illinois manner: the bracket stays, and both of its ends move.
    """
    about = arc.polar(arcs)

    def miss(at: Floats, some: Ints) -> Floats:
        part = Polar(*(column[some] for column in about))
        result: Floats = arc.points_of(arcs.rows(some), part, at)[:, axis] - target[some]
        return result

    every = np.arange(len(target))
    low, high = low.copy(), high.copy()
    miss_low, miss_high = miss(low, every), miss(high, every)
    result = low.copy()
    side = np.zeros(len(target), np.int8)
    rows = every
    for _ in range(_STEPS):
        gap = miss_high[rows] - miss_low[rows]
        steep = gap != 0.0
        share = np.where(steep, -miss_low[rows] / np.where(steep, gap, 1.0), 0.5)
        at = low[rows] + np.clip(share, 0.0, 1.0) * (high[rows] - low[rows])
        result[rows] = at
        here = miss(at, rows)
        forward = np.sign(here) == np.sign(miss_low[rows])
        ahead, back = rows[forward], rows[~forward]
        low[ahead], miss_low[ahead] = at[forward], here[forward]
        high[back], miss_high[back] = at[~forward], here[~forward]
        miss_high[ahead[side[ahead] == 1]] /= 2.0
        miss_low[back[side[back] == -1]] /= 2.0
        side[ahead], side[back] = 1, -1
        rows = rows[np.abs(here) > _CLOSE]
        if not len(rows):
            break
    return result
