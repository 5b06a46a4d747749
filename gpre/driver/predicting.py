"""Runs a program through a mill with backlash and gathers all that is predicted, in one call."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gpre.cuts.cuts import Cut
from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.levels import slopes
from gpre.cuts.milling_side import Milled, MillingSide, milling_sides
from gpre.driver.counting import Counted
from gpre.mill.chip_load import climb_hazards
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.mill.timing import CycleTime, cycle_time
from gpre.motion.motion import Motion
from gpre.prediction.dwells import Standing, standing
from gpre.prediction.predict import Prediction, predict
from gpre.prediction.table_path import table_path
from gpre.program.take_up_mark import TakeUpMark, find_mark

CLIMBING = frozenset((MillingSide.CLIMB, MillingSide.PARTLY))


@dataclass(frozen=True, slots=True)
class Climb:
    """A stretch that climbs with more backlash than chip; its worst move counts.

    load, backlash, grown: mm, the chip load, the backlash along the travel, and how thick the chip
    may grow; None where the chip load is not known.
    """

    milled: Milled
    load: float | None
    backlash: float | None
    grown: float | None


@dataclass(frozen=True)
class Predicted:
    """A program, what is predicted for it, and on what ground.

    intended: the program that the part is meant to come from, None for this one itself. mark: that
    of take-ups in the program. standing: where the table stands although the path goes on. time,
    without: the cycle time on the mill, and that of the intended program where nothing takes
    backlash up. sides: every stretch that was looked at. climbs: those where the chip can grow.
    """

    counted: Counted
    intended: Counted | None
    mill: Mill
    job: Job
    cuts: tuple[Cut, ...]
    prediction: Prediction
    standing: Standing
    mark: TakeUpMark | None
    time: CycleTime
    without: CycleTime
    sides: tuple[Milled, ...]
    climbs: tuple[Climb, ...]

    @property
    def sizes_known(self) -> bool:
        """False where the program carries take-ups and nothing says what path is meant."""
        return self.mark is None or self.intended is not None


def predict_program(
    counted: Counted, mill: Mill, job: Job, intended: Counted | None = None
) -> Predicted:
    """Predict what a program makes on a mill, how long it takes, and where it climbs."""
    motion, reversals = counted.motion, counted.reversals
    cuts = find_cuts(motion, mill.z.resolution)
    untaken = replace(mill, compensation=replace(mill.compensation, by="none"))
    sides = milling_sides(motion, cuts, job)
    goal = None if intended is None else intended.motion
    plain = counted if intended is None else intended
    return Predicted(
        counted=counted,
        intended=intended,
        mill=mill,
        job=job,
        cuts=cuts,
        prediction=predict(motion, reversals, mill, job, intended=goal),
        standing=standing(motion, table_path(motion, mill)),
        mark=find_mark(counted.program),
        time=cycle_time(motion, reversals, mill),
        without=cycle_time(plain.motion, plain.reversals, untaken),
        sides=sides,
        climbs=_climbs(motion, sides, mill, job),
    )


def _climbs(motion: Motion, sides: tuple[Milled, ...], mill: Mill, job: Job) -> tuple[Climb, ...]:
    climbing = [each for each in sides if each.side in CLIMBING]
    mask = np.zeros(len(motion), np.bool_)
    for each in climbing:
        mask[each.first : each.last] = True
    mask &= ~slopes(motion).upright
    found = climb_hazards(motion, mask, mill, job)
    result: list[Climb] = []
    for each in climbing:
        first, last = np.searchsorted(found.move, (each.first, each.last))
        if last > first:
            worst = int(first) + int(found.load[first:last].argmin())
            figures = (found.load, found.backlash, found.grown)
            load, backlash, grown = (float(column[worst]) for column in figures)
            result.append(Climb(each, load, backlash, grown))
            continue
        head, tail = np.searchsorted(found.unknown, (each.first, each.last))
        if tail > head:
            result.append(Climb(each, None, None, None))
    return tuple(result)
