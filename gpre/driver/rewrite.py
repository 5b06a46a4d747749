"""Rewrites a program: runs the rewrites, splices, reads again, proves, takes back what fails."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.find_cuts import find_cuts
from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.diagnostics.faults import ProofFault, UsageFault
from gpre.driver.counting import Counted, count
from gpre.driver.not_known import cuts_not_known
from gpre.driver.not_stated import unstated_in_rewrite, why_unstated, without_unstated
from gpre.driver.origins import Origins
from gpre.driver.trial import TAKEN_BACK, Trial
from gpre.editing.context import Context, Rewrite
from gpre.editing.editable import why_left_alone
from gpre.editing.proposal import Plan, Proposal, Refusal
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.program.take_up_mark import find_mark
from gpre.proof.proof import Proof
from gpre.rewrites.catalogue import CATALOGUE, LAST, NAMES, NOT_WITH_TAKE_UP
from gpre.rewrites.planner import choose
from gpre.source.text import SourceText

Tell = Callable[[str], None]  # hears what is being done
ROUNDS = 6  # one rewrite may make room for another; more than a few rounds is none the wiser


@dataclass(frozen=True)
class Options:
    """only, skip: names of rewrites; `only` empty runs all. comments: new blocks carry one."""

    only: tuple[str, ...] = ()
    skip: tuple[str, ...] = ()
    comments: bool = True


@dataclass(frozen=True)
class Rewritten:
    """A rewritten program and all there is to say about it.

    The places of `plan` are blocks of the original. before, after: both programs with their
    reversals. started: both as figures of them are told, without their words, the tool at first
    where the profile says. origins: (m,) for each block of the new program that of the original
    which it goes back to. notes: sentences for people. findings: the same and what else is worth a
    code. untaken: the new program as it was before its take-up was put in; None where it carries
    none.
    """

    data: bytes
    plan: Plan
    before: Counted
    after: Counted
    started: tuple[Counted, Counted]
    proof: Proof
    origins: NDArray[np.int64]
    notes: tuple[str, ...] = ()
    findings: tuple[Diagnostic, ...] = ()
    untaken: Counted | None = None

    @property
    def changed(self) -> bool:
        """True where the program is not the same bytes as before."""
        return self.data != self.before.program.text


def rewrite(
    source: SourceText,
    mill: Mill | None = None,
    job: Job | None = None,
    options: Options | None = None,
    tell: Tell = lambda _: None,
) -> Rewritten:
    """Rewrite a program and prove it; `tell` hears in a few words what is being done.

    Raises UsageFault for a rewrite that does not exist, ProofFault where what came out cannot be
    proved against the original.
    """
    job, options = job or Job(), options or Options()
    mill = (mill or Mill()).set_up_for(job)
    chosen = _chosen(options)
    before = count(source, mill)
    whole = why_left_alone(before.program, before.motion) or _why_carried(before)
    unstated = unstated_in_rewrite(before)
    if whole or why_unstated(before):
        reason = whole or why_unstated(before)
        plan = Plan(refused=tuple(Refusal(name, reason, 0, len(source) - 1) for name, _ in chosen))
        proof = Trial(source, mill, job).whole_proof(source.data)
        told = (Diagnostic("REW501", f"the program is left alone: {whole}"),) if whole else ()
        same = Origins.same(len(before.program)).blocks
        findings = (*unstated, *told)
        started = _started(before, before, mill)
        return Rewritten(source.data, plan, before, before, started, proof, same, findings=findings)
    for course in _courses(chosen, mill):
        for stock in (False, True):  # where the metal differs, each trial must look at it
            trial = Trial(source, mill, job, stock=stock)
            run = _RewriteRun(before, mill, job, options, trial, tell=tell)
            run.all(course)
            tell("proving the new program")
            proof = trial.whole_proof(run.now.program.text)
            if proof.holds:
                break
        if proof.holds and find_mark(run.now.program) is not None:
            break
    if not proof.holds:
        failed = "; ".join(f"{each.name}: {each.figure}" for each in proof.failed)
        raise ProofFault(
            f"the rewritten program could not be proved ({failed})",
            help="nothing was written; run with --skip to leave rewrites out",
        )
    plan = run.plan()
    plan = replace(plan, refused=(*cuts_not_known(before.motion), *plan.refused))
    notes = _notes(plan)
    findings = (
        *unstated,
        *_taken_back(source, plan),
        *(Diagnostic("REW503", note) for note in notes),
    )
    data, origins = run.now.program.text, run.origins.blocks
    started = _started(before, run.now, mill)
    untaken = None if find_mark(run.now.program) is None else run.untaken
    return Rewritten(data, plan, before, run.now, started, proof, origins, notes, findings, untaken)


def _courses(chosen: list[tuple[str, Rewrite]], mill: Mill) -> list[list[tuple[str, Rewrite]]]:
    """Return what to run, and what to run instead where the take-up is then not carried.

    A program that carries its take-up reaches each place from any side: `approach` would only make
    it longer.
    """
    without = [one for one in chosen if one[0] not in NOT_WITH_TAKE_UP]
    names = {name for name, _ in without}
    carries = mill.compensation.by == "program" and names & set(LAST)
    return [without, chosen] if carries and len(without) < len(chosen) else [chosen]


def _started(before: Counted, after: Counted, mill: Mill) -> tuple[Counted, Counted]:
    """Return both programs as figures of them are told: from where the profile starts."""
    if mill.controller.start_known:
        return before, after
    mill = mill.from_its_start()
    first = count(before.program.source, mill, keep_words=False)
    if after is before:
        return first, first
    return first, count(after.program.source, mill, keep_words=False)


def _why_carried(counted: Counted) -> str:
    """Say that a program carries its take-up, or ""; its coordinates are not the intended ones."""
    mark = find_mark(counted.program)
    if mark is None:
        return ""
    return f"it carries its take-up already (line {mark.block + 1}: {mark.text})"


def _chosen(options: Options) -> list[tuple[str, Rewrite]]:
    for name in (*options.only, *options.skip):
        if name not in NAMES:
            raise UsageFault(
                f"there is no rewrite named {name}", help=f"the rewrites are {', '.join(NAMES)}"
            )
    return [
        (name, each)
        for name, each in CATALOGUE
        if (not options.only or name in options.only) and name not in options.skip
    ]


class _RewriteRun:
    """The program on its way through the rewrites."""

    def __init__(
        self, before: Counted, mill: Mill, job: Job, options: Options, trial: Trial, *, tell: Tell
    ) -> None:
        self.now, self._tell = before, tell
        self.untaken = before
        self._mill, self._job, self._options, self._trial = mill, job, options, trial
        self.origins = Origins.same(len(before.program))
        self._done: list[Proposal] = []
        self._refused: dict[str, tuple[Refusal, ...]] = {}
        self._declined: dict[str, tuple[Proposal, ...]] = {}
        self._seen: dict[str, bytes] = {}

    def all(self, chosen: list[tuple[str, Rewrite]]) -> None:
        """Run the rewrites until none finds anything more, and then those that come last."""
        for number in range(1, ROUNDS + 1):
            text = self.now.program.text
            for name, each in chosen:
                if name not in LAST:
                    self._tell(f"looking at {name}, round {number}{self._closely}")
                    self.once(name, each)
            if self.now.program.text == text:
                break
        self.untaken = self.now
        for name, each in chosen:
            if name in LAST:
                self._tell(f"looking at {name}{self._closely}")
                self.once(name, each)

    @property
    def _closely(self) -> str:
        return ", each change against the metal" if self._trial.stock else ""

    def once(self, name: str, each: Rewrite) -> None:
        """Run one rewrite, unless it has seen this very text and left it."""
        text = self.now.program.text
        if self._seen.get(name) == text:
            return
        plan = without_unstated(choose(each(self._context()), self._mill), self.now)
        kept, broken = self._trial.keep(text, plan.chosen)
        self._refused[name] = self._of_original((*plan.refused, *broken))
        self._declined[name] = tuple(self._proposal(one) for one in plan.declined)
        self._done += (self._proposal(one) for one in kept.proposals)
        if kept.data != text:
            after = count(SourceText.of(kept.data, self.now.program.source.name), self._mill)
            self.origins = self.origins.after(
                kept.edits, self.now.program.source, after.program.source
            )
            self.now = after
        self._seen[name] = text if kept.data == text else b""

    def plan(self) -> Plan:
        """Return all that was done, declined and refused, by place in the original."""
        refused = {one: None for each in self._refused.values() for one in each}
        declined = (one for each in self._declined.values() for one in each)
        return Plan(
            tuple(sorted(self._done, key=lambda one: (one.first_block, one.last_block))),
            tuple(sorted(refused, key=lambda one: (one.first_block, one.last_block))),
            tuple(declined),
        )

    def _context(self) -> Context:
        now = self.now
        return Context(
            now.program,
            now.motion,
            now.reversals,
            find_cuts(now.motion, self._mill.z.resolution),
            self._mill,
            self._job,
            self._options.comments,
        )

    def _of_original(self, refused: tuple[Refusal, ...]) -> tuple[Refusal, ...]:
        block = self.origins.block
        return tuple(
            replace(one, first_block=block(one.first_block), last_block=block(one.last_block))
            for one in refused
        )

    def _proposal(self, one: Proposal) -> Proposal:
        block = self.origins.block
        return replace(one, first_block=block(one.first_block), last_block=block(one.last_block))


def _taken_back(source: SourceText, plan: Plan) -> tuple[Diagnostic, ...]:
    return tuple(
        Diagnostic(
            "REW502",
            f"{each.rewrite}: {each.reason}",
            Span(int(source.starts[each.first_block]), int(source.ends[each.last_block])),
        )
        for each in plan.refused
        if each.reason.startswith(TAKEN_BACK)
    )


def _notes(plan: Plan) -> tuple[str, ...]:
    needs = sorted({need for each in plan.refused for need in each.needs})
    if not needs:
        return ()
    places = sum(bool(each.needs) for each in plan.refused)
    listed = " and ".join(f"the {need}" if need == "stock" else need for need in needs)
    more = "place" if places == 1 else "places"
    return (f"with {listed} named, {places} more {more} could be looked at",)
