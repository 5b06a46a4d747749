"""How controllers may read two programs that leave something open: the proof must hold in each.

The operator may turn the block delete switch, and where neither a program nor the profile states
units, distance mode or plane, nobody knows what is in force. Each way to read what is open is
looked at together with each way to read the rest: an error that stays within the tolerance in mm
and in G90 need not do so in inches and in G91. What nothing depends on is not looked at twice, so
that programs that state all they need are proved once. One open setting doubles the time, the
plane with all three choices open triples it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from gpre.mill.mill import Mill
from gpre.motion.not_stated import SETTINGS, all_not_stated
from gpre.program.words import BlockFlag
from gpre.proof.proof import Obligation, Proof
from gpre.proof.side import Side

_READ = {
    20: "in inches",
    21: "in mm",
    90: "in G90",
    91: "in G91",
    17: "in G17",
    18: "in G18",
    19: "in G19",
}


@dataclass(frozen=True)
class OpenReading:
    """A mill that reads the programs in one way, and how that is told behind a figure."""

    mill: Mill
    name: str = ""


def readings(before: Side, after: Side, mill: Mill) -> tuple[OpenReading, ...]:
    """Find all ways to read two programs; the first is that of the profile, or what is taken.

    before, after: the programs as that mill reads them.
    """
    choices = _choices(before, after, mill)
    names = [name for name in SETTINGS if name in choices]
    switch = mill.controller.block_delete
    positions = [switch, not switch] if _switched(before) or _switched(after) else [switch]
    found: list[OpenReading] = []
    for position in positions:
        turned = "" if position == switch else f" (block delete {'on' if position else 'off'})"
        for codes in product(*(choices[name] for name in names)):
            changes: dict[str, object] = dict(zip(names, codes, strict=True))
            controller = replace(mill.controller, block_delete=position, **changes)  # type: ignore[arg-type]
            taken = [choices[name][0] for name in names]
            odd = [code for code, usual in zip(codes, taken, strict=True) if code != usual]
            read = " and ".join(_READ[code] for code in odd or codes)
            name = (f" (read {read})" if read else "") + turned
            found.append(OpenReading(replace(mill, controller=controller), name))
    return tuple(found)


def together(proofs: Sequence[tuple[OpenReading, Proof]]) -> Proof:
    """Join the proofs of all readings: what fails in one fails, and its figure says in which."""
    readers = [reading for reading, _ in proofs]
    columns = zip(*(proof.obligations for _, proof in proofs), strict=True)
    obligations = tuple(_worst(readers, column) for column in columns)
    return Proof(obligations, proofs[0][1].changed_places)


def _worst(readers: Sequence[OpenReading], column: Sequence[Obligation]) -> Obligation:
    failed = [at for at, each in enumerate(column) if not each.holds]
    if not failed or len(failed) == len(column):
        return column[0]
    found = column[failed[0]]
    return replace(found, figure=found.figure + readers[failed[0]].name)


def _choices(before: Side, after: Side, mill: Mill) -> dict[str, tuple[int, ...]]:
    """Return the codes that each open setting may have, the one that is taken first.

    What the first program cannot be run in is none of them: its errors would have been seen. Of the
    second program that says nothing.
    """
    old, new = (
        {each.setting: each for each in all_not_stated(side.program, side.motion, mill.controller)}
        for side in (before, after)
    )
    result: dict[str, tuple[int, ...]] = {}
    for name in SETTINGS:
        open_in = [table[name] for table in (old, new) if name in table and table[name].matters]
        ruled_out = old[name].ruled_out if name in old else ()
        codes = {code for each in open_in for code in (*each.others, *each.ruled_out)}
        codes -= set(ruled_out)
        if codes:
            result[name] = (open_in[0].taken, *sorted(codes))
    return result


def _switched(side: Side) -> bool:
    """Return whether a program has blocks that a switch on the controller skips."""
    return bool(np.any(side.program.blocks.flags & int(BlockFlag.DELETE)))
