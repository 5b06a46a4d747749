"""Which blocks of subprograms run once and no more, whatever the operator switches.

Such blocks may be edited like those of the main program. Everything else stays as it is: what one
run needs, another may not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.motion.events import EventKind
from gpre.motion.motion import Motion
from gpre.motion.order import RunOrder
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.words import BlockFlag

PART = "the block belongs to a subprogram"
AGAIN = f"{PART} that runs more than once"
_HARMLESS_M = (0, 1, 7, 8, 9, 60)  # stops and coolant


@dataclass(frozen=True)
class Subprograms:
    """Per step of the run order: whether a subprogram runs, and why it is left alone.

    called: (k,) bool. reason: (k,) the row of `reasons`; 0, "", where blocks may be edited.
    """

    called: NDArray[np.bool_]
    reason: NDArray[np.int16]
    reasons: tuple[str, ...]

    def why_not(self, step: int) -> str:
        """Say why the block of a step is left alone as part of a subprogram, or ""."""
        return self.reasons[int(self.reason[step])]


@dataclass(frozen=True, slots=True)
class _Call:
    """One call: number of the subprogram, its first step and one past its last."""

    number: int
    first: int
    last: int


def subprograms(program: Program, motion: Motion, order: RunOrder) -> Subprograms:
    """Look at all calls of a program."""
    called = np.zeros(len(order.steps), bool)
    reason = np.zeros(len(order.steps), np.int16)
    calls = _calls(motion, order)
    if not calls:
        return Subprograms(called, reason, ("",))
    reasons = [""]
    stated = _stated(program)
    shared = {number: _why_shared(program, stated, number) for number in {c.number for c in calls}}
    for call in calls:
        rows = slice(call.first, call.last)
        called[rows] = True
        why = shared[call.number]
        if why:
            if why not in reasons:
                reasons.append(why)
            reason[rows] = reasons.index(why)
    general = _why_none(program, motion, stated)
    if general:
        reasons.append(general)
        reason[called] = len(reasons) - 1
    reasons.append(AGAIN)
    again = order.runs[order.steps] > 1
    reason[called & again] = len(reasons) - 1
    return Subprograms(called, reason, tuple(reasons))


def _calls(motion: Motion, order: RunOrder) -> list[_Call]:
    """Pair calls with their returns; one that never returns lasts to the end of the run."""
    found: list[_Call] = []
    waiting: list[tuple[int, int]] = []
    events = [event for event in motion.events if event.kind is EventKind.CALL]
    for event, step in zip(events, order.of_events(events).tolist(), strict=True):
        if event.value.startswith("M98 P"):
            waiting.append((int(event.value[5:]), step + 1))
        elif waiting:
            number, first = waiting.pop()
            found.append(_Call(number, first, step + 1))
    found += (_Call(number, first, order.ran) for number, first in waiting)
    return found


def _stated(program: Program) -> dict[int | None, list[int]]:
    """Return the blocks of the calls that the text holds, by number; None: one that is computed."""
    found: dict[int | None, list[int]] = {}
    words = program.words
    plain = words.block[(words.letter == ord("M")) & (words.value == 98.0)].tolist()
    for block in sorted({*plain, *program.statements}):
        held = block_words(program, block)
        values = {
            word.letter: word.value.value if isinstance(word.value, Number) else None
            for word in held
            if word.letter == "P"
        }
        codes = [word.value for word in held if word.letter == "M"]
        if not any(not isinstance(code, Number) or code.value == 98.0 for code in codes):
            continue
        number = values.get("P")
        found.setdefault(None if number is None else int(number), []).append(block)
    return found


def _why_shared(program: Program, stated: dict[int | None, list[int]], number: int) -> str:
    """Say why one subprogram may run again, or ""."""
    calls = stated.get(number, [])
    if len(calls) > 1:
        lines = " and ".join(str(block + 1) for block in calls[:2])
        return f"{PART} that lines {lines} call"
    if _times_numbered(program, number) != 1:
        return f"{PART} whose number stands more than once"
    return ""


def _times_numbered(program: Program, number: int) -> int:
    marked = np.flatnonzero(program.blocks.flags & BlockFlag.PROGRAM_NUMBER)
    return sum(
        word.letter == "O" and isinstance(word.value, Number) and int(word.value.value) == number
        for block in marked.tolist()
        for word in block_words(program, block)
    )


def _why_none(program: Program, motion: Motion, stated: dict[int | None, list[int]]) -> str:
    """Say why any subprogram may run again, or ""."""
    for event in motion.events:
        if event.kind is EventKind.HANDOVER:
            what = event.value or "a call"
            return f"{PART}, and {what} in line {event.block + 1} may call it again"
    if None in stated:
        return f"{PART}, and line {stated[None][0] + 1} calls one that is not named"
    for block in np.flatnonzero(program.blocks.flags & BlockFlag.DELETE).tolist():
        if not only_stops(program, block):
            return f"{PART}, and line {block + 1} can be switched off"
    ends = [event.value for event in motion.events if event.kind is EventKind.END]
    if "M99" in ends:
        return f"{PART}, and the main program starts again at its end"
    if not ends:
        return f"{PART}, and the program is not followed to its end"
    return ""


def only_stops(program: Program, block: int) -> bool:
    """Return whether a block that can be switched off only stops, or turns coolant on or off."""
    if block in program.statements:
        return False
    rows = slice(*program.blocks.first_word[block : block + 2].tolist())
    only_m = bool((program.words.letter[rows] == ord("M")).all())
    return only_m and bool(np.isin(program.words.value[rows], _HARMLESS_M).all())
