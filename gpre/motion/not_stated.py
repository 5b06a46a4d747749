"""Units, distance mode and plane on which moves depend before the program states them.

Where the profile does not state them either, nobody knows them: what is taken may be wrong. A
program is run through once for each thing that it may be, and the moves that differ depend on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.codes import is_error
from gpre.motion.controller import Controller
from gpre.motion.differing import differing, same_values
from gpre.motion.groups import ARCS, CYCLES, UNITS
from gpre.motion.machine import Machine
from gpre.motion.motion import Motion
from gpre.motion.order import run_order
from gpre.motion.trace import trace, trace_from
from gpre.program.program import Program
from gpre.program.read import read
from gpre.program.words import BlockFlag

Bools = NDArray[np.bool_]

CHOICES: dict[str, tuple[int, ...]] = {
    "units": (21, 20),
    "distance": (90, 91),
    "plane": (17, 18, 19),
}
SETTINGS = tuple(CHOICES)
READINGS = {
    20: "inch",
    21: "mm",
    90: "absolute (G90)",
    91: "incremental (G91)",
    17: "XY (G17)",
    18: "ZX (G18)",
    19: "YZ (G19)",
}
CHOICE_NAMES = {"units": "mm or inch", "distance": "G90 or G91", "plane": "G17, G18 or G19"}
HEAD = 1000  # blocks; what is stated at all is stated there, mostly
_ELSEWHERE = (37.0, 41.0, 43.0)  # mm; a start from which no two readings agree by chance
_CODES = {  # G codes times ten
    "units": tuple(UNITS),
    "distance": (900, 910),
    "plane": (170, 180, 190),
}
_FREE = np.frombuffer(b"GMNOST", np.uint8)  # letters of words that are no length and no feed
_LENGTHS = np.frombuffer(b"XYZUVWIJKRQDF", np.uint8)
_CALLS = (97, 98, 99)
# where one of these comes before the statement, the words alone do not tell what runs
_UNSURE = int(
    BlockFlag.STATEMENT | BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE | BlockFlag.DELETE
)


@dataclass(frozen=True, eq=False)
class NotStated:
    """One setting that matters before the program states it and that nothing settles.

    setting: a name of SETTINGS. taken: its code, 20 or 21, 90 or 91, 17 to 19. others: what else it
    may be. ruled_out: what it cannot be, since the program has faults then that it has not as it is
    taken. first, last: blocks of the first and the last move that depend on it. before_end: (m,)
    bool, the blocks that run up to the move after the last of these and of those that come before
    the statement. to_the_end: no move at feed comes after the last of these. matters: False where
    these moves are the same either way, as where all lengths are 0; then first and last are those
    that come before the statement.
    """

    setting: str
    taken: int
    others: tuple[int, ...]
    ruled_out: tuple[int, ...]
    first: int
    last: int
    before_end: Bools
    to_the_end: bool
    matters: bool = True


def not_stated(program: Program, motion: Motion, controller: Controller) -> tuple[NotStated, ...]:
    """Find the settings that matter to a program before it states them and that nothing settles.

    motion: that of the program on this controller. The program needs its words. Where the block
    delete switch can skip blocks, both of its positions are looked at. Settings with no `others`
    are left out.
    """
    return tuple(each for each in all_not_stated(program, motion, controller) if each.others)


def all_not_stated(
    program: Program, motion: Motion, controller: Controller
) -> tuple[NotStated, ...]:
    """Find the same, those too that can be nothing but what is taken."""
    waiting = [
        setting
        for setting in SETTINGS
        if setting not in controller.stated and not _settled_early(program, setting)
    ]
    if not waiting:
        return ()
    if not controller.start_known:  # what depends on a setting shows from any place
        controller = replace(controller, start_known=True)
        motion = trace(program, controller)
    positions = [_Position(program, motion, controller)]
    if np.any(program.blocks.flags & int(BlockFlag.DELETE)):
        turned = replace(controller, block_delete=not controller.block_delete)
        positions.append(_Position(program, trace(program, turned), turned))
    found = (_joined([each.find(setting) for each in positions]) for setting in waiting)
    return tuple(each for each in found if each is not None)


def _joined(found: Sequence[NotStated | None]) -> NotStated | None:
    """Put what was found for the positions of the block delete switch together."""
    there = [each for each in found if each is not None]
    if not there:
        return None
    first, *rest = there
    for each in rest:
        first = replace(
            first,
            others=tuple(dict.fromkeys((*first.others, *each.others))),
            ruled_out=tuple(code for code in first.ruled_out if code in each.ruled_out),
            before_end=first.before_end | each.before_end,
            to_the_end=first.to_the_end or each.to_the_end,
            matters=first.matters or each.matters,
        )
    return first


def _settled_early(program: Program, setting: str) -> bool:
    """Return whether the words alone show that nothing depends on the setting unstated."""
    words, flags = program.words, program.blocks.flags
    counts = (flags[words.block] & int(BlockFlag.OUTSIDE)) == 0
    codes = np.rint(words.value * 10.0)
    is_g = (words.letter == ord("G")) & counts
    if setting == "plane" and not program.statements:
        bent = is_g & np.isin(codes, (*ARCS, *CYCLES))
        if not bent.any():
            return True
    stating = words.block[is_g & np.isin(codes, _CODES[setting])]
    if not len(stating):
        return False
    block = int(stating[0])
    calls = (words.letter == ord("M")) & np.isin(words.value, _CALLS)
    before = words.block <= block
    if (flags[: block + 1] & _UNSURE).any() or (calls & before & counts).any():
        return False
    uses = words.block[~np.isin(words.letter, _FREE) & counts]
    return not len(uses) or block <= int(uses[0])


@dataclass(frozen=True, eq=False)
class _Position:
    """A program at one position of the block delete switch."""

    program: Program
    motion: Motion
    controller: Controller

    def find(self, setting: str) -> NotStated | None:
        taken = int(getattr(self.controller, setting))
        choices = [code for code in CHOICES[setting] if code != taken]
        rows = np.zeros(len(self.motion), np.bool_)  # moves that are others in another setting
        before = rows.copy()  # moves before it is stated
        others: list[int] = []
        ruled_out: list[int] = []
        for code in choices:
            more, unstated = self._depending(setting, code)
            rows |= more
            before |= unstated
            if not (more.any() or unstated.any()):
                continue
            out = setting != "units" and self._has_new_errors(setting, code)
            (ruled_out if out else others).append(code)
        order = run_order(len(self.program), self.motion)
        if setting == "units" and before.any() and not rows.any():
            until = int(order.of_row[np.flatnonzero(before)[-1]]) + 1
            if self._has_lengths(order.steps[:until]):
                rows |= before  # of places that are not known, the moves do not show it
        matters = bool(rows.any())
        at = np.flatnonzero(rows if matters else before)
        if not len(at):
            return None
        # what comes before the next move may still come before the statement
        until = int(np.flatnonzero(rows | before)[-1]) + 1
        steps = order.steps[: int(order.of_row[until]) + 1 if until < len(rows) else None]
        before_end = np.zeros(len(self.program), np.bool_)
        before_end[steps] = True
        return NotStated(
            setting,
            taken,
            tuple(others),
            tuple(ruled_out),
            int(self.motion.block[at[0]]),
            int(self.motion.block[at[-1]]),
            before_end,
            to_the_end=not self.motion.at_feed[at[-1] + 1 :].any(),
            matters=matters,
        )

    def _has_lengths(self, blocks: NDArray[np.int64]) -> bool:
        """Return whether a length or feed that is not 0 stands in some blocks, or may."""
        words = self.program.words
        lengths = np.isin(words.letter, _LENGTHS) & (words.value != 0.0)
        odd = self.program.statements.keys() & set(blocks.tolist())
        return bool(odd) or bool(np.isin(words.block[lengths], blocks).any())

    def _has_new_errors(self, setting: str, code: int) -> bool:
        """Return whether a controller in that setting would refuse what it runs as it is taken.

        The arcs of a program in G90 have no such centres in G91, I and J name no centre in G18.
        Not asked of units: whether an arc closes within a bound in mm says nothing of them.
        """
        other = trace(self.program, replace(self.controller, **{setting: code}))  # type: ignore[arg-type]
        return bool(_errors(other) - _errors(self.motion))

    def _depending(self, setting: str, code: int) -> tuple[Bools, Bools]:
        """(n,) bool each: moves that are others in another setting; those before the statement."""
        moves, unstated = np.zeros((2, len(self.motion)), np.bool_)
        # from zero, the first moves of G90 and G91 are the same by chance
        starts = (None, _ELSEWHERE) if setting == "distance" else (None,)
        for start in starts:
            for program, whole in self._parts():
                one, left = self._run(program, start)
                other, left_otherwise = self._run(program, start, **{setting: code})
                moves |= self._at_rows(one, _rows_differ(one, other))
                if setting != "plane":
                    unstated |= self._at_rows(one, _in_force_differs(one, other, setting))
                if whole or left == left_otherwise:  # all is stated by then
                    break
        return moves, unstated

    def _at_rows(self, one: Motion, mask: Bools) -> Bools:
        """(n,) bool: moves of this program that are named in a run of it, or of its head."""
        block = self.motion.block
        count = len(one)
        if count <= len(block) and (one.block == block[:count]).all():
            return np.concatenate((mask, np.zeros(len(block) - count, np.bool_)))
        # that run makes other moves: all those of a block are meant, or the last if it makes none
        result: Bools = np.isin(block, one.block[mask])
        result[-1:] |= bool(np.isin(one.block[mask], block, invert=True).any())
        return result

    def _parts(self) -> Iterator[tuple[Program, bool]]:
        """Yield the first blocks of a long program, and then all of it."""
        program = self.program
        if len(program) > 2 * HEAD and not self.motion.called.any():
            end = int(program.source.starts[HEAD])
            yield read(program.text[:end], program.source.name), False
        yield program, True

    def _run(
        self, program: Program, start: tuple[float, float, float] | None, **changes: int
    ) -> tuple[Motion, Machine]:
        if start is None and not changes and program is self.program:
            return self.motion, Machine.begin(self.controller)
        controller = replace(self.controller, **changes)  # type: ignore[arg-type]
        if start is not None:
            controller = replace(controller, start=start)
        return trace_from(program, controller)


def _rows_differ(one: Motion, other: Motion) -> Bools:
    """(n,) bool: moves of the first motion that are others in the second, or at another origin."""
    result = np.ones(len(one), np.bool_)  # where one has moves that the other has not
    count = min(len(one), len(other))
    if len(other) > len(one):
        count = max(count - 1, 0)  # the last one must stand for those that come after it
    result[:count] = differing(one, other)[:count]
    origins = (each.origins[each.state[:count]] for each in (one, other))
    result[:count] |= ~same_values(*origins)
    return result


def _in_force_differs(one: Motion, other: Motion, setting: str) -> Bools:
    """(n,) bool: moves of the first motion in other units, or another distance mode."""
    result = np.zeros(len(one), np.bool_)
    count = min(len(one), len(other))
    tables = [
        np.array([getattr(state, setting) for state in each.states] or [0]) for each in (one, other)
    ]
    result[:count] = tables[0][one.state[:count]] != tables[1][other.state[:count]]
    return result


def _errors(motion: Motion) -> frozenset[str]:
    """Return the codes of the errors of a motion."""
    return frozenset(each.code for each in motion.findings if is_error(each))
