"""One manner of speaking to straight and arc moves alike, on arrays; one row a move.

Lengths mm, angles radians. A move with a sweep of 0 is straight. `t`, 0 to 1, is the fraction of a
straight move's length and of an arc's sweep (the same where its radii are equal). Whatever has
the five columns of `Path` will do, `Motion` among others.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry.arc import Arcs, Floats, Ints
from gpre.geometry.repeats import evenly
from gpre.geometry.tolerance import CHORD
from gpre.geometry.too_dense import CrowdedError

MOST_CHORDS = 4_000_000  # of arcs sampled in one go; programs of lines may have more points


class Path(Protocol):
    """n moves: start, end, centre (n, 3) mm, sweep (n,) radians, plane (n,) 17, 18 or 19."""

    @property
    def start(self) -> Floats: ...  # noqa: D102
    @property
    def end(self) -> Floats: ...  # noqa: D102
    @property
    def centre(self) -> Floats: ...  # noqa: D102
    @property
    def sweep(self) -> Floats: ...  # noqa: D102
    @property
    def plane(self) -> NDArray[np.uint8]: ...  # noqa: D102


class Moves(NamedTuple):
    """n moves in the five columns of `Path`; the centres of straight moves are not used."""

    start: Floats
    end: Floats
    centre: Floats
    sweep: Floats
    plane: NDArray[np.uint8]


def take(path: Path, rows: NDArray[np.intp] | NDArray[np.bool_] | slice) -> Moves:
    """Return some of the moves."""
    if isinstance(rows, np.ndarray) and rows.dtype == np.intp:  # take is much the faster way
        return Moves(
            path.start.take(rows, axis=0),
            path.end.take(rows, axis=0),
            path.centre.take(rows, axis=0),
            path.sweep.take(rows),
            path.plane.take(rows),
        )
    return Moves(
        path.start[rows], path.end[rows], path.centre[rows], path.sweep[rows], path.plane[rows]
    )


def arcs_of(path: Path) -> tuple[Ints, Arcs]:
    """(k,) and k arcs: the rows that are arcs, and those moves."""
    rows = np.flatnonzero(path.sweep)
    return rows, Arcs(*take(path, rows))


def points(path: Path, t: Floats) -> Floats:
    """(n, 3) mm: the point of each move at the fraction `t` (n,); the ends are met exactly."""
    result = path.start + (path.end - path.start) * t[:, None]
    at_end = t == 1.0
    result[at_end] = path.end[at_end]
    rows, arcs = arcs_of(path)
    if len(rows):
        result[rows] = arc.points(arcs, t[rows])
    return result


def lengths(path: Path) -> Floats:
    """(n,) mm: the length of each move."""
    delta = path.end - path.start
    result: Floats = np.sqrt(np.einsum("ij,ij->i", delta, delta))
    rows, arcs = arcs_of(path)
    if len(rows):
        result[rows] = arc.lengths(arcs)
    return result


def tangents(path: Path, t: Floats) -> Floats:
    """(n, 3) unit vectors: the direction of travel at `t` (n,); NaN for a move of no length."""
    result = path.end - path.start
    with np.errstate(invalid="ignore", divide="ignore"):
        result /= np.linalg.norm(result, axis=1, keepdims=True)
    rows, arcs = arcs_of(path)
    if len(rows):
        result[rows] = arc.tangents(arcs, t[rows])
    return result


def bounds(path: Path) -> tuple[Floats, Floats]:
    """(n, 3) each, mm: the least and the greatest coordinates anywhere on each move."""
    least = np.minimum(path.start, path.end)
    greatest = np.maximum(path.start, path.end)
    rows, arcs = arcs_of(path)
    if len(rows):
        least[rows], greatest[rows] = arc.bounds(arcs)
    return least, greatest


def split(path: Path, t: Floats) -> tuple[Moves, Moves]:
    """Cut each move at the fraction `t` (n,) into two that together are the same curve."""
    middle = points(path, t)
    before = Moves(path.start, middle, path.centre, path.sweep * t, path.plane)
    centre = path.centre.copy()
    rows, arcs = arcs_of(path)
    if len(rows):
        centre[rows] = arc.split(arcs, t[rows])[1].centre
    return before, Moves(middle, path.end, centre, path.sweep * (1.0 - t), path.plane)


def with_few_turns(path: Path) -> Moves:
    """Return arcs of many turns with one or two: same start, same direction, same end.

    A helix gets steeper by that. What XY sees of one in G17 is the same.
    """
    turns = np.floor(np.abs(path.sweep) / (2.0 * np.pi))
    less = np.sign(path.sweep) * np.maximum(turns - 1.0, 0.0) * 2.0 * np.pi
    return Moves(path.start, path.end, path.centre, path.sweep - less, path.plane)


def backwards(path: Path) -> Moves:
    """Return the same moves run from their ends to their starts, the rows in the old order."""
    centre = path.centre.copy()
    rows, arcs = arcs_of(path)
    if len(rows):
        centre[rows] = arc.backwards(arcs).centre
    return Moves(path.end, path.start, centre, -path.sweep, path.plane)


def sample(path: Path, chord: float = CHORD) -> tuple[Ints, Floats, Floats]:
    """(m,), (m,) and (m, 3) mm: row, fraction and point along each move, both ends included.

    Straight moves have two points. The chords of arcs stay within `chord` mm of the arc. Raises
    CrowdedError for so many points that they would fill the memory.
    """
    steps = np.ones(len(path.sweep), np.intp)
    rows, arcs = arcs_of(path)
    if len(rows):
        steps[rows] = arc.chord_counts(arcs, chord)
    if int(steps.sum()) > max(MOST_CHORDS, 4 * len(steps)):
        raise CrowdedError
    row, t = evenly(steps)
    return row, t, points(take(path, row), t)
