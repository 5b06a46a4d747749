"""All that the backlash of a mill will do to the part that a program makes, in one record."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gpre.cuts.cuts import Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.geometry.tolerance import DUST
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.motion.motion import Motion
from gpre.prediction.circles import Circle, circles_of
from gpre.prediction.deviation import Worst, ends_of, missed, worst_ends, worst_places
from gpre.prediction.features import Feature, features_of
from gpre.prediction.holes import Holes, holes_of
from gpre.prediction.marks import Marks, marks_of
from gpre.prediction.samples import sample
from gpre.prediction.sensitivity import Sensitivity, held, sensitivity, window_of
from gpre.prediction.table_path import table_path
from gpre.prediction.take_ups import TakeUps, take_ups_of
from gpre.reversals.reversals import Reversals

MOST_SHOWN = 20


@dataclass(frozen=True)
class Prediction:
    """What will come out. Lengths mm, seconds, speeds mm/min; blocks count from 0.

    by: who takes the backlash up. intended: True where the path was compared with an intended one;
    False: against the program itself, which with `program` means one without take-ups. chord: how
    far sampled arcs leave their curve. greatest: the greatest deviation at a right angle to the
    path. worst: the worst places, one a block. ends: the worst errors at the starts and ends of
    cuts. missed: the greatest distance of the intended path from the table path, where one is
    given. features: the cuts that come out worst, holes left out. circles, holes, marks, take_ups:
    see there. too_quick: rows of take_ups that are faster than the mill's limit; with `controller`
    none, and `quick_controller` says whether its own feed is. smallest_tool: mm, of the job's tools
    in use, None where not known. sensitivity: None where it was not asked for. unsettled: blocks
    at feed where the state of the backlash is not known yet, in order, the first of them.
    """

    by: str
    intended: bool
    chord: float
    greatest: float
    worst: tuple[Worst, ...]
    ends: tuple[Worst, ...]
    missed: float | None
    features: tuple[Feature, ...]
    holes: Holes
    circles: tuple[Circle, ...]
    marks: Marks
    take_ups: TakeUps
    too_quick: tuple[int, ...]
    quick_controller: bool
    smallest_tool: float | None
    sensitivity: Sensitivity | None
    unsettled: tuple[int, ...]


def predict(
    motion: Motion,
    reversals: Reversals,
    mill: Mill,
    job: Job | None = None,
    *,
    intended: Motion | None = None,
    uncertain: bool = True,
) -> Prediction:
    """Predict what a program makes on a mill.

    intended: the motion that the part should get, where the program carries take-ups and its own
    path is not the one meant. uncertain: go through the corners of the uncertainty too.
    """
    samples = sample(motion, mill, beside=intended)
    path = table_path(motion, mill, samples=samples)
    found = held(motion, path, mill, intended)
    goal = motion if intended is None else intended
    cuts = find_cuts(motion, mill.z.resolution)
    others = [cut for cut in cuts if cut.shape is not Shape.HOLE]  # of holes `holes` has all
    ends = ends_of(motion, found, goal)
    take_ups = take_ups_of(motion, path, mill)
    by = mill.compensation.by
    limit = mill.limits.max_take_up_feed
    unsettled = np.unique(motion.block[found.row[~found.known]])
    gaps = None if intended is None else missed(motion, path, intended, window_of(mill)).distance
    return Prediction(
        by=by,
        intended=intended is not None,
        chord=path.samples.chord,
        greatest=found.greatest,
        worst=worst_places(motion, found, MOST_SHOWN),
        ends=worst_ends(motion, found, ends, MOST_SHOWN),
        missed=None if gaps is None else float(gaps.max(initial=0.0)),
        features=features_of(motion, others, found, goal, MOST_SHOWN),
        holes=holes_of(motion, cuts, found),
        circles=circles_of(goal, found),
        marks=marks_of(motion, reversals, mill),
        take_ups=take_ups,
        too_quick=tuple(np.flatnonzero(take_ups.speed > limit * (1.0 + DUST)).tolist()),
        quick_controller=by == "controller" and mill.compensation.take_up_feed > limit,
        smallest_tool=_smallest_tool(motion, job),
        sensitivity=(
            sensitivity(motion, mill, intended=intended, samples=samples) if uncertain else None
        ),
        unsettled=tuple(unsettled[:MOST_SHOWN].tolist()),
    )


def _smallest_tool(motion: Motion, job: Job | None) -> float | None:
    """Return the diameter of the smallest tool that cuts, mm."""
    if job is None:
        return None
    used = {motion.states[state].tool for state in np.unique(motion.state[motion.at_feed])}
    known = [job.tools[tool].diameter for tool in used if tool in job.tools]
    return min(known, default=None)
