"""Directions across a path: what is beside it, and what is above it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.arc import Arcs, Floats, Ints
from gpre.geometry.path import Path


class Normals(NamedTuple):
    """(k, 3) unit vectors each, at a right angle to the path and to one another.

    aside: away from the centre of an arc; to the right of a straight move as seen from above (so
    that outside a contour that runs counter-clockwise is plus on both); X for a move straight up
    or down. upward: the other one. along: the direction of travel. NaN for moves of no length.
    """

    aside: Floats
    upward: Floats
    along: Floats


def normals(path: Path, row: Ints, t: Floats) -> Normals:
    """Give the directions at the fractions `t` (k,) of the moves `row` (k,)."""
    some = paths.take(path, row)
    along = paths.tangents(some, t)
    flat = np.hypot(along[:, 0], along[:, 1])
    aside = np.zeros_like(along)
    with np.errstate(invalid="ignore", divide="ignore"):
        aside[:, 0], aside[:, 1] = along[:, 1] / flat, -along[:, 0] / flat
    plumb = flat < 1e-9
    aside[plumb] = (1.0, 0.0, 0.0)
    upward = np.cross(aside, along)
    _towards_plus(upward)
    on_arc = np.flatnonzero(some.sweep)
    if len(on_arc):
        arcs = Arcs(*paths.take(some, on_arc))
        outward = _outward(arcs, along[on_arc], t[on_arc])
        aside[on_arc] = outward
        over = np.cross(outward, along[on_arc])
        _towards_plus(over)
        upward[on_arc] = over
    aside[np.isnan(along[:, 0])] = np.nan
    return Normals(aside, upward, along)


def _outward(arcs: Arcs, along: Floats, t: Floats) -> Floats:
    """(k, 3): away from the centre, at a right angle to the path (radii may differ slightly)."""
    about = arc.polar(arcs)
    first, second, _ = arc.axes_of(arcs.plane)
    angle = about.angle + arcs.sweep * t
    row = np.arange(len(t))
    result = np.zeros((len(t), 3))
    result[row, first], result[row, second] = np.cos(angle), np.sin(angle)
    result -= np.einsum("ij,ij->i", result, along)[:, None] * along
    length = np.sqrt(np.einsum("ij,ij->i", result, result))[:, None]
    unit: Floats = result / np.where(length > 0.0, length, 1.0)
    return unit


def _towards_plus(vector: Floats) -> None:
    """Turn vectors round, in place, whose greatest component is negative."""
    greatest = np.abs(np.nan_to_num(vector)).argmax(axis=1)
    turned: NDArray[np.bool_] = vector[np.arange(len(vector)), greatest] < 0.0
    vector[turned] *= -1.0
