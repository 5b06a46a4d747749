"""The cycle time of a program on a mill.

Each move runs at its feed, or a rapid as fast as the axes go together, within what their top speeds
and accelerations allow; see axis_limits, junctions, corner_blends and look_ahead. Acceleration is
constant: a controller that limits the jerk to J takes a/J longer for each move from rest to rest.
Added to it are dwells, tool changes, and the controller's take-ups, each of which also stops the
path where the axis turns. Nothing is known of what an operator takes at a stop, nor of how long a
spindle runs up: neither is counted. Seconds throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats, Ints
from gpre.mill.axis_limits import Allowed, allowed, rests
from gpre.mill.corner_blends import Blends, blends_of
from gpre.mill.junctions import junctions
from gpre.mill.look_ahead import junction_speeds, times
from gpre.mill.mill import Mill
from gpre.mill.take_ups import TurnsAtStops, take_up_seconds
from gpre.motion.events import Effect, EventKind, kinds
from gpre.motion.motion import Motion, Role

STANDING = kinds(Effect.STANDS_STILL)


@dataclass(frozen=True)
class CycleTime:
    """Seconds. moves: (n,) for each move, NaN where not known. take_ups: (k,) for each reversal.

    cutting, air: the moves at feed, and the rapids, without take-ups. dwell: G4 and the cycles'
    own. take_up_in_cut, take_up_in_air: what the take-ups cost, by where the axis turns; that the
    path stops for them is in the moves. tool_change: all of them; tool_changes: how many.
    unknown: (u,) rows of moves whose time is not known (no feed, no position, a rotary axis alone),
    which count nothing; unknown_dwells: how many dwells have no known seconds.
    """

    moves: Floats
    take_ups: Floats
    cutting: float
    air: float
    dwell: float
    take_up_in_cut: float
    take_up_in_air: float
    tool_change: float
    tool_changes: int
    unknown: Ints
    unknown_dwells: int = 0

    @property
    def take_up(self) -> float:
        """All take-ups, while cutting and in the air."""
        return self.take_up_in_cut + self.take_up_in_air

    @property
    def total(self) -> float:
        """All that is known."""
        return self.cutting + self.air + self.dwell + self.take_up + self.tool_change


def cycle_time(motion: Motion, reversals: TurnsAtStops, mill: Mill) -> CycleTime:
    """Find how long a motion takes on a mill; `reversals` are those of the same motion."""
    take_ups = take_up_seconds(motion, reversals, mill)
    moves = move_seconds(motion, mill, reversals, take_ups > 0.0)
    known = np.nan_to_num(moves)
    cutting = float(known[motion.at_feed].sum())
    in_cut = float(take_ups[reversals.in_cut].sum())
    dwells = [_seconds(each.value) for each in motion.events if each.kind == EventKind.DWELL]
    changes = sum(each.kind == EventKind.TOOL_CHANGE for each in motion.events)
    return CycleTime(
        moves=moves,
        take_ups=take_ups,
        cutting=cutting,
        air=float(known[~motion.at_feed].sum()),
        dwell=math.fsum(each for each in dwells if each is not None),
        take_up_in_cut=in_cut,
        take_up_in_air=float(take_ups[~reversals.in_cut].sum()),
        tool_change=changes * mill.timing.tool_change,
        tool_changes=changes,
        unknown=np.flatnonzero(np.isnan(moves)),
        unknown_dwells=dwells.count(None),
    )


def move_seconds(
    motion: Motion, mill: Mill, turns: TurnsAtStops, stops: NDArray[np.bool_]
) -> Floats:
    """(n,) s: the time of each move, NaN where not known; 0 for a rest.

    stops: (k,) bool, the reversals at which the path stops. The path also stands at its start and
    its end, on both sides of a move of unknown time, and for the events of `STANDING`.
    """
    moves = allowed(motion, mill)
    result = np.full(len(motion), np.nan)
    result[rests(motion, moves.length)] = 0.0
    timed = (moves.length > 0.0) & (moves.speed > 0.0) & np.isfinite(moves.length + moves.speed)
    going = np.flatnonzero(timed)
    if not len(going):
        return result
    chain = moves if len(going) == len(motion) else _take(moves, going)
    before = [each.move for each in motion.events if each.kind in STANDING]
    unknown = np.isnan(result)
    unknown[going] = False
    at_start = stops & (turns.along <= 0.0)
    halts = np.concatenate((before, np.flatnonzero(unknown), turns.move[at_start]))
    blends = blends_of(
        chain,
        junctions(chain, _path_modes(motion, going), mill),
        np.searchsorted(going, halts),
    )
    within = (turns.along > 0.0) & (turns.along < 1.0) & timed[turns.move]
    inside = np.flatnonzero(stops & within)
    place = np.searchsorted(going, turns.move[inside])
    result[going] = _chain_seconds(chain, blends, place, turns.along[inside])
    return result


class _Pieces(NamedTuple):
    """m stretches of a chain, in order. move: (m,) whose each is; first: (m,) mm²/s², at its start.

    length: (m,) mm. top: (m,) mm/s. acceleration: (m,) mm/s².
    """

    move: Ints
    first: Floats
    length: Floats
    top: Floats
    acceleration: Floats


def _chain_seconds(moves: Allowed, blends: Blends, place: Ints, along: Floats) -> Floats:
    """(n,) s: the times of a chain of moves that stops within moves `place` (q,) at `along` (q,).

    The time on the circle in a corner belongs half to each of its moves.
    """
    size = len(moves.length)
    if not len(place) and not blends.length.any():
        pieces = _Pieces(
            np.arange(size), blends.square[:-1], moves.length, moves.speed, moves.acceleration
        )
        return _piece_seconds(pieces)
    pieces = _parts_of(moves, blends, place, along)
    corners = np.flatnonzero(blends.length)
    at = np.searchsorted(pieces.move, corners)
    slower = np.minimum(moves.acceleration[corners - 1], moves.acceleration[corners])
    pieces = _Pieces(
        np.insert(pieces.move, at, corners),
        np.insert(pieces.first, at, blends.square[corners]),
        np.insert(pieces.length, at, blends.length[corners]),
        np.insert(pieces.top, at, np.sqrt(blends.square[corners])),
        np.insert(pieces.acceleration, at, slower),
    )
    seconds = _piece_seconds(pieces)
    result: Floats = np.bincount(pieces.move, seconds, size).astype(np.float64)
    half = seconds[at + np.arange(len(at))] / 2.0
    result[corners] -= half
    result[corners - 1] += half
    return result


def _parts_of(moves: Allowed, blends: Blends, place: Ints, along: Floats) -> _Pieces:
    """Return the moves in parts from stop to stop, without what the circles take of them."""
    size = len(moves.length)
    order = np.lexsort((along, place))
    place, along = place[order], along[order]
    apart = np.append(True, (np.diff(place) > 0) | (np.diff(along) > 0.0))  # two axes at one place
    place, along = place[apart[: len(place)]], along[apart[: len(along)]]
    move = np.insert(np.arange(size), place + 1, place)
    begin = np.insert(np.zeros(size), place + 1, along)
    until = np.ones(len(move))
    same = move[1:] == move[:-1]
    until[:-1][same] = begin[1:][same]
    length = moves.length[move] * (until - begin)
    length[begin == 0.0] -= blends.cut[:-1]
    length[until == 1.0] -= blends.cut[1:]
    return _Pieces(
        move,
        np.insert(blends.square[:-1], place + 1, 0.0),
        np.maximum(length, 0.0),  # a stop within a corner: no more than its leg is left out
        moves.speed[move],
        moves.acceleration[move],
    )


def _piece_seconds(pieces: _Pieces) -> Floats:
    caps = np.append(pieces.first, 0.0)
    # a circle is left as it is entered: no faster than it allows
    caps[1:] = np.minimum(caps[1:], pieces.top**2)
    speeds = junction_speeds(caps, pieces.length, pieces.acceleration)
    return times(speeds, pieces.top, pieces.length, pieces.acceleration)


def _take(moves: Allowed, rows: Ints) -> Allowed:
    return Allowed(
        moves.length.take(rows),
        moves.speed.take(rows),
        moves.acceleration.take(rows),
        moves.first.take(rows, axis=1),
        moves.last.take(rows, axis=1),
    )


def _path_modes(motion: Motion, rows: Ints) -> NDArray[np.int16]:
    """(k,) 610, 611 or 640; within a canned cycle the path is exact (NISTIR 6556, Table 10)."""
    modes = np.array([state.path for state in motion.states], np.int16)[motion.state[rows]]
    if motion.role.any():
        modes[(motion.role[rows] != Role.NONE) & (modes == 640)] = 610
    return modes


def _seconds(value: str) -> float | None:
    try:
        seconds = float(value)
    except ValueError:
        return None
    return seconds if math.isfinite(seconds) else None
