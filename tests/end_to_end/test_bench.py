"""The benches are run by hand: each family is made and worked at here, so that none is stale."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))

import growth


@pytest.mark.parametrize("name", growth.FAMILIES)
def test_each_family_whose_growth_is_told_can_be_worked_at(name: str) -> None:
    make, size = growth.FAMILIES[name]
    assert size >= 3
    assert make(12)() is not None
