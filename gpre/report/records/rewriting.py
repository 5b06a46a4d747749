"""What `gpre rewrite --json` prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from gpre.cuts.cuts import Shape
from gpre.cuts.least import Axes, Least
from gpre.driver.cut_plan import CutPlan, CutRow, Elsewhere
from gpre.driver.not_stated import unstated_in_rewrite
from gpre.driver.outlook import Outlook
from gpre.driver.rewrite import Rewritten
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.mill.job_file import LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.count import AxisCount, count_axes
from gpre.report.diagnostics import findings_of, has_errors
from gpre.report.plan import what_more
from gpre.report.records.counting import MillFile
from gpre.report.records.encode import ABSENT, Absent
from gpre.report.records.findings import Findings, finding_records, settings_records
from gpre.report.records.open_settings import NotStatedRecords, not_stated_records
from gpre.report.records.proofs import JobFile, ProofRecord, proof_record
from gpre.report.records.values import (
    AxisName,
    Count,
    Lines,
    Mm,
    Rule,
    Seconds,
    line_of,
    rounded,
    seconds,
)
from gpre.reversals.reversals import AXES

Which = Annotated[str, Rule(one_of=("before", "after"))]
OfAxis = dict[AxisName, Count]


@dataclass(frozen=True, slots=True)
class ProposalRecord:
    """What a rewrite did at one place, or would have done."""

    rewrite: Annotated[str, "its name, as --only takes it"]
    lines: Annotated[Lines, "of the original"]
    summary: Annotated[str, "what is done; of what is not worth it, the cost too"]
    claim: Annotated[Claim, "what stays the same"]
    reversals_gained: Annotated[int, "reversals while cutting that go away"]
    holes: Annotated[Count, "positions now reached from the right side"]
    longer: Annotated[Mm, "more air travel, below 0 for less"]
    witness_marks: Annotated[Count, "places where a mark may now stand"]


@dataclass(frozen=True, slots=True)
class RefusalRecord:
    """A place that a rewrite skipped."""

    rewrite: Annotated[str, "its name, as --only takes it"]
    lines: Annotated[Lines, "of the original"]
    reason: Annotated[str, "why"]
    needs: Annotated[tuple[str, ...], "what would have to be named, such as `tool 3` or `stock`"]


@dataclass(frozen=True, slots=True)
class LeastRecord:
    """The fewest reversals while cutting that a cut can have; see gpre/cuts/least.py."""

    x: Annotated[Count, "of X by itself"]
    y: Annotated[Count, "of Y by itself"]
    z: Annotated[Count, "of Z by itself"]
    together: Annotated[Count, "of all from one start"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRecord:
    """What the rewrites change in a part of the program."""

    cutting: Annotated[OfAxis, "reversals while cutting before"]
    cutting_after: Annotated[OfAxis, "reversals while cutting after"]
    longer: Annotated[Mm, "more rapid travel, below 0 for less"]
    seconds: Annotated[Seconds, "more cycle time, below 0 for less"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRecord(ChangeRecord):
    """One cut, or those that a subprogram makes where it runs several times."""

    lines: Annotated[Lines, "without the travel there"]
    shape: Annotated[Shape, "what the cut is"]
    cuts: Annotated[Count, "how many; a hole with all its pecks is one"]
    tool: Annotated[int, "its number; 0: none"]
    least: Annotated[LeastRecord, "with the tool down all the way"]
    with_retracts: Annotated[
        LeastRecord | None,
        "where it may leave the wall on its tangent and retract; null: not known",
    ]
    rewrites: Annotated[tuple[str, ...], "names of those that touch it"]


@dataclass(frozen=True, slots=True)
class OutlookRecord:
    """What one program comes to on the mill, as predicted."""

    marks: Annotated[Count, "places where the cutter dwells while cutting"]
    dwelling: Annotated[Seconds, "how long, together"]
    cycle_time: Annotated[Seconds, "as far as it is known"]
    unknown: Annotated[Count, "moves and dwells that the cycle time leaves out"]
    error: Annotated[Mm, "the greatest error beside the path, with the backlash of the profile"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RewriteRecord:
    """What rewriting a program came to."""

    file: Annotated[str, "the program"]
    output: Annotated[str | None, "where the new one goes, `-` to standard output; null: nowhere"]
    written: Annotated[bool, "false where nothing was written, as with errors in the program"]
    changed: Annotated[bool, "whether the new program is another one"]
    blocks: Annotated[dict[Which, Count], "of the programs"]
    moves: Annotated[dict[Which, Count], "of the programs"]
    axes: Annotated[dict[Which, dict[AxisName, AxisCount]], "the reversals"]
    predicted: Annotated[dict[Which, OutlookRecord], "marks, times and errors"]
    done: Annotated[tuple[ProposalRecord, ...], "what was done"]
    not_worth_it: Annotated[
        tuple[ProposalRecord, ...], "what gains nothing, or costs more than it saves"
    ]
    skipped: Annotated[tuple[RefusalRecord, ...], "what was skipped"]
    proof: Annotated[ProofRecord, "of the new program"]
    cuts: Annotated[
        tuple[CutRecord, ...] | Absent,
        "with --plan: cut by cut; with outside_cuts the figures add up to those of the programs",
    ] = ABSENT
    outside_cuts: Annotated[ChangeRecord | Absent, "with --plan: what lies in no cut"] = ABSENT
    certificate: Annotated[str | Absent, "with --certificate: the file"] = ABSENT
    mill: MillFile
    job: JobFile
    not_stated: NotStatedRecords
    more: Annotated[str | None, "what naming tool and stock would bring; null: nothing"]
    findings: Findings


def rewrite_record(
    rewritten: Rewritten,
    mill: LoadedMill,
    job: LoadedJob,
    *,
    output: str | None = None,
    certificate: str | None = None,
    cuts: CutPlan | None = None,
    outlooks: tuple[Outlook, Outlook],
) -> RewriteRecord:
    """Return what rewriting a program came to.

    output, certificate: the names of the files that were asked for; cuts: of a plan; outlooks: what
    both programs come to.
    """
    before, after, plan = rewritten.before, rewritten.after, rewritten.plan
    found = findings_of(before)
    return RewriteRecord(
        file=before.program.source.name,
        output=output,
        written=output is not None and not has_errors(found),
        changed=rewritten.changed,
        blocks={"before": len(before.program), "after": len(after.program)},
        moves={"before": len(before.motion), "after": len(after.motion)},
        axes={
            "before": count_axes(rewritten.started[0].reversals),
            "after": count_axes(rewritten.started[1].reversals),
        },
        predicted={
            "before": outlook_record(outlooks[0]),
            "after": outlook_record(outlooks[1]),
        },
        done=tuple(map(proposal_record, plan.chosen)),
        not_worth_it=tuple(map(proposal_record, plan.declined)),
        skipped=tuple(map(refusal_record, plan.refused)),
        proof=proof_record(rewritten.proof),
        cuts=ABSENT if cuts is None else tuple(map(cut_record, cuts.rows)),
        outside_cuts=ABSENT if cuts is None else change_record(cuts.elsewhere),
        certificate=certificate or ABSENT,
        mill=mill.name or None,
        job=job.name or None,
        not_stated=not_stated_records(before),
        more=what_more(plan) or None,
        findings=(
            *settings_records(mill, job),
            *finding_records(before.program.source, (*unstated_in_rewrite(before), *found)),
        ),
    )


def outlook_record(one: Outlook) -> OutlookRecord:
    """Return what one program comes to."""
    return OutlookRecord(
        one.marks, seconds(one.stands), seconds(one.cycle_time), one.unknown, rounded(one.error)
    )


def proposal_record(proposal: Proposal) -> ProposalRecord:
    """Return what was done at a place, or would have been."""
    return ProposalRecord(
        proposal.rewrite,
        _lines(proposal),
        proposal.summary,
        proposal.claim,
        proposal.gained,
        proposal.holes,
        rounded(proposal.longer),
        proposal.witness,
    )


def refusal_record(refusal: Refusal) -> RefusalRecord:
    """Return a place that was skipped."""
    return RefusalRecord(refusal.rewrite, _lines(refusal), refusal.reason, refusal.needs)


def cut_record(row: CutRow) -> CutRecord:
    """Return a cut of the plan."""
    return CutRecord(
        **_change(row),
        lines=_lines(row),
        shape=row.shape,
        cuts=row.cuts,
        tool=row.tool,
        least=_least(row.least),
        with_retracts=None if row.lifted is None else _least(row.lifted),
        rewrites=row.rewrites,
    )


def change_record(rest: Elsewhere) -> ChangeRecord:
    """Return what changes where no cut is."""
    return ChangeRecord(**_change(rest))


def _change(row: CutRow | Elsewhere) -> dict[str, Any]:
    return {
        "cutting": _of_axis(row.now),
        "cutting_after": _of_axis(row.after),
        "longer": rounded(row.longer),
        "seconds": seconds(row.seconds),
    }


def _least(least: Least) -> LeastRecord:
    return LeastRecord(*least.by_axis, least.together)


def _of_axis(counts: Axes) -> OfAxis:
    return dict(zip(AXES, counts, strict=True))


def _lines(each: Proposal | Refusal | CutRow) -> tuple[int, int]:
    return line_of(each.first_block), line_of(each.last_block)
