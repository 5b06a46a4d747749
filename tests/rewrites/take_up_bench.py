"""What a mill with backlash makes of a program, step by step; it shares no part with the lash
model.

The texts are read through the second reading. Moves are walked in steps of a twentieth of a
millimetre, and each axis follows its screw through the play operator of `own_paths`.
"""

import sys
from pathlib import Path

import numpy as np
import shapely
from known_mill import known_mill

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "end_to_end"))

import own_paths
from own_reading import read_on

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job
from gpre.mill.mill import Axis, Compensation
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.source.text import SourceText

STEP = 0.05  # mm

MILL = known_mill(
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.05, gravity_loaded=True),
    compensation=Compensation(by="program"),
)


def take_up(text, mill=MILL, job=None, **options):
    data = text if isinstance(text, bytes) else text.encode()
    return rewrite(SourceText.of(data), mill, job or Job(), Options(only=("take-up",), **options))


def carried(text, mill=MILL, job=None, **options):
    """The rewritten text; fails where the program is left alone or the proof does not hold."""
    result = take_up(text, mill, job, **options)
    assert result.changed, [each.reason for each in result.plan.refused]
    assert result.proof.holds
    return result.data.decode()


def reasons(text, mill=MILL, job=None):
    result = take_up(text, mill, job)
    assert not result.changed
    return [each.reason for each in result.plan.refused]


def motion_of(text, mill=MILL):
    return trace(read(text if isinstance(text, bytes) else text.encode()), mill.controller)


def table_steps(text, backlash, start=(0.0, 0.0, 0.0), mill=MILL):
    """The moves, and for each step of the table the number of its move and its place.

    start: the share of the backlash, -1 to 1. backlash: mm for each axis. Places are machine
    places, less the zero of the first move: where an offset changes no axis moves.
    """
    half = np.array(backlash) / 2.0
    made = list(own_paths.moves(read_on(text, mill)))
    zero = np.array(made[0].zero)
    place = np.array(made[0].path[0])
    table = np.where(np.isnan(place), made[0].path[-1], place) + half * np.array(start)
    rows, places = [], []
    for row, move in enumerate(made):
        screw = own_paths.walked(move, STEP)
        screw = np.where(np.isnan(screw), screw[-1], screw)[1:]  # where it comes from
        along = own_paths.play(screw, half, np.where(np.isnan(table), screw[0], table))
        table = along[-1]
        rows += [row] * len(along)
        places.append(along - zero)
    return made, np.array(rows), np.concatenate(places)


def worst_error(before, after, backlash, mill=MILL):
    """mm: how far the table leaves the intended path at feed, and the other way round.

    From both extremes of what the backlash may be at first. Only the nearest place counts.
    """
    goal = _chords(*_feeding(before, mill))
    worst = 0.0
    for side in (-1.0, 1.0):
        moves, rows, places = table_steps(after, backlash, (side, side, side), mill)
        made = _chords(places, np.array([not move.rapid for move in moves])[rows])
        worst = max(worst, _apart(made, goal), _apart(goal, made))
    return worst


def _feeding(text, mill):
    """Places along the moves at feed, and whether the way to each belongs to its move."""
    places, joined = [], []
    made = list(own_paths.moves(read_on(text, mill)))
    for move in made:
        if move.rapid:
            continue
        along = own_paths.walked(move, STEP) - np.array(made[0].zero)
        places.append(along)
        joined += [False, *[True] * (len(along) - 1)]
    return np.concatenate(places), np.array(joined)


def _chords(places, joined):
    """(k, 2, 3) mm: short straight pieces, from each known place to the next."""
    behind = np.flatnonzero(joined[1:]) + 1
    result = np.stack((places[behind - 1], places[behind]), axis=1)
    return result[np.isfinite(result).all(axis=(1, 2))]


def _apart(chords, others, reach=0.06):
    """mm: the greatest distance of the ends of chords from the others; found by shapely in XY.

    Infinite beyond `reach`.
    """
    points = chords.reshape(-1, 3)
    tree = shapely.STRtree(shapely.linestrings(others[:, :, :2]))
    point, near = tree.query(shapely.points(points[:, :2]), predicate="dwithin", distance=reach)
    start, along = others[near, 0], others[near, 1] - others[near, 0]
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    share = np.clip(((points[point] - start) * along).sum(axis=1) / square, 0.0, 1.0)
    gap = np.linalg.norm(start + along * share[:, None] - points[point], axis=1)
    least = np.full(len(points), np.inf)
    np.minimum.at(least, point, gap)
    return float(least.max())
