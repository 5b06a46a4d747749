"""What `gpre job --json` prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from gpre.driver.counting import Counted
from gpre.driver.job_proposal import JobProposal, ProposedTool
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import all_findings_of
from gpre.report.records.counting import MillFile
from gpre.report.records.findings import Findings, finding_records, settings_records
from gpre.report.records.values import Line, Mm, Place, place, rounded


@dataclass(frozen=True, slots=True)
class ProposedToolRecord:
    """A tool that cuts, as far as comments tell it."""

    number: Annotated[int, "of the tool; 0: none is called"]
    diameter: Annotated[Mm | None, "of the cutter; null: no comment tells it"]
    shape: Annotated[str | None, "of the cutter; null: no comment tells it"]
    line: Annotated[Line | None, "of the comment; null: there is none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobProposalRecord:
    """What a program says of its job."""

    file: Annotated[str, "the program"]
    output: Annotated[str, "where the job file goes, `-` to standard output"]
    tools: Annotated[tuple[ProposedToolRecord, ...], "those that cut"]
    least: Annotated[Place | None, "the lowest corner of what they cut; null: not known"]
    greatest: Annotated[Place | None, "the highest corner of it, the top a guess; null: not known"]
    text: Annotated[str, "the job file"]
    mill: MillFile
    findings: Findings


def proposal_record(
    proposal: JobProposal, output: str, counted: Counted, mill: LoadedMill
) -> JobProposalRecord:
    """Return what a program says of its job; output: where the file goes."""
    reach = proposal.reach
    return JobProposalRecord(
        file=proposal.source,
        output=output,
        tools=tuple(map(_tool, proposal.tools)),
        least=None if reach is None else place(reach[0]),
        greatest=None if reach is None else place(reach[1]),
        text=proposal.text(),
        mill=mill.name or None,
        findings=(
            *settings_records(mill),
            *finding_records(counted.program.source, all_findings_of(counted)),
        ),
    )


def _tool(each: ProposedTool) -> ProposedToolRecord:
    tool = each.tool
    if tool is None:
        return ProposedToolRecord(each.number, None, None, None)
    return ProposedToolRecord(each.number, rounded(tool.diameter), tool.shape, each.line)
