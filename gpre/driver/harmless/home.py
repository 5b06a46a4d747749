"""Moves home, by G28 or by G53, and whether they lead to the top of Z.

A move in Z to machine zero (G53 Z0) or to the reference point (G28 Z) goes to the top of Z: common
practice, no source; where the profile gives the travel of Z it must be there.
"""

from __future__ import annotations

from gpre.driver.harmless.runs import ProgramRun
from gpre.program.items import Pairs, plain_words

G28, G53 = ("G", 28.0), ("G", 53.0)
_TOP = 1.0  # mm below the end of the travel of Z that still count as its top


def words_of(run: ProgramRun, row: int) -> Pairs:
    """Return the words of the block that makes a move, none where they are not plain."""
    block = run.motion.block_of(row)
    return plain_words(run.side.program, block, block + 1)[0]


def is_home(run: ProgramRun, row: int, words: Pairs) -> bool:
    """Return whether a move is made by G53, or is the last one of G28."""
    block = run.motion.block
    last = row + 1 == len(block) or block[row + 1] != block[row]
    return G53 in words or (G28 in words and bool(last))


def takes_z(run: ProgramRun, words: Pairs) -> bool:
    """Return whether G53 or G28 takes Z along."""
    if any(letter == "Z" for letter, _ in words):
        return True
    every = run.mill.controller.g28_moves == "all"
    return G28 in words and (every or not any(letter in "XYZ" for letter, _ in words))


def not_up(run: ProgramRun, row: int, words: Pairs) -> str:
    """Return why a move home need not go up to the top of Z, or ""; also if it leaves Z alone."""
    mill = run.mill
    if not takes_z(run, words):
        return ""
    scale = run.motion.state_of(row).scale
    if G53 in words:
        z = next(value for letter, value in words if letter == "Z") * scale
    elif mill.controller.home is None:
        return ""
    else:
        z = mill.controller.home[2]
    travel = mill.z.travel
    if travel is None:
        top = z >= 0.0 if G28 in words else z == 0.0
        return "" if top else "whether it goes up is not known: the profile has no travel of Z"
    top = z >= travel[1] - _TOP
    return "" if top else f"Z{z:g} mm in machine coordinates is not the top of Z"
