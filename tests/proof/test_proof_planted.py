"""Faults planted at random: what the proof lets pass leaves the same part and takes no risk.

The judge is a height field that shares no code with the proof.
"""

import re
from random import Random

import numpy as np
import pytest
from proof_programs import (
    FACE,
    FACE_JOB,
    FACE_ONE_WAY,
    HOLES,
    HOLES_APPROACHED,
    RIM,
    RIM_JOB,
    moved_start,
)
from proof_stock import DUST, cut

from gpre.mill.job import Box, Job
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof.prove import prove
from gpre.source.text import SourceText

STOCK = Box((-6.0, -6.0, -20.0), (46.0, 36.0, 0.0))
PAIRS = {
    "rim": (RIM, moved_start(), RIM_JOB, STOCK, 3.0),
    "face": (FACE, FACE_ONE_WAY, FACE_JOB, FACE_JOB.stock, 4.0),
    "holes": (HOLES, HOLES_APPROACHED, None, STOCK, 2.5),
}


def planted(text: str, random: Random) -> str:
    """Change a text in one place: a line lost, moved, doubled; a number, a code, a word changed."""
    lines = text.split("\n")
    at = random.randrange(len(lines))
    kind = random.randrange(7)
    words = list(re.finditer(r"([XYZRFQ])(-?[\d.]+)", lines[at]))
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(random.randrange(len(lines)), lines.pop(at))
    elif kind == 2:
        lines.insert(at, random.choice(lines))
    elif kind in {3, 4} and words:
        word = random.choice(words)
        by = random.choice((-10.0, -1.0, -0.1, -0.01, 0.01, 0.1, 1.0, 10.0))
        value = float(word[2]) * 2 if word[1] == "F" else float(word[2]) + by
        lines[at] = f"{lines[at][: word.start()]}{word[1]}{value:.4f}{lines[at][word.end() :]}"
    elif kind == 5:
        lines[at] = re.sub(r"G[01](?!\d)", lambda g: "G1" if g[0] == "G0" else "G0", lines[at])
    elif words:
        word = random.choice(words)
        lines[at] = lines[at][: word.start()] + lines[at][word.end() :]
    return "\n".join(lines)


@pytest.mark.parametrize("name", PAIRS)
def test_what_passes_makes_the_same_part(name: str) -> None:
    before, after, job, stock, radius = PAIRS[name]
    assert stock is not None
    random = Random(name)
    old = cut(trace(read(before.encode())), stock, radius)
    passed = 0
    texts = {planted(after, random) for _ in range(120)} - {before, after}
    for text in sorted(texts):
        proof = prove(
            SourceText.of(before.encode()), SourceText.of(text.encode()), None, job or Job()
        )
        if not proof.holds:
            continue
        passed += 1
        new = cut(trace(read(text.encode())), stock, radius)
        assert np.abs(new.height - old.height).max() <= DUST, text
        assert new.by_rapid <= old.by_rapid, text
        assert new.deepest <= old.deepest + DUST, text
    assert 0 < passed < len(texts) / 2
