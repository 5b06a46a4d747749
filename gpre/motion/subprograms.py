"""Subprogram calls M98 and M99 within the file. The standard has none; this is common practice.

`M98 P1234 L3` runs the program that starts with `O1234` three times, up to its M99.
"""

from __future__ import annotations

import numpy as np

from gpre.motion import groups
from gpre.motion.block import Block, BlockError
from gpre.motion.events import EventKind
from gpre.motion.outcome import NEXT, Action, Outcome
from gpre.motion.run import Run
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.words import BlockFlag

DEEPEST = 50  # calls within calls; real controllers stop at four to ten


def program_numbers(program: Program) -> dict[int, int]:
    """Return the block of every program number in the file; the first one where it stands twice."""
    found: dict[int, int] = {}
    marked = program.blocks.flags & np.uint16(BlockFlag.PROGRAM_NUMBER)
    for block in np.flatnonzero(marked).tolist():
        for word in block_words(program, block):
            if word.letter == "O" and isinstance(word.value, Number):
                found.setdefault(int(word.value.value), block)
    return found


def _subprogram(run: Run, number: int) -> int | None:
    if run.numbers is None:
        run.numbers = program_numbers(run.program)
    return run.numbers.get(number)


def call_or_return(run: Run, block: Block) -> Outcome:
    """M97, M98 and M99: where the program goes."""
    code = block.m.get(groups.CALLS)
    if code is None:
        return NEXT
    if code == 99:
        return _return(run, block)
    number = block.whole("P", "the number of the subprogram")
    repeats = block.whole("L", "the number of repeats")
    if number is None:
        raise BlockError("INT314", f"M{code} needs a P word", (f"M{code}",))
    target = _subprogram(run, number) if code == 98 else None
    if target is None:
        run.event(EventKind.HANDOVER, f"M{code} P{number}")
        run.report(
            "INT330",
            f"M{code} P{number} calls what is not in this file",
            block.span_of([f"M{code}", "P"]),
            "what it does is not known, nor where the axes are afterwards",
        )
        run.lose_all(f"what M{code} P{number} does is not in this file")
        return NEXT
    times = 1 if repeats is None else repeats
    if times == 0:
        return NEXT
    run.event(EventKind.CALL, f"M98 P{number}")
    return Outcome(Action.CALL, target, times)


def _return(run: Run, block: Block) -> Outcome:
    if block.take("P") is not None:
        run.report(
            "INT329",
            "M99 with P jumps: the program is followed up to here",
            block.span_of(["M99", "P"]),
            "what comes after it is left alone",
        )
        return Outcome(Action.LOST)
    return Outcome(Action.RETURN)
