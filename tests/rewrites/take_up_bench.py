"""What a mill with slack makes of a program, step by step; it shares no part with the lash model.

Moves are walked in steps of a twentieth of a millimetre. Each axis follows its screw through
w = max(u - r, min(u + r, w)) (Hysteresis and Phase Transitions, 1996, 2.3: the play operator).
"""

import numpy as np
import shapely
from known_mill import known_mill

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job
from gpre.mill.mill import Axis, Compensation
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.source.text import SourceText

STEP = 0.05  # mm

MILL = known_mill(
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.05, hangs=True),
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


def walked(motion, row):
    """(k, 3) mm: places along a move, its start left out."""
    start, end = motion.start[row], motion.end[row]
    start = np.where(np.isnan(start), end, start)  # where it comes from is not known
    if motion.kind[row] != Kind.ARC:
        count = max(int(np.ceil(np.linalg.norm(end - start) / STEP)), 1)
        return start + (end - start) * np.linspace(0.0, 1.0, count + 1)[1:, None]
    one, two, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[int(motion.plane[row])]
    spoke, sweep = start - motion.centre[row], float(motion.sweep[row])
    radius = np.hypot(spoke[one], spoke[two])
    count = max(int(np.ceil(radius * abs(sweep) / STEP)), 8)
    t = np.linspace(0.0, 1.0, count + 1)[1:]
    angle = np.arctan2(spoke[two], spoke[one]) + sweep * t
    places = np.empty((count, 3))
    places[:, one] = motion.centre[row, one] + radius * np.cos(angle)
    places[:, two] = motion.centre[row, two] + radius * np.sin(angle)
    places[:, normal] = start[normal] + (end[normal] - start[normal]) * t
    places[-1] = end
    return places


def table_steps(motion, slack, start=(0.0, 0.0, 0.0)):
    """Rows and places of the table, step by step; start: the share of the slack, -1 to 1.

    slack: mm for each axis. A place where an offset changes is counted anew.
    """
    half = np.array(slack) / 2.0
    screw = motion.start[0].copy()
    table = screw + half * np.array(start)
    rows, places = [], []
    for row in range(len(motion)):
        jump = np.nan_to_num(motion.start[row] - screw)
        screw, table = screw + jump, table + jump
        for place in walked(motion, row):
            screw = place
            table = np.maximum(screw - half, np.minimum(screw + half, table))
            rows.append(row)
            places.append(table)
    return np.array(rows), np.array(places)


def worst_error(before, after, slack, mill=MILL):
    """mm: how far the table leaves the intended path at feed, and the other way round.

    From both extremes of what the slack may be at first. Only the nearest place counts.
    """
    goal = _chords(*_feeding(motion_of(before, mill)))
    motion = motion_of(after, mill)
    worst = 0.0
    for side in (-1.0, 1.0):
        rows, places = table_steps(motion, slack, (side, side, side))
        made = _chords(places, motion.at_feed[rows])
        worst = max(worst, _apart(made, goal), _apart(goal, made))
    return worst


def _feeding(motion):
    """Places along the moves at feed, and whether the way to each belongs to its move."""
    places, joined = [], []
    for row in np.flatnonzero(motion.at_feed):
        along = np.vstack((motion.start[row], walked(motion, row)))
        places.append(along)
        joined += [False, *[True] * (len(along) - 1)]
    return np.concatenate(places), np.array(joined)


def _chords(places, joined):
    """(k, 2, 3) mm: short straight pieces, from each place to the next."""
    behind = np.flatnonzero(joined[1:]) + 1
    return np.stack((places[behind - 1], places[behind]), axis=1)


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
