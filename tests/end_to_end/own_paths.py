"""Dense places along what a mill does, and its backlash; shares no code with gpre. Machine mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from own_arcs import PLANES, Arc
from own_steps import Move, Step

CHORDS_A_TURN = 720
Floats = NDArray[np.float64]

ROUNDING = 1e-9  # mm, of sums of increments


def moves(steps: Iterable[Step]) -> Iterator[Move]:
    """Return the moves that lead somewhere."""
    return (step for step in steps if isinstance(step, Move) and leads_somewhere(step))


def leads_somewhere(move: Move) -> bool:
    turns = move.turned[:3] != move.turned[3:]
    # what increments in inch leave of a way that comes back is no way
    goes = any(not abs(b - a) <= ROUNDING for a, b in zip(move.path[0], move.path[-1], strict=True))
    return move.arc is not None or turns or goes


def samples(move: Move, chords_a_turn: int = CHORDS_A_TURN) -> Floats:
    """(k, 3) places along one move, start, end and the quadrants of an arc among them, mm."""
    if move.arc is None:
        return np.array([move.path[0], move.path[-1]])
    turns = abs(move.arc.sweep) / (2.0 * math.pi)
    return _along(move.arc, max(8, math.ceil(turns * chords_a_turn)))


def _along(arc: Arc, count: int) -> Floats:
    """(k, 3) places of an arc, evenly, and where it passes a quadrant: there an axis turns."""
    if not np.isfinite((*arc.start, *arc.end, *arc.centre, arc.sweep)).all():
        return np.array([arc.start, arc.end])
    one, two, _ = PLANES[arc.plane]
    first = math.atan2(arc.start[two] - arc.centre[1], arc.start[one] - arc.centre[0])
    low, high = sorted((first, first + arc.sweep))
    quarter = math.pi / 2.0
    quadrants = np.arange(math.ceil(low / quarter), math.floor(high / quarter) + 1) * quarter
    parts = np.concatenate((np.linspace(0.0, 1.0, count + 1), (quadrants - first) / arc.sweep))
    return np.array([arc.at(part) for part in np.unique(np.clip(parts, 0.0, 1.0)).tolist()])


def walked(move: Move, step: float) -> Floats:
    """(k, 3) places along one move, no farther apart than `step` mm, both ends included."""
    if move.arc is not None:
        return _along(move.arc, max(8, math.ceil(move.arc.length / step)))
    start, end = np.array(move.path[0]), np.array(move.path[-1])
    if np.isnan(start).any() or np.isnan(end).any():
        return np.array([start, end])
    count = max(1, math.ceil(float(np.linalg.norm(end - start)) / step))
    return start + (end - start) * np.linspace(0.0, 1.0, count + 1)[:, None]


def play(screw: Floats, half: Floats, table: Floats) -> Floats:
    """(k, 3): where the table stands as its screws go through places (k, 3), from `table` on.

    half: half the backlash of each axis. Each axis follows its screw through w = max(u - r, min(u +
    r, w)) (Brokate and Sprekels, Hysteresis and Phase Transitions, 1996, 2.3: the play operator).
    """
    result = np.empty_like(screw)
    for at, place in enumerate(screw):
        table = np.maximum(place - half, np.minimum(place + half, table))
        result[at] = table
    return result


def in_program(move: Move, places: Floats) -> Floats:
    """(k, 3): machine places as the program counts them at a move."""
    return places - np.array(move.zero)


def box_length(places: Sequence[Sequence[float]]) -> float:
    """Return the way along places, mm."""
    return float(np.linalg.norm(np.diff(np.array(places), axis=0), axis=1).sum())
