"""One course for each job, from what was read to its result: the commands and scripts share it.

What is given besides the programs is found once, the options are put over it, the program is run,
and what was found on the way is noted with the mill and the job.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from gpre.comparison.comparison import Comparison
from gpre.comparison.diff import diff_of
from gpre.diagnostics.faults import UsageFault
from gpre.driver.comment_tools import with_comment_tools
from gpre.driver.counting import Counted, count
from gpre.driver.not_stated import with_units_note
from gpre.driver.predicting import Predicted, predict_program
from gpre.driver.proving import Proved, prove_programs
from gpre.driver.rewrite import Options, Rewritten, Tell, rewrite
from gpre.mill.as_file import checked_job, checked_mill
from gpre.mill.job import Job
from gpre.mill.job_file import JobOptions, LoadedJob, find_job, with_options, with_ramps
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill, find_mill, with_units
from gpre.proof.side import Side, begins_at
from gpre.source.text import SourceText

NO_OPTIONS = JobOptions()


@dataclass(frozen=True)
class Given:
    """What is known besides the programs: the mill, the job, and the options over them.

    units: `mm` or `inch` where the option --units names them; the mill has them already.
    """

    mill: LoadedMill
    job: LoadedJob
    units: str | None = None
    options: JobOptions = NO_OPTIONS

    @classmethod
    def find(
        cls,
        mill: Path | Mill | None,
        units: str | None,
        job: Path | Job | None = None,
        programs: tuple[str, ...] = (),
        options: JobOptions = NO_OPTIONS,
    ) -> Given:
        """Read the profile and the job file, named ones or those at their usual places.

        mill, job: may be there already, read or made; they are checked as their files are.
        programs: the job file lies beside the first of these that has one.
        """
        loaded = checked_mill(mill) if isinstance(mill, Mill) else find_mill(mill)
        loaded = with_units(loaded, units)
        if isinstance(job, Job):
            return cls(loaded, checked_job(job), units, options)
        found = LoadedJob(Job()) if job is None else find_job(job, "")
        for program in programs:
            if found.name:
                break
            found = find_job(None, program)
        return cls(loaded, found, units, options)

    def set_up(self, program: SourceText) -> Given:
        """Return it with the options over the job, and the mill set up for that job.

        program: lengths of options are in its units, and its comments may name more tools.
        Raise UsageFault for an option that cannot be read, and for a length where the units are
        not known.
        """
        measured = bool(self.options.a_length)
        units = count(program, self.mill.mill).known_units if measured else 21
        job = with_options(self.job, self.options, units)
        job = with_ramps(with_comment_tools(job, program, self.mill.mill), self.options)
        return replace(self.with_mill(self.mill.mill.set_up_for(job.job)), job=job)

    def with_mill(self, mill: Mill) -> Given:
        """Return it with another mill that goes by the same profile."""
        return replace(self, mill=replace(self.mill, mill=mill))

    def noted(self, *programs: Counted) -> Given:
        """Return it with a note where --units changes nothing in the programs."""
        return replace(self, mill=with_units_note(self.mill, self.units, *programs))


def count_run(program: SourceText, given: Given) -> tuple[Counted, Given]:
    """Count the reversals of a program; return what was given with its notes too."""
    counted = count(program, given.mill.mill.from_its_start(), keep_words=False)
    return counted, given.noted(counted)


def predict_run(
    program: SourceText, given: Given, intended: SourceText | None = None
) -> tuple[Predicted, Given]:
    """Predict what a program makes; return what was given, set up, with its notes too.

    intended: the program that this one was made from. Raise UsageFault where that makes no move.
    """
    given = given.with_mill(given.mill.mill.from_its_start()).set_up(program)
    mill = given.mill.mill
    counted = count(program, mill)
    goal = None if intended is None else count(intended, mill)
    if goal is not None and not len(goal.motion):
        raise UsageFault(
            f"the program {goal.program.source.name} makes no move, so the part cannot come from "
            "it",
            help="name the program as it was before take-ups were put in: --intended FILE",
        )
    found = predict_program(counted, mill, given.job.job, goal)
    return found, given.noted(*(each for each in (counted, goal) if each is not None))


def rewrite_run(
    program: SourceText,
    given: Given,
    options: Options,
    tolerance: float | None = None,
    tell: Tell = lambda _: None,
) -> tuple[Rewritten, Given]:
    """Rewrite a program and prove it; return what was given, set up, with its notes too.

    tolerance: mm, in the place of the profile's. Raise UsageFault where that is out of range, and
    what `rewrite` raises.
    """
    given = given.with_mill(_with_tolerance(given.mill.mill, tolerance)).set_up(program)
    rewritten = rewrite(program, given.mill.mill, given.job.job, options, tell)
    return rewritten, given.noted(rewritten.before)


def names_in(option: str, text: str | None) -> tuple[str, ...]:
    """Return the names of rewrites, with commas between them, that an option has; none for None.

    Raise UsageFault where it is there and names none.
    """
    if text is None:
        return ()
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    if not names:
        raise UsageFault(f"{option} names no rewrite", help="leave it out, or name one")
    return names


def _with_tolerance(mill: Mill, tolerance: float | None) -> Mill:
    if tolerance is None:
        return mill
    if not 0 < tolerance <= 1:
        raise UsageFault(
            f"--tolerance {tolerance:g} is out of range", help="more than 0 and at most 1 mm"
        )
    return replace(mill, limits=replace(mill.limits, tolerance=tolerance))


def prove_run(before: SourceText, after: SourceText, given: Given) -> tuple[Proved, Given]:
    """Prove one program against another; return what was given, set up, with its notes too."""
    given = given.set_up(before)
    proved = prove_programs(before, after, given.mill.mill, given.job.job)
    return proved, given.noted(proved.before, proved.after)


def compare_run(
    before: SourceText, after: SourceText, given: Given
) -> tuple[Comparison, tuple[Counted, Counted], Given]:
    """Compare two programs; return both of them counted, and what was given with its notes."""
    mill = given.mill.mill.from_its_start()
    sides = count(before, mill), count(after, mill)
    begins = begins_at(mill.controller)
    first, second = (Side(each.program, each.motion, begins) for each in sides)
    return diff_of(first, second, mill), sides, given.noted(*sides)
