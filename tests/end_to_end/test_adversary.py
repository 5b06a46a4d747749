"""The proof finds damage to rewritten programs: `adversary.py` tells what damage, and the score."""

from __future__ import annotations

from itertools import islice

import pytest
from adversary import EVERY_DAMAGE, HERE, rewrites, score, setups

from gpre import load_mill
from gpre.rewrites.catalogue import NAMES


@pytest.mark.parametrize("name", [*NAMES, "sample"])
def test_no_damage_that_matters_passes_the_proof(name: str) -> None:
    counts, survivors = score(islice(rewrites([name]), 1), count=1, seed=5)
    assert [(mutant.damage, mutant.line, said) for mutant, said in survivors] == []
    found = sum(counts[damage, "found"] for damage in EVERY_DAMAGE)
    passed = sum(counts[damage, kind] for damage in EVERY_DAMAGE for kind in ("harmless", "idle"))
    assert found >= 8
    assert found > 2 * passed


def test_no_damage_to_programs_with_several_setups_passes_in_any_state_of_knowledge() -> None:
    mill = load_mill(HERE.parents[1] / "samples" / "mill.toml")
    counts, survivors = score(setups(mill, share=7), count=1, seed=5)
    told = [(mutant.of.name, mutant.damage, mutant.line, said) for mutant, said in survivors]
    assert told == []
    for state in ("nothing", "one origin", "all"):
        for job in ("no job", "tools and stock named"):
            found, passed = (counts[f"({state}, {job})", kind] for kind in ("found", "harmless"))
            assert found > 2 * passed, (state, job)
