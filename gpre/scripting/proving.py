"""`gpre.prove`: whether the second of two programs makes the same part as the first."""

from __future__ import annotations

from dataclasses import dataclass, field

from gpre.driver.course import prove_run
from gpre.driver.left_to_controller import Decision
from gpre.driver.not_stated import unstated_in_proof
from gpre.driver.proving import Proved
from gpre.proof.proof import Obligation
from gpre.report.diagnostics import all_findings_of
from gpre.report.prove import verdict_of, what_to_name
from gpre.report.records.values import line_if_any
from gpre.scripting.findings import findings_told, refuse_faulty, told_as_errors
from gpre.scripting.given import (
    AnyJob,
    AnyMill,
    AnyProgram,
    Result,
    Units,
    read,
    settings,
    source_of,
)


@dataclass(frozen=True)
class ProvedObligation:
    """One thing that must hold.

    verdict: `ok`; `differs`, in what the part does not need; `failed`; or `not looked at`, where
    there was no way to. figure: what was measured, for people; value, limit: the same as numbers
    where there are any. line_before, line_after: of the worst place in the two programs, from 1.
    """

    name: str
    verdict: str
    figure: str
    value: float | None
    limit: float | None
    line_before: int | None
    line_after: int | None


@dataclass(frozen=True)
class PartProof:
    """A proof that two programs make the same part, obligation by obligation.

    holds: whether they do, as safely. weaker: something could not be looked at, the metal for want
    of tools for example.
    """

    holds: bool
    weaker: bool
    obligations: tuple[ProvedObligation, ...] = field(repr=False)

    @property
    def failed(self) -> tuple[ProvedObligation, ...]:
        """The obligations that do not hold."""
        return tuple(each for each in self.obligations if each.verdict == "failed")


@dataclass(frozen=True)
class ControllerChoice:
    """What depends on the controller in these programs.

    taken: what gpre took for it. why: where the programs leave it open. key: of the mill profile,
    None where there is none. line_before, line_after: the first lines that it matters to.
    """

    name: str
    taken: str
    why: str
    key: str | None
    line_before: int | None
    line_after: int | None


@dataclass(frozen=True, kw_only=True)
class ProveResult(Result):
    """What `gpre.prove` returns. more: what to name so that more could be shown, "" for nothing."""

    before: str
    after: str
    proof: PartProof
    controller: tuple[ControllerChoice, ...] = field(repr=False)
    more: str

    @property
    def holds(self) -> bool:
        """Whether the second program makes the same part as the first, as safely."""
        return self.proof.holds


@told_as_errors()
def prove(
    before: AnyProgram,
    after: AnyProgram,
    *,
    mill: AnyMill = None,
    job: AnyJob = None,
    units: Units | None = None,
) -> ProveResult:
    """Prove two programs against each other, whoever changed the second, as `gpre prove` does.

    before, after: paths, bytes, or what `read` returns. mill: a path or a `Mill`; None takes your
    own at the default place, else a guess. job: a path or a `Job`; None takes NAME.job.toml beside
    the first program, or beside the second. units: in force before the programs state their own.
    Raises GpreError for a fault in a file, and where a program has faults.
    """
    files = read(before), read(after)
    given = settings(mill, job, units, *files)
    proved, given = prove_run(source_of(files[0]), source_of(files[1]), given)
    sides = proved.before, proved.after
    refuse_faulty(*sides)
    return ProveResult(
        mill=given.mill.name or None,
        job=given.job.name or None,
        findings=findings_told(
            given,
            *((side.program.source, all_findings_of(side, unstated_in_proof)) for side in sides),
        ),
        before=files[0].name,
        after=files[1].name,
        proof=part_proof(proved),
        controller=tuple(_choice(each) for each in proved.decisions),
        more=what_to_name(proved, given.job.job),
    )


def part_proof(proved: Proved) -> PartProof:
    """Return a proof as scripts see it."""
    obligations = (_obligation(proved, each) for each in proved.proof.obligations)
    return PartProof(proved.holds, proved.weaker, tuple(obligations))


def _obligation(proved: Proved, obligation: Obligation) -> ProvedObligation:
    return ProvedObligation(
        obligation.name,
        verdict_of(proved, obligation),
        obligation.figure,
        obligation.value,
        obligation.limit,
        line_if_any(obligation.before),
        line_if_any(obligation.after),
    )


def _choice(each: Decision) -> ControllerChoice:
    lines = line_if_any(each.before), line_if_any(each.after)
    return ControllerChoice(each.name, each.taken, each.why, each.key or None, *lines)
