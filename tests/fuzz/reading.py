"""What must hold for any bytes at all."""

from __future__ import annotations

import numpy as np

from gpre.cuts.find_cuts import find_cuts
from gpre.mill.mill import Mill
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.source.text import SourceText

CONTROLLER = Mill().controller


def check(data: bytes) -> None:
    """Read, follow and count a program; raise where anything is lost or out of shape."""
    source = SourceText.of(data, "fuzz")
    program = read(source)
    if program.text != data:
        raise AssertionError("the bytes are not printed back")
    for each in program.findings:
        span = each.span
        if span is not None and not 0 <= span.start <= span.end <= len(data):
            raise AssertionError(f"a diagnostic lies outside the text: {each}")
    motion = trace(program, CONTROLLER)
    n = len(motion)
    if motion.start.shape != (n, 3) or (n and motion.block.max() >= len(program)):
        raise AssertionError("a move belongs to no block")
    if n > 1 and not motion.called.any() and (np.diff(motion.block) < 0).any():
        raise AssertionError("moves out of order")
    found = find_reversals(motion)
    if len(found.move) and found.move.max() >= n:
        raise AssertionError("a reversal belongs to no move")
    cuts = find_cuts(motion)
    if any(not 0 <= cut.first < cut.last <= n for cut in cuts):
        raise AssertionError("a cut outside the motion")
