"""Proves any two programs against each other, hand-edited ones too.

What `gpre rewrite` promises beyond the part (comments kept, blocks byte for byte, line ends) is
looked at here as well, but only told: a block that is spelled otherwise makes the same part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gpre.driver.counting import Counted, count
from gpre.driver.harmless.find import MOST_EDITS, Harmless, find_harmless
from gpre.driver.left_to_controller import Decision, decisions
from gpre.driver.other_words import Odd, odd_words
from gpre.driver.spelling import Bare, bare_texts, goes_by_numbers, said
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.program.program import Program
from gpre.program.take_up_mark import find_mark
from gpre.proof.proof import Obligation, Proof, since_line
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side, begins_at
from gpre.proof.texts import doubts
from gpre.source.text import SourceText

COMMENTS, BLOCKS, FORM = MANNERS = ("comments", "untouched blocks", "line ends and layout")
READABLE = "readable"
BUT_FOR = "the same but for the edits that are named"


@dataclass(frozen=True)
class Proved:
    """Two programs and the verdict on them.

    differs: names of obligations that do not hold and do not matter to the part. edits: the
    obligations that name an edit that does no harm. decisions: what depends on the controller in
    these programs. unnamed: tools that cut and are not known.
    """

    before: Counted
    after: Counted
    proof: Proof
    differs: tuple[str, ...] = ()
    decisions: tuple[Decision, ...] = ()
    unnamed: tuple[int, ...] = ()
    edits: tuple[Obligation, ...] = ()

    @property
    def holds(self) -> bool:
        """True where both programs make the same part."""
        return not self.failed

    @property
    def failed(self) -> tuple[Obligation, ...]:
        """The obligations that do not hold and matter."""
        return tuple(each for each in self.proof.failed if not self.harmless(each))

    def harmless(self, obligation: Obligation) -> bool:
        """Return whether an obligation that does not hold does not matter to the part."""
        return obligation.name in self.differs or obligation in self.edits

    @property
    def weaker(self) -> bool:
        """True where something could not be looked at."""
        return not all(each.looked for each in self.proof.obligations)


def prove_programs(
    before: SourceText, after: SourceText, mill: Mill | None = None, job: Job | None = None
) -> Proved:
    """Prove that two programs make the same part, whoever wrote them."""
    job = job or Job()
    mill = (mill or Mill()).set_up_for(job)
    old, new = count(before, mill), count(after, mill)
    proof = prove(before, after, mill, job)
    if before.data == after.data or (proof.holds and proof.changed_places > MOST_EDITS):
        return as_proved(old, new, proof, mill, job)
    return _by_hand(old, new, proof, mill, job)


def as_proved(
    before: Counted,
    after: Counted,
    proof: Proof,
    mill: Mill,
    job: Job,
) -> Proved:
    """Put a proof that was made already together with what else there is to say about it."""
    both = before, after
    return Proved(
        before, after, proof, decisions=decisions(both, mill), unnamed=_unnamed(both, job)
    )


def _unnamed(programs: Sequence[Counted], job: Job) -> tuple[int, ...]:
    used: set[int] = set()
    for each in programs:
        motion = each.motion
        rows = np.unique(motion.state[motion.at_feed]).tolist()
        used |= {motion.states[row].tool for row in rows}
    return tuple(sorted(used - job.tools.keys()))


def _by_hand(before: Counted, after: Counted, strict: Proof, mill: Mill, job: Job) -> Proved:
    """Prove without what is only spelling, and without edits that do no harm."""
    numbers = goes_by_numbers(before) or goes_by_numbers(after)
    words = said(before.program, numbers=numbers), said(after.program, numbers=numbers)
    bare = bare_texts(before.program, after.program, words)
    harmless = Harmless(bare) if numbers else find_harmless(bare, mill, job)
    bare = harmless.bare
    proof = strict
    if any(each.name not in MANNERS for each in strict.failed):
        proof = prove(bare.before, bare.after, mill, job)
    told = {each.name: each for each in strict.obligations if each.name in MANNERS}
    # how a doubtful word is spelled matters, so it is not looked for in the bare texts
    if doubt := doubts(_written(before, after, mill, job)):
        told[doubt.name] = doubt
    elif strict.obligations[0].holds:
        told[READABLE] = strict.obligations[0]
    if harmless.told:
        odd = odd_words(count(bare.before, mill), count(bare.after, mill))
        odd = None if odd is None else _of_full(odd, bare)
    else:
        odd = odd_words(before, after, words)
    differs = [name for name in MANNERS if name in told and not told[name].holds]
    if odd is not None and BLOCKS in differs:
        differs.remove(BLOCKS)
        told[BLOCKS] = _odd(told[BLOCKS], odd)
    if COMMENTS in differs and _mark(before.program) != _mark(after.program):
        differs.remove(COMMENTS)
    first, *rest = (
        told.get(each.name) or (each if proof is strict else _placed(each, bare))
        for each in proof.obligations
    )
    if harmless.told and bare.before.data == bare.after.data:
        first, *rest = (
            replace(each, figure=BUT_FOR) if each.name not in told else each
            for each in (first, *rest)
        )
    edits = harmless.told
    if any(not each.holds and each.name not in differs for each in (first, *rest)):
        # what looks like such an edit and is none says why, beside what it does
        edits += harmless.refused
    found = as_proved(before, after, Proof((first, *edits, *rest)), mill, job)
    return replace(found, differs=tuple(differs), edits=harmless.told)


def _of_full(odd: Odd, bare: Bare) -> Odd:
    return replace(odd, before=bare.block(0, odd.before), after=bare.block(1, odd.after))


def _written(before: Counted, after: Counted, mill: Mill, job: Job) -> Pair:
    """Return the two programs as they were written, as the proof sees them."""
    begins = begins_at(mill.controller)
    one, other = (Side(each.program, each.motion, begins) for each in (before, after))
    return Pair(one, other, mill, job)


def _mark(program: Program) -> str:
    """Return what a program says of its own take-ups, or ""."""
    mark = find_mark(program)
    return "" if mark is None else mark.text


def _odd(obligation: Obligation, odd: Odd) -> Obligation:
    counts, _, _ = obligation.figure.partition(";")
    return replace(obligation, figure=f"{counts}; {odd.what}", before=odd.before, after=odd.after)


def _placed(obligation: Obligation, bare: Bare) -> Obligation:
    """Return an obligation with its places in the full texts."""
    figure, since = obligation.figure, obligation.since
    if since is not None:
        which, block = since
        full = bare.block(which, block)
        if full is not None:
            figure = figure.replace(since_line(block), since_line(full), 1)
            since = which, full
    return replace(
        obligation,
        figure=figure,
        before=bare.block(0, obligation.before),
        after=bare.block(1, obligation.after),
        since=since,
    )
