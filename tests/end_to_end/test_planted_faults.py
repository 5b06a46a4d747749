"""The second reading notices each fault that is planted in gpre's interpreter."""

from __future__ import annotations

import sys

from planted_faults import FAULTS, Fault, noticed, planted
from reading_examples import EXAMPLES
from two_readings import PLACED, compare


def test_the_second_reading_notices_each_planted_fault() -> None:
    assert len(FAULTS) >= 20
    table = [(each.name, *noticed(each)) for each in FAULTS]
    for name, by, said in table:
        print(f"{name:<54} {by:<28} {said}")
    assert [name for name, by, _ in table if not by] == []
    assert len({by for _, by, _ in table}) > 10


def test_without_a_fault_nothing_is_noticed_and_gpre_is_as_it_was() -> None:
    before = sys.modules["gpre.motion.trace"]
    same = Fault("none", (("gpre.motion.groups", "17: (0, 1, 2)", "17: (0, 1, 2)"),))
    with planted(same) as gpre:
        assert sys.modules["gpre.motion.trace"] is not before
        assert compare(EXAMPLES["arcs in three planes"].encode(), PLACED, gpre).said == []
    assert sys.modules["gpre.motion.trace"] is before
