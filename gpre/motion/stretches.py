"""Finds the stretches of plain blocks that the vectorised run can take."""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import NDArray

from gpre.motion.columns import run_plain
from gpre.motion.controller import Controller
from gpre.motion.entry import Stretch
from gpre.motion.groups import G_GROUPS, SYSTEMS, UNITS, Group
from gpre.motion.machine import Machine
from gpre.motion.state import State
from gpre.program.program import Program
from gpre.program.words import BlockFlag

LEAST = 32  # blocks; below that the columns cost more than they save
_MESSAGE = re.compile(rb"\([ \t]*m[ \t]*s[ \t]*g[ \t]*,", re.IGNORECASE)
_PLAIN_LETTERS = b"GXYZIJKRF"
_FREE_CODES = frozenset((0, 10, 20, 30, 900, 910))  # these may change anything
_PLANES = (170, 180, 190)  # so may these, where no compensation forbids it
# codes that a stretch may hold where they restate what is in force; one bit each
_RESTATED = {
    code: 1 << bit
    for bit, code in enumerate(
        code
        for code in sorted(G_GROUPS)
        if G_GROUPS[code]
        in {
            Group.ARC_DISTANCE,
            Group.FEED_MODE,
            Group.UNITS,
            Group.COMPENSATION,
            Group.LENGTH,
            Group.RETRACT,
            Group.SYSTEM,
            Group.PATH,
        }
    )
}
_UNITS = {
    units: sum(_RESTATED[code] for code, named in UNITS.items() if named == units)
    for units in (20, 21)
}
_SYSTEM = {system: _RESTATED[code] for code, system in SYSTEMS.items()}
_PLANE = 1 << len(_RESTATED)
_NEVER = 1 << 62
_SCALAR_FLAGS = int(
    BlockFlag.STATEMENT
    | BlockFlag.UNREADABLE
    | BlockFlag.FLOW
    | BlockFlag.LATHE
    | BlockFlag.PROGRAM_NUMBER
    | BlockFlag.OUTSIDE
)


class Stretches:
    """The plain stretches of one program. needs: (m,) int64, what each block restates, as bits."""

    def __init__(self, program: Program, controller: Controller) -> None:
        self.program = program
        self.controller = controller
        self.needs = _needs(program, controller)
        self.awkward = np.flatnonzero(self.needs != 0)
        self._need = self.needs.data
        self._state: State | None = None  # the state last asked about, and the bits that it allows
        self._allowed = 0
        self.patience = LEAST  # blocks left to the scalar interpreter after a stretch stopped early
        self.resume = 0

    def run(self, at: int, machine: Machine) -> Stretch | None:
        """Run the stretch that starts at a block, or give None where there is none."""
        if at < self.resume or self._need[at] == _NEVER or not _ready(machine):
            return None
        if machine.state is not self._state:
            self._state, self._allowed = machine.state, _in_force(machine)
        last = self._end(at, self._allowed)
        if last - at < LEAST:
            self.resume = max(self.resume, last)
            return None
        stretch = run_plain(self.program, at, last, machine.entry(), self.controller)
        reached = at if stretch is None else stretch.last
        if reached < last:
            # it will stop again at such a block: wait longer each time, so that little is in vain
            self.patience = self.patience * 2 if reached - at < self.patience else LEAST
            self.resume = reached + self.patience
        return stretch if reached > at else None

    def _end(self, at: int, allowed: int) -> int:
        """Return the first block from `at` on that does not fit in."""
        wrong_bits = ~allowed
        for block, need in enumerate(self._need[at : at + LEAST], at):
            if need & wrong_bits:
                return block
        here = int(np.searchsorted(self.awkward, at))
        while here < len(self.awkward):
            blocks = self.awkward[here : here + 4096]
            wrong = np.flatnonzero(self.needs[blocks] & ~np.int64(allowed))
            if len(wrong):
                return int(blocks[wrong[0]])
            here += 4096
        return len(self.program)


def _ready(machine: Machine) -> bool:
    """Return whether no first statement is missing that would have to be noted."""
    state = machine.state
    fed = not math.isnan(machine.feed) or "INT316" in machine.said
    return (
        state.motion in {0, 10, 20, 30}
        and machine.motion_stated
        and machine.motion_known
        and state.feed_mode == 94
        and fed
        and machine.feed_units == state.units
    )


def _in_force(machine: Machine) -> int:
    """Return the bits of the codes that only restate what is in force."""
    state = machine.state
    bits = _RESTATED[state.arc_distance] | _RESTATED[state.path] | _UNITS[state.units]
    bits |= _RESTATED[state.feed_mode * 10] | _RESTATED[state.retract * 10]
    bits |= _SYSTEM[state.system] if machine.system_known and state.system else 0
    if state.compensation == 40:
        bits |= _RESTATED[400] | _PLANE
    if state.length_offset == 0 and machine.length_known:
        bits |= _RESTATED[490]
    return bits


def _needs(program: Program, controller: Controller) -> NDArray[np.int64]:
    flags = program.blocks.flags
    words = program.words
    needs = np.zeros(len(program), np.int64)
    scalar = _SCALAR_FLAGS | (int(BlockFlag.DELETE) if controller.block_delete else 0)
    needs[(flags & np.uint16(scalar)) != 0] = _NEVER
    plain = np.zeros(256, bool)
    plain[np.frombuffer(_PLAIN_LETTERS, np.uint8)] = True
    needs[words.block[~plain[words.letter]]] = _NEVER
    g = np.flatnonzero(words.letter == ord("G"))
    tenths = words.value[g] * 10.0
    codes = np.where((tenths >= 0.0) & (tenths < 10_000.0), tenths, 9999.0)
    whole = np.rint(codes)
    table = np.full(10_000, _NEVER, np.int64)
    for code in _FREE_CODES:
        table[code] = 0
    for code, bit in _RESTATED.items():
        table[code] = bit
    table[list(_PLANES)] = _PLANE
    bits = table[whole.astype(np.int64)]
    bits[whole != codes] = _NEVER
    odd = np.flatnonzero(bits)
    np.bitwise_or.at(needs, words.block[g[odd]], bits[odd])
    needs[needs >= _NEVER] = _NEVER
    if b"," in program.text:
        needs[_messages(program)] = _NEVER
    return needs


def _messages(program: Program) -> list[int]:
    """Return the blocks with a (MSG, ...) comment; looks once at a text with many comments."""
    source = program.source
    commented = np.flatnonzero(program.blocks.flags & np.uint16(BlockFlag.COMMENT))
    if len(commented) > 1000:
        return [source.block_of(found.start()) for found in _MESSAGE.finditer(program.text)]
    return [block for block in commented.tolist() if _MESSAGE.search(source.block_bytes(block))]
