"""`gpre.rewrite`: the same part with fewer reversals while cutting, proved."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from gpre.diagnostics.faults import ProofFault, UsageFault
from gpre.driver.counting import Counted
from gpre.driver.course import Given, names_in, rewrite_run
from gpre.driver.not_stated import unstated_in_rewrite
from gpre.driver.output import new_name, refuse_same_file, write_program
from gpre.driver.own_files import refuse_foreign_program
from gpre.driver.proving import Proved
from gpre.driver.rewrite import Options, Rewritten
from gpre.editing.proposal import Proposal, Refusal
from gpre.mill.mill import Mill
from gpre.mill.timing import cycle_time
from gpre.report.diagnostics import all_findings_of
from gpre.report.plan import what_more
from gpre.scripting.counting import ReversalCounts, reversal_counts
from gpre.scripting.findings import WrongTypeError, findings_told, refuse_faulty, told_as_errors
from gpre.scripting.given import (
    AnyJob,
    AnyMill,
    AnyProgram,
    Place,
    ProgramText,
    Result,
    Units,
    path_of,
    read,
    settings,
    source_of,
)
from gpre.scripting.proving import PartProof, part_proof


@dataclass(frozen=True)
class PlannedChange:
    """What a rewrite does at one place, or would do.

    first_line, last_line: of the original, from 1. reversals_fewer: while cutting. longer: mm more
    of air travel. seconds: more of cycle time, below 0 for less; None where not known.
    """

    rewrite: str
    first_line: int
    last_line: int
    summary: str
    reversals_fewer: int
    longer: float
    seconds: float | None


@dataclass(frozen=True)
class Skipped:
    """A place of the original that a rewrite left as it is, and why.

    needs: what to name so that it can be looked at, `tool 3` or `stock`.
    """

    rewrite: str
    first_line: int
    last_line: int
    reason: str
    needs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class RewriteResult(Result):
    """What `gpre.rewrite` returns: a program that was proved against the original.

    original: as it was read. data: the new program. seconds_before, seconds_after: cycle times on
    this mill, as far as they are known. done: what was changed; not_worth_it: what would cost more
    than it saves; skipped: what was left as it is. more: what naming tools and stock would bring,
    "" for nothing.
    """

    original: ProgramText
    data: bytes = field(repr=False)
    reversals_before: ReversalCounts
    reversals_after: ReversalCounts
    seconds_before: float
    seconds_after: float
    proof: PartProof
    done: tuple[PlannedChange, ...] = field(repr=False)
    not_worth_it: tuple[PlannedChange, ...] = field(repr=False)
    skipped: tuple[Skipped, ...] = field(repr=False)
    more: str = field(repr=False)
    _in_use: tuple[tuple[str, str], ...] = field(repr=False, compare=False)

    @property
    def changed(self) -> bool:
        """Whether the new program is not the same bytes as the original."""
        return self.data != self.original.data

    @property
    def text(self) -> str:
        """The new program as text, in the encoding of the original."""
        return ProgramText(self.original.name, self.data).text

    @told_as_errors()
    def save(self, path: Place | None = None, *, force: bool = False) -> Path:
        """Write the new program, whole or not at all, as `gpre rewrite` does; return its path.

        path: None for NAME_new beside the original. force: write over a file that gpre did not
        write. Raises GpreError where the path is that of the original, the profile or the job file,
        where a file is there that gpre did not write, and where it cannot be written.
        """
        target = self._beside() if path is None else path_of(path, "a program", "nothing")
        for place, what in self._in_use:
            refuse_same_file(place, target, what)
        if not force:
            refuse_foreign_program(target, self.data, self.original.data, None)
        write_program(self.data, target)
        return Path(target)

    def _beside(self) -> str:
        if self.original.path is None:
            raise UsageFault("the original has no file to write beside", help="name the new file")
        return new_name(str(self.original.path))


@told_as_errors()
def rewrite(
    program: AnyProgram,
    *,
    mill: AnyMill = None,
    job: AnyJob = None,
    units: Units | None = None,
    tolerance: float | None = None,
    only: str | Iterable[str] = (),
    skip: str | Iterable[str] = (),
    comments: bool = True,
) -> RewriteResult:
    """Rewrite a program so that fewer reversals happen while cutting, as `gpre rewrite` does.

    program: a path, bytes, or what `read` returns. mill: a path or a `Mill`; None takes your own at
    the default place, else a guess. job: a path or a `Job`; None takes NAME.job.toml beside the
    program, else nothing. units: in force before the program states its own. tolerance: mm, in the
    place of the profile's. only, skip: names of rewrites. comments: new blocks carry one.

    Nothing is written. Raises GpreError for a fault in a file, where the program has faults, and
    where the new program cannot be proved against the original: that one is never handed out.
    """
    if not isinstance(tolerance, int | float | None):
        raise WrongTypeError(f"the tolerance is a number of mm, and this is {tolerance!r}")
    file = read(program)
    options = Options(_names("--only", only), _names("--skip", skip), comments)
    given = settings(mill, job, units, file)
    rewritten, given = rewrite_run(source_of(file), given, options, tolerance)
    refuse_faulty(rewritten.before)
    if not rewritten.proof.holds:
        raise ProofFault("the program could not be proved", help="nothing was written")
    return _result(file, rewritten, given)


def _names(option: str, names: str | Iterable[str]) -> tuple[str, ...]:
    if isinstance(names, str):
        return names_in(option, names)
    listed = tuple(names) if isinstance(names, Iterable) else (names,)
    if not all(isinstance(each, str) for each in listed):
        raise WrongTypeError(f"{option} takes names of rewrites, and this is {names!r}")
    return listed


def _result(file: ProgramText, rewritten: Rewritten, given: Given) -> RewriteResult:
    before, after, plan = rewritten.before, rewritten.after, rewritten.plan
    source = before.program.source
    times = [_seconds(each, given.mill.mill) for each in rewritten.started]
    return RewriteResult(
        mill=given.mill.name or None,
        job=given.job.name or None,
        findings=findings_told(given, (source, all_findings_of(before, unstated_in_rewrite))),
        original=file,
        data=rewritten.data,
        reversals_before=reversal_counts(rewritten.started[0].reversals),
        reversals_after=reversal_counts(rewritten.started[1].reversals),
        seconds_before=times[0],
        seconds_after=times[1],
        proof=part_proof(Proved(before, after, rewritten.proof)),
        done=tuple(_change(each) for each in plan.chosen),
        not_worth_it=tuple(_change(each) for each in plan.declined),
        skipped=tuple(_skipped(each) for each in plan.refused),
        more=what_more(plan),
        _in_use=_in_use(file, given),
    )


def _seconds(started: Counted, mill: Mill) -> float:
    """Return the cycle time that `predict` returns for a program."""
    return cycle_time(started.motion, started.reversals, mill.from_its_start()).total


def _change(each: Proposal) -> PlannedChange:
    return PlannedChange(
        each.rewrite,
        each.first_block + 1,
        each.last_block + 1,
        each.summary,
        each.gained,
        float(each.longer),
        each.seconds,
    )


def _skipped(each: Refusal) -> Skipped:
    return Skipped(each.rewrite, each.first_block + 1, each.last_block + 1, each.reason, each.needs)


def _in_use(file: ProgramText, given: Given) -> tuple[tuple[str, str], ...]:
    """Return the files that a new program must not go over, absolute, and what they are."""
    used = (
        ("" if file.path is None else str(file.path), "the input"),
        (given.mill.name, "the mill profile"),
        (given.job.name, "the job file"),
    )
    return tuple((os.path.abspath(name), what) for name, what in used if name)  # noqa: PTH100
