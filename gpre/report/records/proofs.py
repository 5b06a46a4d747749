"""A proof as records: what `gpre prove --json` prints, and what others have of it."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from typing import Annotated, Any

from gpre.driver.counting import Counted
from gpre.driver.left_to_controller import Decision
from gpre.driver.not_stated import unstated_in_proof
from gpre.driver.proving import Proved
from gpre.mill.job_file import LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.proof.proof import Obligation, Proof
from gpre.report.certificate import stated_keys
from gpre.report.diagnostics import all_findings_of
from gpre.report.prove import VERDICTS, faulty, verdict_of, what_to_name
from gpre.report.records.counting import MillFile
from gpre.report.records.findings import Findings, finding_records, settings_records
from gpre.report.records.open_settings import (
    NotKnownRecord,
    NotStatedRecords,
    not_known_records,
    not_stated_records,
)
from gpre.report.records.values import Count, Line, Rule, line_if_any

Sha256 = Annotated[str, Rule(pattern="^[0-9a-f]{64}$"), "of its bytes"]
JobFile = Annotated[str | None, "the job file; null: none"]
More = Annotated[str | None, "what to name so that more could be shown; null: nothing"]
Weaker = Annotated[bool, "true: of the paths alone, the metal was not looked at"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ObligationRecord:
    """One thing that a proof checks."""

    name: Annotated[str, "what must hold"]
    holds: Annotated[bool, "whether it does"]
    figure: Annotated[str, "what was measured, with its unit, for people"]
    looked: Annotated[bool, "false: there was no way to look at it, so it shows nothing"]
    value: Annotated[float | None, "the figure as a number; null: none, or without bound"]
    limit: Annotated[float | None, "what the value may be at most; null: none"]
    line_before: Annotated[Line | None, "of the worst place in the first program"]
    line_after: Annotated[Line | None, "of the worst place in the second program"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedRecord(ObligationRecord):
    """One thing that the proof of any two programs checks, and what that means for the part."""

    verdict: Annotated[
        str,
        Rule(one_of=VERDICTS),
        "`differs`: it does not hold, and the part does not need it (comments, spelling, an edit "
        "by hand that does no harm)",
    ]


@dataclass(frozen=True, slots=True)
class ProofRecord:
    """The proof of a rewritten program."""

    holds: Annotated[bool, "whether all obligations hold"]
    obligations: Annotated[tuple[ObligationRecord, ...], "in order"]


@dataclass(frozen=True, slots=True)
class JudgedProofRecord:
    """The proof of any two programs."""

    holds: Annotated[bool, "whether all obligations hold that matter to the part"]
    obligations: Annotated[
        tuple[JudgedRecord, ...],
        "in order; each edit by hand that does no harm is an entry of its own after `readable`",
    ]


@dataclass(frozen=True, slots=True)
class ControllerRecord:
    """One thing that depends on the controller in these programs."""

    name: Annotated[str, "what depends on it"]
    taken: Annotated[str, "what was taken for it"]
    key: Annotated[str | None, "of the profile; null: it has none for it"]
    from_profile: Annotated[bool, "the profile states it"]
    from_option: Annotated[bool, "an option states it; where nothing does the default was taken"]
    why: Annotated[str, "where the programs leave it open"]
    line_before: Annotated[Line | None, "the first line of the first program that it matters to"]
    line_after: Annotated[Line | None, "the first line of the second program that it matters to"]


Controllers = Annotated[tuple[ControllerRecord, ...], "what depends on the controller"]


@dataclass(frozen=True, slots=True)
class ProgramRecord:
    """One of two programs."""

    file: Annotated[str, "its name"]
    bytes: Annotated[Count, "its size"]
    sha256: Sha256
    blocks: Annotated[Count, "how many it has"]
    moves: Annotated[Count, "how many it makes"]
    not_stated: NotStatedRecords
    not_known: Annotated[
        tuple[NotKnownRecord, ...], "moves from or to places that nobody knows, in order"
    ]


@dataclass(frozen=True, slots=True)
class ProveRecord:
    """The proof of two programs."""

    before: Annotated[ProgramRecord, "the first program"]
    after: Annotated[ProgramRecord, "the second program"]
    proved: Annotated[bool, "the verdict; false too where a program has faults"]
    weaker: Weaker
    more: More
    proof: Annotated[JudgedProofRecord, "obligation by obligation"]
    controller: Controllers
    certificate: Annotated[str | None, "the certificate that was written; null: none"]
    mill: MillFile
    job: JobFile
    findings: Findings


def prove_record(
    proved: Proved, mill: LoadedMill, job: LoadedJob, certificate: str | None = None
) -> ProveRecord:
    """Return the proof of two programs; certificate: the name of the one that was written."""
    found = (
        each
        for side in (proved.before, proved.after)
        for each in finding_records(side.program.source, all_findings_of(side, unstated_in_proof))
    )
    return ProveRecord(
        program_record(proved.before),
        program_record(proved.after),
        proved.holds and not faulty(proved),
        proved.weaker,
        what_to_name(proved, job.job) or None,
        judged_proof(proved),
        controller_records(proved.decisions, mill),
        certificate,
        mill.name or None,
        job.name or None,
        (*settings_records(mill, job), *found),
    )


def program_record(side: Counted) -> ProgramRecord:
    """Return one of the two programs of a proof."""
    data = side.program.text
    return ProgramRecord(
        side.program.source.name,
        len(data),
        sha256_of(data),
        len(side.program),
        len(side.motion),
        not_stated_records(side),
        not_known_records(side.motion),
    )


def sha256_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def proof_record(proof: Proof) -> ProofRecord:
    """Return a proof without verdicts on what does not matter to the part."""
    return ProofRecord(
        proof.holds, tuple(ObligationRecord(**_obligation(each)) for each in proof.obligations)
    )


def judged_proof(proved: Proved) -> JudgedProofRecord:
    """Return the proof of two programs with the verdict on each obligation."""
    obligations = (
        JudgedRecord(**_obligation(each), verdict=verdict_of(proved, each))
        for each in proved.proof.obligations
    )
    return JudgedProofRecord(proved.holds, tuple(obligations))


def controller_records(
    decisions: tuple[Decision, ...], mill: LoadedMill
) -> tuple[ControllerRecord, ...]:
    """Return what depends on the controller, and who says how it is."""
    stated = stated_keys(mill) - mill.by_option
    return tuple(
        ControllerRecord(
            each.name,
            each.taken,
            each.key or None,
            each.key in stated,
            each.key in mill.by_option,
            each.why,
            line_if_any(each.before),
            line_if_any(each.after),
        )
        for each in decisions
    )


def _obligation(each: Obligation) -> dict[str, Any]:
    return {
        "name": each.name,
        "holds": each.holds,
        "figure": each.figure,
        "looked": each.looked,
        "value": _finite(each.value),
        "limit": _finite(each.limit),
        "line_before": line_if_any(each.before),
        "line_after": line_if_any(each.after),
    }


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None
