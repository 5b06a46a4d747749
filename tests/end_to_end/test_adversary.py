"""The proof finds damage to rewritten programs: `adversary.py` tells what damage, and the score."""

from __future__ import annotations

from itertools import islice

import pytest
from adversary import DAMAGES, rewrites, score

from gpre.rewrites.catalogue import NAMES


@pytest.mark.parametrize("name", [*NAMES, "sample"])
def test_no_damage_that_matters_passes_the_proof(name: str) -> None:
    counts, survivors = score(islice(rewrites([name]), 1), count=1, seed=5)
    assert [(mutant.damage, mutant.line, said) for mutant, said in survivors] == []
    found = sum(counts[damage, "found"] for damage in DAMAGES)
    passed = sum(counts[damage, kind] for damage in DAMAGES for kind in ("harmless", "idle"))
    assert found >= 8
    assert found > 2 * passed
