"""How thick a chip each tooth takes, and how thick it may grow where the backlash lets go.

f_z = F / (n z), with the feed F, n turns of the spindle per minute and z flutes (cutting-tool
catalogues; memory). Where the cutter pulls the work along, in climb milling, it may draw the table
through the backlash b within one tooth's pass: the chip then grows from f_z to as much as f_z + b.
Which moves climb is for the caller to say. Lengths mm, feeds mm/min, speeds rev/min.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.path import bounds
from gpre.mill.backlash import backlash_at
from gpre.mill.job import Job
from gpre.mill.mill import Axis, Mill
from gpre.motion.motion import Motion


def chip_load(feed: ArrayLike, spindle: ArrayLike, flutes: ArrayLike) -> Floats:
    """(n,) mm a tooth: F / (n z); NaN where one of the three is not known or not above 0."""
    some = [np.asarray(each, np.float64) for each in (feed, spindle, flutes)]
    with np.errstate(divide="ignore", invalid="ignore"):
        known = (some[0] > 0.0) & (some[1] > 0.0) & (some[2] > 0.0)
        result: Floats = np.where(known, some[0] / (some[1] * some[2]), np.nan)
    return result


def grown_chip(load: ArrayLike, backlash: ArrayLike) -> Floats:
    """(n,) mm: the thickest chip where the table jumps by the backlash within one tooth's pass."""
    result: Floats = np.asarray(load, np.float64) + np.asarray(backlash, np.float64)
    return result


def chip_loads(motion: Motion, job: Job) -> Floats:
    """(n,) mm a tooth: the chip load of each move at feed, as programmed.

    NaN for air moves, and where the tool's flutes, the feed or the spindle's speed are not known or
    the spindle stands.
    """
    spindle, flutes = np.zeros(len(motion.states)), np.zeros(len(motion.states))
    for row, state in enumerate(motion.states):
        tool = job.tools.get(state.tool)
        spindle[row] = state.spindle if state.spindle_way else 0.0
        flutes[row] = (tool.flutes or 0) if tool else 0
    load = chip_load(motion.feed, spindle[motion.state], flutes[motion.state])
    return np.where(motion.at_feed, load, np.nan)


def backlash_along(motion: Motion, mill: Mill) -> Floats:
    """(n,) mm: the greatest backlash among the axes that a move travels on, 0 for a rest.

    Of a backlash that changes over an axis the greatest on the move's way counts. A
    gravity-loaded axis has none. NaN where it is not known whether an axis travels.
    """
    result = np.zeros(len(motion))
    if not len(motion):
        return result
    least, greatest = bounds(motion)
    origins = motion.origins[motion.state]
    for number, axis in enumerate(mill.axes):
        if axis.gravity_loaded:
            continue
        low, high = least[:, number], greatest[:, number]
        backlash = _greatest(axis, low + origins[:, number], high + origins[:, number])
        travel = high - low
        backlash = np.where(travel > axis.resolution, backlash, 0.0)
        backlash[np.isnan(travel)] = np.nan
        np.maximum(result, backlash, out=result)
    return result


def _greatest(axis: Axis, low: Floats, high: Floats) -> Floats:
    """(n,) mm: the greatest backlash of an axis between two places, (n,) each, machine's."""
    result: Floats = np.maximum(backlash_at(axis, low), backlash_at(axis, high))
    if not isinstance(axis.lost_motion, tuple):
        return result
    for place, backlash in axis.lost_motion:
        passed = (low <= place) & (place <= high)
        result[passed] = np.maximum(result[passed], backlash)
    return result


@dataclass(frozen=True)
class Hazards:
    """h moves that climb with more backlash than chip, one row each.

    move: (h,) rows of Motion. load, backlash, grown: (h,) mm, the chip load, the backlash along the
    travel, and how thick the chip may grow. unknown: (u,) rows that climb with backlash, and whose
    chip load or backlash is not known.
    """

    move: Ints
    load: Floats
    backlash: Floats
    grown: Floats
    unknown: Ints


def climb_hazards(motion: Motion, climbs: NDArray[np.bool_], mill: Mill, job: Job) -> Hazards:
    """Find moves where the backlash exceeds the chip load; climbs: (n,) bool, those that climb."""
    load, backlash = chip_loads(motion, job), backlash_along(motion, mill)
    climbing = climbs & motion.at_feed
    move = np.flatnonzero(climbing & (backlash > load))
    unknown = climbing & (np.isnan(backlash) | (np.isnan(load) & (backlash > 0.0)))
    return Hazards(
        move,
        load[move],
        backlash[move],
        grown_chip(load[move], backlash[move]),
        np.flatnonzero(unknown),
    )
