"""The codes that are known, by modal group, against the table of the standard."""

from __future__ import annotations

import numpy as np
import pytest
from motion_checks import codes, run

from gpre.motion.groups import G_GROUPS, M_GROUPS, Group
from gpre.motion.lines import OddText

# NISTIR 6556, Table 4, by group; and what programs in use have beyond it, from memory
GROUPS = {
    Group.NON_MODAL: "4 10 28 30 53 92 92.1 92.2 92.3",
    Group.MOTION: "0 1 2 3 38.2 80 81 82 83 84 85 86 87 88 89",
    Group.PLANE: "17 18 19",
    Group.DISTANCE: "90 91",
    Group.FEED_MODE: "93 94",
    Group.UNITS: "20 21",
    Group.COMPENSATION: "40 41 42",
    Group.LENGTH: "43 49",
    Group.RETRACT: "98 99",
    Group.SYSTEM: "54 55 56 57 58 59 59.1 59.2 59.3",
    Group.PATH: "61 61.1 64",
}
BEYOND = {
    Group.MOTION: "38.3 38.4 38.5 73",
    Group.ARC_DISTANCE: "90.1 91.1",
    Group.FEED_MODE: "95",
    Group.UNITS: "70 71",
    Group.COMPENSATION: "41.1 42.1",
}


def test_the_groups_of_g_codes_are_those_of_the_standard() -> None:
    wanted = {
        round(float(code) * 10): group
        for table in (GROUPS, BEYOND)
        for group, listed in table.items()
        for code in listed.split()
    }
    assert wanted == G_GROUPS
    assert len({int(group) for group in Group}) == len(Group) == 12


def test_the_groups_of_m_codes_are_those_of_the_standard() -> None:
    # the same table: 4 stopping, 6 tool, 7 spindle, 8 coolant, 9 overrides; calls are beyond it
    groups = ("0 1 2 30 60", "6", "3 4 5", "7 8 9", "48 49", "97 98 99")
    for at, listed in enumerate(groups):
        numbers = {M_GROUPS[int(code)] for code in listed.split()}
        assert numbers == {(4, 6, 7, 8, 9, 10)[at]}
    assert len(M_GROUPS) == sum(len(listed.split()) for listed in groups)


@pytest.mark.parametrize("code", ["38.2", "38.3", "38.4", "38.5"])
def test_a_probe_leaves_its_axes_where_nobody_knows(code: str) -> None:
    motion = run(f"G0 X1 Y2 Z3\nG{code} Z-5 F50")
    assert motion.end[-1, :2].tolist() == [1.0, 2.0]
    assert np.isnan(motion.end[-1, 2])
    assert codes(motion) == []


@pytest.mark.parametrize(
    ("letter", "axis"), [(letter, at % 6) for at, letter in enumerate("XYZABCUVW")]
)
def test_the_axes_that_a_block_names_that_is_not_understood(letter: str, axis: int) -> None:
    # U, V and W are steps along X, Y and Z on many lathes and some mills (from memory)
    for text in (f"{letter}5", f"? {letter.lower()}5 (not X Y Z A B C)"):
        assert OddText.of(text.encode(), "utf-8").axes == {axis}
