"""What the proof makes of the table's path where the command leaves the intended one on purpose.

Invented: the edge of a focuser plate with one rounded corner, cut without turning back.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, sin

import pytest

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job
from gpre.mill.mill import Axis, Compensation, Mill, Twist
from gpre.proof.proof import Obligation, Proof
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.proof.take_up.texts import kept_words
from gpre.source.text import SourceText

MILL = Mill(
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.05, gravity_loaded=True),
    compensation=Compensation(by="program"),
)
HEAD = "G21 G90 G17\nT1 M6\nS3000 M3\nG0 X0 Y0\nG0 Z5\n"
EDGE = f"{HEAD}M8\nG1 Z-1 F100\nG1 X20 F300\nG3 X30 Y10 I0 J10\nG1 Y20\nM9\nG0 Z5\nM30\n"
MARK = "(gpre take-up: X0.090 Y0.060 Z0 mm in the program, controller compensation OFF)\n"


def carried(before: str, mill: Mill = MILL) -> str:
    result = rewrite(SourceText.of(before.encode()), mill, options=Options(only=("take-up",)))
    assert result.changed
    return result.data.decode()


def proof(before: str, after: str, mill: Mill = MILL) -> Proof:
    return prove(SourceText.of(before.encode()), SourceText.of(after.encode()), mill)


def named(found: Proof, name: str) -> Obligation:
    return next(each for each in found.obligations if each.name == name)


def failed(found: Proof) -> set[str]:
    return {each.name for each in found.failed}


def swapped(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, (old, text)
    return text.replace(old, new)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # from the edge into the part and back to the same place, between two cuts of one move
        ("G1 X20.045 F300\n", "G1 X10.045 F300\nG1 Y4.03\nG1 Y-0.03\nG1 Y0.03\nG1 X20.045\n"),
        ("G1 Y20.03\n", "G1 Y15.03\nG1 X34.045\nG1 X29.955\nG1 X30.045 Y17.03\nG1 Y20.03\n"),
        # the chord of the rounded corner: it starts and ends where the arc does
        ("G3 X30.045 Y10.03 I0 J10\n", "G1 X30.045 Y10.03\n"),
        ("G3 X30.045 Y10.03 I0 J10\n", "G2 X30.045 Y10.03 I10 J0\n"),
    ],
)
def test_another_way_between_the_same_places_is_found(old: str, new: str) -> None:
    after = carried(EDGE)
    assert proof(EDGE, after).holds
    assert "cutting path" in failed(proof(EDGE, swapped(after, old, new)))


def test_a_move_in_several_pieces_stands_for_that_of_the_original() -> None:
    after = swapped(
        carried(EDGE), "G1 X20.045 F300\n", "G1 X10.045 F300\nG1 X15.045 Y0.031\nX20.045\n"
    )
    after = swapped(after, "X20.045\n", "X20.045 Y0.03\n")
    found = named(proof(EDGE, after), "table path")
    # Y has its backlash taken up in plus: out by a micrometre, and back not at all
    assert found.figure == "the table leaves the intended path by at most 0.0010 mm"
    assert found.value == pytest.approx(0.001, abs=1e-9)


def test_the_centre_of_an_arc_is_where_the_yaw_puts_it() -> None:
    """The yaw, half of 0.0004 rad, moves the ends of the quarter circle apart by 0.008 mm."""
    arc = f"{HEAD}G1 Z-1 F100\nG3 X30 Y30 I0 J30 F300\nG1 Y31\nG0 Z5\nM30\n"
    controller = replace(MILL.controller, origins={1: (150.0, 60.0, 0.0)})
    mill = replace(MILL, controller=controller, twist=Twist(x=0.0004, pivot=(200.0, 60.0)))
    found = named(proof(arc, carried(arc, mill), mill), "table path")
    assert found.value is not None
    assert found.value <= 5e-5  # the coordinates are rounded to a ten thousandth


def test_a_whole_circle_of_axes_without_backlash_stands_for_itself() -> None:
    """Its chord is a point, so the middle of the chord says nothing of its centre."""
    tight, loose = Axis(lost_motion=0.0), Axis(lost_motion=0.05)
    circle = f"{HEAD}G1 Z-1 F100\nG1 X10 F300\nG3 X10 Y0 I-5 J0\nG1 X20\nG1 Z-2\nG1 X10\nG1 Z-1\n"
    mill = replace(MILL, x=tight, y=tight, z=loose)
    before = f"{circle}G1 X30\nG0 Z5\nM30\n"
    found = named(proof(before, carried(before, mill), mill), "table path")
    assert found.holds
    assert found.value == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("angle", "holds"), [(0.00004, True), (0.02, False)])
def test_a_chord_at_the_end_of_an_arc_has_the_feed_of_the_arc(angle: float, *, holds: bool) -> None:
    """Of 10 mm times the angle: what is shorter than the tolerance is rounding, more is a cut."""
    before = EDGE.replace("F300", "F60")
    after = carried(before)
    x, y = 20.045 + 10.0 * cos(angle), 10.03 - 10.0 * sin(angle)
    parts = f"G3 X{x:.4f} Y{y:.4f} I0 J10\nG1 X30.045 Y10.03 F110\n"
    after = swapped(after, "G3 X30.045 Y10.03 I0 J10\n", parts)
    found = named(proof(before, swapped(after, "G1 Y20.03", "G1 Y20.03 F60")), "feed")
    assert found.holds == holds
    if not holds:
        assert found.figure == "110 mm/min where the original had 60 mm/min"


def test_what_comes_after_a_cut_may_not_come_in_the_middle_of_it() -> None:
    after = swapped(carried(EDGE), "G1 Y20.03\nM9\n", "G1 Y15.03\nM9\nG1 Y20.03\n")
    assert failed(proof(EDGE, after)) & {"state", "stops and switches", "position at stops"}


# the way on behind a turn is short: 0.05 mm
SHORT = f"{HEAD}G1 Z-1 F100\nG1 X9.95 F600\nG1 X10\nG1 X5 Y5\nG0 Z5\nM30\n"


def test_the_feed_of_a_take_up_is_that_of_its_own_move() -> None:
    after = carried(SHORT)
    assert "G1 X9.955 F110.2 (take up X, tool stands)" in after
    found = named(proof(SHORT, after), "take-up feed")
    assert (found.holds, found.value) == (True, pytest.approx(110.2))  # b over b, at that feed


def test_of_two_axes_that_turn_each_has_its_own_feed() -> None:
    """Both at 45 degrees: Y has crossed its backlash first, and X goes on."""
    before = f"{HEAD}G1 Z-1 F100\nG1 X10 Y10 F300\nG1 X5 Y5\nG0 Z5\nM30\n"
    after = carried(before)
    (line,) = (each for each in after.splitlines() if "take up XY" in each)
    found = named(proof(before, swapped(after, line, "G1 X9.955 Y9.94 F100")), "take-up feed")
    assert found.value == pytest.approx(100.0 / 2.0**0.5)


@pytest.mark.parametrize(("feed", "holds"), [("120", True), ("120.1", True), ("120.2", False)])
def test_a_take_up_may_be_as_quick_as_the_limit_and_a_thousandth_more(
    feed: str, *, holds: bool
) -> None:
    after = swapped(carried(SHORT), "F110.2", f"F{feed}")
    found = named(proof(SHORT, after), "take-up feed")
    assert (found.holds, found.limit) == (holds, 120.0)
    assert found.value == pytest.approx(float(feed))


@pytest.mark.parametrize(("step", "holds"), [(0.0006, False), (0.0004, True)])
def test_a_take_up_in_many_small_steps_is_one(step: float, *, holds: bool) -> None:
    """Steps of less than half a thousandth are rounding; more of them are a take-up too quick."""
    before = f"{HEAD}G1 Z-1 F100\nG1 X10 F600\nG1 Y10\nG1 X5\nG0 Z5\nM30\n"
    count = round(0.09 / step)
    places = [(10.045 - step * at, 0.03 + 0.0025 * at) for at in range(1, count + 1)]
    chords = "".join(f"G1 X{x:.4f} Y{y:.4f}\n" for x, y in places)
    head, rest = carried(before).split("G1 X10.045 F600\n")
    after = f"{head}G1 X10.045 F600\n{chords}G1 X9.955 Y10.03\nG1 X4.955\n"
    after += rest[rest.index("G0 Z5") :]
    found = named(proof(before, after), "take-up feed")
    assert found.holds == holds
    if not holds:  # across, of the way along the chord
        assert found.value == pytest.approx(600.0 * step / (step**2 + 0.0025**2) ** 0.5, rel=0.1)


def test_the_command_may_end_elsewhere_where_the_table_stands_there_too() -> None:
    before = f"{HEAD}G1 Z-1 F100\nG1 X10 F300\nG0 Z5\nG0 X8 Y3\nM30\n"
    after = carried(before)
    end = after[after.index("G0 Z5", after.index("F300")) :]
    for last, off in (
        ("G0 X-5.045 Y3.03\nG0 X-5 Y3\n", 0.0),
        ("G0 X-5.045 Y3\n", 0.045),
        ("G0 X8 Y-7.03\n", 0.03),
    ):
        text = swapped(after, end, f"G0 Z5\n{last}M30\n")
        found = named(proof(before, text), "backlash undone")
        assert found.holds == (off == 0.0)
        if off:
            assert found.value == pytest.approx(off, abs=1e-9)
            assert f"{off:.4f} mm off" in found.figure
    found = named(proof(before, after), "backlash undone")
    # the change of the tool and the end
    assert found.figure == "the command stands at the intended place at all 2 events that need it"


# --- of two programs that both carry -------------------------------------------------------------

# Z comes down at rapid, so the first cut runs along X at once
ALONG = (
    f"{MARK}{HEAD}{{loop}}G0 X0.045 Y0.03\nG0 Z-1\nG1 X10.045 F300\nG1 X20.045\nG0 Z5\n"
    "G0 X20 Y0\nM30\n"
)


def test_the_start_of_a_cut_counts_as_well_as_its_end() -> None:
    """Without the loop the first cut takes X up itself, and is right at its end."""
    before = ALONG.format(loop="G0 X-0.135 Y-0.09\n")
    after = ALONG.format(loop="G0 X0.045 Y-0.09\n")
    found = named(proof(before, after), "table path")
    assert not found.holds
    assert found.value == pytest.approx(0.045, abs=1e-6)
    wider = ALONG.format(loop="G0 X-0.5 Y-0.09\n")
    assert named(proof(before, wider), "table path").holds


def test_an_axis_that_the_head_does_not_name_has_no_backlash() -> None:
    before, after = (
        ALONG.format(loop=loop).replace("Y0.060 Z0 mm", "mm")
        for loop in ("G0 X-0.135 Y-0.09\n", "G0 X-0.135\n")
    )
    plain = replace(MILL, compensation=Compensation(by="none"))
    assert named(proof(before, after, plain), "table path").holds
    loose = replace(MILL, compensation=Compensation(by="program"))
    assert not named(proof(before, after, loose), "table path").holds


def test_the_first_and_the_last_move_of_a_program_may_be_cuts() -> None:
    # in increments a first move counts from a place that is taken for 0
    first = f"{MARK}G21 G91 G17 G94\nG1 X10 F300\nG1 X10\nG1 Y5\n"
    for end in ("", "M30\n"):
        found = named(proof(first + end, first.replace("G1 Y5", "Y5") + end), "table path")
        assert found.holds
        assert "stands where it stood within 0.0000 mm" in found.figure
    moved = named(proof(first, first.replace("G1 Y5", "Y5.01")), "table path")
    assert not moved.holds


def test_a_table_path_is_compared_only_where_both_carry() -> None:
    before = ALONG.format(loop="G0 X-0.135 Y-0.09\n")
    plain = replace(MILL, compensation=Compensation(by="none"))
    both = {
        each.name for each in proof(before, before.replace("X20 Y0", "X20 Y1"), plain).obligations
    }
    assert "table path" in both
    bare = before.removeprefix(MARK)
    for one, other in ((before, bare), (bare, before)):
        assert "table path" not in {each.name for each in proof(one, other, plain).obligations}


# --- what blocks say besides moving --------------------------------------------------------------

MOVES = (
    "G0", "G1", "G2", "G3", "G17", "G18", "G19", "G73", "G80", "G81", "G82", "G83", "G84", "G85",
    "G86", "G87", "G88", "G89", "G90", "G90.1", "G91", "G91.1", "G98", "G99",
)  # fmt: skip
MORE = ("G4", "G20", "G21", "G28", "G40", "G43", "G53", "G54", "G92", "G94", "G90.2", "M8", "S9")


def kept(before: str, after: str) -> Obligation:
    sides = (Side.of(SourceText.of(text.encode()), MILL) for text in (before, after))
    return kept_words(Pair(*sides, MILL, Job()))


@pytest.mark.parametrize("word", [*MOVES, *MORE])
def test_words_that_move_may_come_and_go_and_no_others(word: str) -> None:
    said = f"{HEAD}G1 X5 F100 (out)\n{{0}}M5\nM30\n"
    without, there = said.format(""), said.format(f"{word}\n")
    for before, after in ((without, there), (there, without)):
        assert kept(before, after).holds == (word in MOVES)


def test_a_word_more_at_the_end_is_named_with_its_line() -> None:
    said = f"{HEAD}G1 X5 F100\nM5\n"
    found = kept(said, f"{said}M8\n")
    assert (found.holds, found.before, found.after) == (False, None, said.count("\n"))
    assert found.figure.endswith("changed, gone or new though it is more than motion: M8")
    gone = kept(f"{said}M8\n", said)
    assert (gone.holds, gone.before, gone.after) == (False, said.count("\n"), None)


@pytest.mark.parametrize("call", ["M98 P7\n", "M99 P20\n", "IF [#1 EQ 0] GOTO 20\n", ""])
def test_a_block_number_may_not_stand_twice_where_the_program_goes_by_numbers(call: str) -> None:
    said = f"{HEAD}N10 G1 X5 F100\n{{0}}{call}M30\nO7\nN30 G1 X6\nN30 X7\nM99\n"
    before = said.format("N20 X9\n")
    assert kept(before, said.format("N20 X8\nN21 X9\n")).holds  # N30 stood twice before
    twice = kept(before, said.format("N20 X8\nN20 X9\n"))
    assert twice.holds == (not call)
    assert ("block number 20 stands twice" in twice.figure) == bool(call)
    nought = kept(before.replace("N20", "N0"), said.format("N0 X8\nN0 X9\n"))
    assert nought.holds == (not call)
    thrice = kept(before, before.replace("N30 X7\n", "N30 X8\nN30 X7\n"))
    assert thrice.holds == (not call)
