"""Moves that nobody may touch: how their blocks may be spelled, and what is told of a changed one.

A rotary axis turns in the programs, so none of their moves may be touched; they are invented.
"""

from __future__ import annotations

import pytest
from known_mill import KNOWN

from gpre.mill.job import Job
from gpre.proof.event_checks import left_alone
from gpre.proof.proof import Obligation
from gpre.proof.prove import NAMES, OF_TEXTS, prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94 F200\nT1 M6\nG0 X0 Y0 Z5 A0\nG1 A10\n"


def alone(before: str, after: str, head: str = HEAD) -> Obligation:
    sides = (Side.of(SourceText.of((head + each).encode()), KNOWN) for each in (before, after))
    return left_alone(Pair(*sides, KNOWN, Job()))


@pytest.mark.parametrize(
    "code",
    [
        "G0",
        "G1",
        "G17",
        "G18",
        "G19",
        "G20",
        "G21",
        "G54",
        "G55",
        "G59.1",
        "G61",
        "G61.1",
        "G64",
        "G90",
        "G90.1",
        "G91",
        "G91.1",
        "G94",
        "G98",
        "G99",
    ],
)
def test_a_code_that_is_in_force_already_need_not_stand_in_the_block(code: str) -> None:
    """What is in force is compared by itself, move by move."""
    head = f"{HEAD}{code} F200\nX1\n" if code not in {"G20", "G91"} else f"{HEAD}{code}\nX1 F200\n"
    assert alone(f"{code} X7\nM30\n", "X7\nM30\n", head).holds
    assert alone("X7\nM30\n", f"{code} X7\nM30\n", head).holds


@pytest.mark.parametrize(
    ("was", "now", "holds"),
    [
        ("G1 X7 F200", "G1 X7", True),
        ("G1 X7", "G1 X7 M5", True),
        ("G1 X7", "X7. G01", True),
        ("G1 X7", "G1 X7 Y0", False),  # the same way, but said of another axis
        ("G1 X7 Y0", "G1 X7", False),
        ("G1 X7", "G1 X7 D3", False),
        ("G1 X7", "G1 X7 G41", False),
        ("G1 X7", "G1 X7 G8", False),
        ("G1 X7", "G1 X#1", False),
    ],
)
def test_words_of_its_own_stay(was: str, now: str, *, holds: bool) -> None:
    head = HEAD + "#1=7\nG1 X5 F200\n"
    assert alone(f"{was}\nM30\n", f"{now}\nM30\n", head).holds == holds


SUBS = "M98 P1\nM98 P{}\nM30\nO1\nG1 X7\nM99\nO2\nG1 X7\nM99\n"


def test_a_block_that_makes_a_move_stays_as_many_blocks() -> None:
    """Two subprograms with the same words, and one of them twice."""
    two, one = SUBS.format(2), SUBS.format(1)
    assert alone(two, two).holds
    found = alone(two, one)
    assert (found.holds, found.before, found.after) == (False, 11, None)
    found = alone(one, two)
    assert (found.holds, found.before, found.after) == (False, None, 11)


def test_the_first_move_that_changed_is_told_with_the_reason() -> None:
    found = alone("G1 X7\nX8\nX9\nM30\n", "G1 X7\nX8 F150\nX9\nM30\n")
    assert (found.holds, found.before, found.after) == (False, 5, 5)
    assert "a rotary axis turns in the program; its feed was 200 mm/min, is 150" in found.figure
    for now in ("X8.5 F150", "X8 S5"):
        assert "feed" not in alone("G1 X7\nX8\nM30\n", f"G1 X7\n{now}\nM30\n").figure
    head = HEAD.replace(" A0", "").replace("G1 A10", "G28 Z0")
    found = alone("G1 X7\nX8\nM30\n", "G1 X7\nX8.5\nM30\n", head)
    assert (found.holds, found.before, found.since) == (False, 5, (0, 3))
    assert "Z is not known" in found.figure


def test_of_a_changed_move_that_must_stay_nothing_else_is_shown() -> None:
    texts = [SourceText.of((HEAD + each).encode()) for each in ("G1 X7\nM30\n", "G1 X8\nM30\n")]
    shown = {each.name: each for each in prove(*texts, KNOWN).obligations}
    assert set(shown) == set(NAMES)
    assert len(prove(*texts, KNOWN).obligations) == len(NAMES)
    for name in NAMES[len(OF_TEXTS) + 1 :]:
        assert shown[name].figure == "not shown: moves that must stay have changed"
