"""A block to which the program goes by its number must stand where it stood."""

import pytest

from gpre.proof.prove import prove
from gpre.source.text import SourceText

PART = """N5 G21 G90 G17 G94 F300
T1 M6
N10 G0 X0 Y0 Z5
N15 G1 Z-1
N20 G1 X10
G1 X20
Y10
X0
Y0
G0 Z5
{}
"""
# common practice, no source: M99 P and M97 P go to a block number, GOTO too
JUMPS = (
    "M99 P20",
    "M98 P1\nM30\nO1\nM99 P20",
    "M98 P1\nM30\nO1\nM97 P20\nM99",
    "IF [#1 EQ 2] GOTO 20\nM30",
    "#1=20\nM99 P#1",
)
PLAIN = ("M30", "G4 P20\nM30", "M98 P1\nM30\nO1\nM99", "M99")


def figure(end: str, old: str, new: str) -> str:
    """What is said of the blocks where something is wrong with them."""
    before = PART.format(end)
    assert old in before
    after = before.replace(old, new)
    texts = (SourceText.of(each.encode(), "part") for each in (before, after))
    (found,) = [each for each in prove(*texts).obligations if each.name == "untouched blocks"]
    return "" if found.holds else found.figure


CHANGES = {
    "has moved": ("N20 G1 X10\nG1 X20", "G1 X10\nN20 G1 X20"),
    "has gone": ("N20 G1 X10\n", "G1 X10\n"),
    "stands twice": ("G1 X20", "N20 G1 X20"),
}


@pytest.mark.parametrize("end", JUMPS)
@pytest.mark.parametrize("wrong", CHANGES)
def test_a_block_that_a_jump_names_stays(end: str, wrong: str) -> None:
    assert f"block number 20 {wrong}" in figure(end, *CHANGES[wrong])


@pytest.mark.parametrize("end", JUMPS)
def test_the_same_words_at_another_place_are_another_target(end: str) -> None:
    """The tool comes by twice: round the part and back."""
    old = "N20 G1 X10\nG1 X20\nY10\nX0\nY0\n"
    body = "G1 X10\nG1 Y5\nG1 X0\nG1 Y0\n"
    start = PART.replace(old, f"N20 {body}{body}")
    moved = PART.replace(old, f"{body}N20 {body}")
    before, after = (SourceText.of(each.format(end).encode(), "part") for each in (start, moved))
    (found,) = [e for e in prove(before, after).obligations if e.name == "untouched blocks"]
    assert not found.holds


@pytest.mark.parametrize("end", PLAIN)
@pytest.mark.parametrize("wrong", CHANGES)
def test_where_no_jump_names_it_a_number_is_spelling(end: str, wrong: str) -> None:
    assert figure(end, *CHANGES[wrong]) == ""


@pytest.mark.parametrize("end", JUMPS[:4])
def test_numbers_that_no_jump_names_may_go(end: str) -> None:
    assert figure(end, "N15 G1", "G1") == ""
    assert figure(end, "Y10\n", "N30 Y10\n") == ""


def test_where_the_target_is_computed_every_number_may_be_one() -> None:
    assert "block number 15 has gone" in figure(JUMPS[4], "N15 G1", "G1")


def test_the_p_of_a_dwell_is_no_target_where_another_block_jumps() -> None:
    end = "G4 P15\n" + JUMPS[0]
    assert figure(end, "N15 G1", "G1") == ""
    assert "block number 20 has gone" in figure(end, *CHANGES["has gone"])
