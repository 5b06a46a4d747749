"""Arcs of a run of plain blocks in columns; the rules are those of `gpre.motion.arcs`."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.geometry.arc import PLANE_AXES, TURN, height_share, planar_sweeps
from gpre.geometry.tolerance import DUST
from gpre.motion.arcs import LONGEST, full_circle
from gpre.motion.plain_words import Floats, Ints, PlainWindow
from gpre.program.words import Words

_NEAR_HALF_CIRCLE = 1e-4  # share of the radius; the centre hangs on the last digits there


class ArcLimits(NamedTuple):
    """scale: mm in a unit. tolerance: mm between the radii. absolute: G90.1 is in force."""

    scale: float
    tolerance: float
    absolute: bool


class Bent(NamedTuple):
    """a arcs. centre: (a, 3) mm. sweep: (a,) radians.

    full: (a,) bool, read as full circles for want of an end point. faulty: the first block with
    an arc that is none, the window's size where there is none.
    """

    centre: Floats
    sweep: Floats
    full: NDArray[np.bool_]
    faulty: int


class _Given(NamedTuple):
    """a arcs and their words. offset, has: (a, 3), I J K in mm. radius, has_radius: (a,)."""

    offset: Floats
    has: NDArray[np.bool_]
    radius: Floats
    has_radius: NDArray[np.bool_]


def bend(window: PlainWindow, block: Ints, start: Floats, end: Floats, limits: ArcLimits) -> Bent:
    """Find centres and sweeps of the arcs in the blocks `block` (a,), start and end (a, 3) mm."""
    given = _given(window, block, limits.scale)
    row = np.arange(len(block))
    axes = PLANE_AXES[window.modes.plane[block].astype(np.intp) - 17]
    first, second = axes[:, 0], axes[:, 1]
    way = np.where(window.modes.motion[block] == 30, 1.0, -1.0)
    from_ = start[row, first], start[row, second]
    to = end[row, first], end[row, second]
    named = np.stack([window.presence(letter)[block] for letter in "XYZ"], axis=1)
    names_end = named[row, first] | named[row, second]
    wrong = _wrong_words(given, axes, names_end, limits)
    centre = start.copy()
    by_centre, by_radius = np.flatnonzero(~given.has_radius), np.flatnonzero(given.has_radius)
    if len(by_centre):
        u = given.offset[row, first] + (0.0 if limits.absolute else from_[0])
        v = given.offset[row, second] + (0.0 if limits.absolute else from_[1])
        centre[by_centre, first[by_centre]] = u[by_centre]
        centre[by_centre, second[by_centre]] = v[by_centre]
        wrong |= ~given.has_radius & _wrong_radii(from_, to, (u, v), names_end, limits.tolerance)
    if len(by_radius):
        ends = [each[by_radius] for each in (*from_, *to)]
        u, v, lacking = _by_radius(ends, given.radius[by_radius], way[by_radius], limits)
        centre[by_radius, first[by_radius]] = u
        centre[by_radius, second[by_radius]] = v
        wrong[by_radius] |= lacking
    u, v = centre[row, first], centre[row, second]
    sweep = planar_sweeps((from_[0] - u, from_[1] - v), (to[0] - u, to[1] - v), way)
    full = ~names_end & ~given.has_radius
    sweep[full] = way[full] * TURN
    # the last digit of the length must not decide otherwise than there
    wrong |= np.hypot(from_[0] - u, from_[1] - v) * np.abs(sweep) > LONGEST * (1.0 - DUST)
    faulty = int(block[wrong][0]) if wrong.any() else window.size
    return Bent(centre, sweep, full, faulty)


def full_circles(window: PlainWindow, block: Ints, words: Words) -> list[Diagnostic]:
    """Make the notes about arcs without an end point in the blocks `block` (f,)."""
    spans: dict[int, Span] = {}
    wanted = set(block.tolist())
    for letter in "IJK":
        column = window.letters[letter]
        rows = (column.row + window.row).tolist()
        for at, row in zip(column.block.tolist(), rows, strict=True):
            if at in wanted:
                span = spans.get(at, Span(1 << 62, 0))
                spans[at] = Span(
                    min(span.start, int(words.start[row])), max(span.end, int(words.end[row]))
                )
    return [full_circle(spans[at]) for at in block.tolist()]


def _given(window: PlainWindow, block: Ints, scale: float) -> _Given:
    value, has = np.zeros((len(block), 4)), np.zeros((len(block), 4), bool)
    for index, letter in enumerate("IJKR"):
        column = window.letters[letter]
        if len(column.block):
            place = np.searchsorted(block, column.block)
            value[place, index] = column.value * scale
            has[place, index] = True
    return _Given(value[:, :3], has[:, :3], value[:, 3], has[:, 3])


def _wrong_words(
    given: _Given, axes: Ints, names_end: NDArray[np.bool_], limits: ArcLimits
) -> NDArray[np.bool_]:
    """Tell which arcs have words that do not make one: (a,) bool."""
    row = np.arange(len(axes))
    has_u, has_v = given.has[row, axes[:, 0]], given.has[row, axes[:, 1]]
    wrong: NDArray[np.bool_] = given.offset[row, axes[:, 2]] != 0.0
    enough = (has_u & has_v) if limits.absolute else (has_u | has_v)
    wrong |= np.where(given.has_radius, given.has.any(axis=1) | ~names_end, ~enough)
    return wrong


def _wrong_radii(
    from_: tuple[Floats, Floats],
    to: tuple[Floats, Floats],
    centre: tuple[Floats, Floats],
    names_end: NDArray[np.bool_],
    tolerance: float,
) -> NDArray[np.bool_]:
    """Tell which arcs in the centre form have radii too unlike, or none: (a,) bool."""
    u0, v0, u1, v1 = (
        from_[0] - centre[0],
        from_[1] - centre[1],
        to[0] - centre[0],
        to[1] - centre[1],
    )
    before, after = np.hypot(u0, v0), np.hypot(u1, v1)
    near = np.abs(np.abs(before - after) - tolerance) < DUST
    near |= np.abs(before - DUST) < DUST
    for row in np.flatnonzero(near).tolist():
        before[row] = math.hypot(u0[row], v0[row])
        after[row] = math.hypot(u1[row], v1[row])
    unlike: NDArray[np.bool_] = names_end & (np.abs(before - after) > tolerance)
    return unlike | (before <= DUST)


def _by_radius(
    ends: list[Floats], radius: Floats, way: Floats, limits: ArcLimits
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """(r,) each: centres of arcs in the radius form on both axes, and which of them are none."""
    u0, v0, u1, v1 = ends
    du, dv = u1 - u0, v1 - v0
    size = np.abs(radius)
    half = np.hypot(du, dv) / 2.0
    near = np.abs(half - size) <= _NEAR_HALF_CIRCLE * size
    near |= np.abs(half - size - limits.tolerance) < DUST
    near |= half < DUST + DUST
    for row in np.flatnonzero(near).tolist():
        half[row] = math.hypot(du[row], dv[row]) / 2.0
    wrong = (size <= DUST) | (half <= DUST) | (half - size > limits.tolerance)
    share = height_share(half, radius, way)
    return (u0 + u1) / 2.0 - dv * share, (v0 + v1) / 2.0 + du * share, wrong
