"""What a rewritten program comes to at the mill, beside the original: marks, time and error."""

from __future__ import annotations

from dataclasses import dataclass

from gpre.driver.counting import Counted, count
from gpre.driver.rewrite import Rewritten
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.mill.timing import cycle_time
from gpre.motion.motion import Motion
from gpre.prediction.dwells import standing
from gpre.prediction.predict import predict
from gpre.prediction.table_path import table_path


@dataclass(frozen=True, slots=True)
class Outlook:
    """What one program comes to on a mill.

    marks: places where the cutter stands while cutting; stands: s, together. cycle_time: s, as far
    as it is known; unknown: how many moves that leaves out. error: mm, how far the cutter leaves
    the path that is meant, at a right angle to it, with the backlash as the profile has it.
    """

    marks: int
    stands: float
    cycle_time: float
    unknown: int
    error: float


def outlooks(rewritten: Rewritten, mill: Mill, job: Job) -> tuple[Outlook, Outlook]:
    """Return what the original and the new program come to.

    A program that carries its take-up is held against its path before that was put in; that this
    path makes the same part is for the proof.
    """
    mill = mill.set_up_for(job).from_its_start()
    before, after = rewritten.started
    one = _outlook(before, mill, job, None)
    if not rewritten.changed:
        return one, one
    untaken = rewritten.untaken
    meant = None if untaken is None else count(untaken.program.source, mill).motion
    return one, _outlook(after, mill, job, meant)


def _outlook(counted: Counted, mill: Mill, job: Job, meant: Motion | None) -> Outlook:
    motion = counted.motion
    found = predict(motion, counted.reversals, mill, job, intended=meant, uncertain=False)
    stands = standing(motion, table_path(motion, mill))
    # a path that goes straight back stops where the table stands: that is one place
    stops = ~(found.marks.row[:, None] == stands.row).any(axis=1)
    time = cycle_time(motion, counted.reversals, mill)
    return Outlook(
        marks=len(stands) + int(stops.sum()),
        stands=found.marks.lost_in_cut + float(stands.seconds.sum()),
        cycle_time=time.total,
        unknown=len(time.unknown) + time.unknown_dwells,
        error=found.greatest,
    )
