"""The course of `gpre prove`."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from rich.console import RenderableType

from gpre.cli.busy import busy
from gpre.cli.certifying import refuse_certificate, write_certificate
from gpre.cli.course import (
    DONE,
    FAULTY,
    NOT_PROVED,
    AskedWithJob,
    CommandOutcome,
    refuse_input_twice,
)
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.driver.course import Given, prove_run
from gpre.driver.not_stated import unstated_in_proof
from gpre.driver.proving import Proved
from gpre.report.found import ProgramFindings, found_parts
from gpre.report.prove import faulty, render_prove
from gpre.report.records.proofs import ProveRecord, prove_record
from gpre.report.rewrite import cautions
from gpre.source.files import read_program_text


@dataclass(frozen=True, kw_only=True)
class ProveAsked(AskedWithJob):
    """What was asked for on the command line."""

    before: str
    after: str
    certificate: str | None


@dataclass(frozen=True)
class ProveOutcome(CommandOutcome):
    """A proof, and the settings under which it came about."""

    asked: ProveAsked
    proved: Proved
    given: Given

    @property
    def status(self) -> int:
        """The exit status."""
        if faulty(self.proved):
            return FAULTY
        return DONE if self.proved.holds else NOT_PROVED

    def record(self) -> ProveRecord:
        """Return what --json prints."""
        given = self.given
        return prove_record(self.proved, given.mill, given.job, self.asked.certificate)

    def talk(self) -> list[RenderableType]:
        """Return what was found in the files; of the second program what the first has not."""
        before, after = self.proved.before, self.proved.after
        old, new = (ProgramFindings.of(each, unstated_in_proof) for each in (before, after))
        new = replace(
            new,
            unstated=_new(new.unstated, old.unstated),
            findings=_new(new.findings, old.findings),
        )
        return found_parts([old, new], self.given.mill, self.given.job)

    def told(self) -> list[RenderableType]:
        """Return the proof."""
        parts = render_prove(self.proved, self.given.job.job, self.asked.certificate or "")
        return [*parts, f"\n{cautions()}\n"]

    def write(self) -> list[str]:
        """Write the certificate that was asked for."""
        name = self.asked.certificate
        if name is None:
            return []
        before, after = (
            each.program.source.name for each in (self.proved.before, self.proved.after)
        )
        write_certificate(name, self.proved, self.given, (before, after))
        return [name]


def proved(asked: ProveAsked) -> ProveOutcome:
    """Read both programs and prove one against the other."""
    refuse_input_twice(asked.before, asked.after)
    given = asked.given(asked.before, asked.after)
    if asked.certificate is not None:
        others = (
            (asked.before, "the first program"),
            (asked.after, "the second program"),
            (given.mill.name, "the mill profile"),
            (given.job.name, "the job file"),
        )
        refuse_certificate(asked.certificate, others)
    before, after = read_program_text(asked.before), read_program_text(asked.after)
    with busy("proving one program against the other"):
        found, given = prove_run(before, after, given)
    return ProveOutcome(asked, found, given)


def _new(findings: tuple[Diagnostic, ...], known: tuple[Diagnostic, ...]) -> tuple[Diagnostic, ...]:
    """Return the findings that are not among the known ones as often."""
    left = Counter((each.code, each.message) for each in known)
    result = []
    for each in findings:
        key = (each.code, each.message)
        if left[key] > 0:
            left[key] -= 1
        else:
            result.append(each)
    return tuple(result)
