"""Which settings matter before a program states them, and where.

What G20 and G21, G90 and G91, G17 to G19 do is NISTIR 6556, 3.5.6, 3.5.17 and 3.5.5; which of them
are in force at the start the standard leaves to the setup of the controller.
"""

from dataclasses import replace

import numpy as np
import pytest
from examples import share
from hypothesis import given
from hypothesis import strategies as st

from gpre.motion import not_stated as module
from gpre.motion.controller import Controller
from gpre.motion.differing import differing, same_values
from gpre.motion.not_stated import SETTINGS, all_not_stated, not_stated
from gpre.motion.trace import trace
from gpre.program.read import read

BODY = b"G0 Z5\nG0 X10 Y10\nG1 Z-2 F100\nG2 X12 Y10 R8\nG0 Z5\nM2\n"  # in G91 a sound one too


def found(text, controller=None):
    controller = controller or Controller()
    program = read(text)
    result = not_stated(program, trace(program, controller), controller)
    return {each.setting: each for each in result}


def test_a_program_that_states_all_three_leaves_nothing_open():
    assert found(b"G21 G90 G17\n" + BODY) == {}
    assert found(b"G20 G91 G18\n" + BODY) == {}


@pytest.mark.parametrize(("missing", "first"), [("units", 1), ("distance", 1), ("plane", 4)])
def test_what_is_missing_is_found_with_the_first_block_that_depends_on_it(missing, first):
    words = {"units": b"G21", "distance": b"G90", "plane": b"G17"}
    head = b" ".join(word for name, word in words.items() if name != missing)
    result = found(head + b"\n" + BODY)
    assert list(result) == [missing]
    assert (result[missing].first, result[missing].last) == (first, 5)
    assert result[missing].matters
    assert result[missing].to_the_end


@pytest.mark.parametrize("setting", SETTINGS)
def test_what_the_profile_states_is_settled(setting):
    head = b"G21 G90 G17\n".replace(
        {"units": b"G21 ", "distance": b"G90 ", "plane": b" G17"}[setting], b""
    )
    assert list(found(head + BODY)) == [setting]
    assert found(head + BODY, Controller(stated=frozenset((setting,)))) == {}


def test_words_in_the_block_that_needs_them_come_first():
    assert found(b"G21 G90 G17 G0 X1\nG2 X2 R1 F10\n") == {}


def test_straight_moves_and_holes_need_no_plane_but_cycles_do():
    head = b"G21 G90\nG0 Z5\nG0 X1 Y1\n"
    assert found(head + b"G1 Z-1 F10\nG0 Z5\n") == {}
    # X Y and Z are all there, so in G18 and G19 it drills along another axis
    assert found(head + b"G81 X5 Y1 Z-1 R4 F10\nG80\n")["plane"].first == 3


def test_a_plane_in_which_the_arc_has_no_centre_is_ruled_out():
    """I and J belong to G17, I and K to G18, J and K to G19 (NISTIR 6556, 3.5.3.2)."""
    head = b"G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F10\n"
    assert "plane" not in found(head + b"G3 X0 Y10 I3 J5\n")  # its radii do not agree in any plane
    assert found(head + b"G3 X-6 Y8 I-3 J4\n") == {}
    program = read(head + b"G3 X-6 Y8 I-3 J4\n")
    (plane,) = all_not_stated(program, trace(program), Controller())
    assert (plane.others, plane.ruled_out) == ((), (18, 19))


def test_a_program_of_arcs_that_cannot_be_increments_is_no_open_question():
    text = b"G21 G17\nG0 X10 Y10\nG1 Z-1 F100\nG2 X20 Y10 I5 J0\nG2 X10 Y10 I-5 J0\n"
    assert found(text) == {}  # in G91 the arcs would have two radii
    straight = text.replace(b"G2 ", b"G1 ").replace(b" I5 J0", b"").replace(b" I-5 J0", b"")
    assert list(found(straight)) == ["distance"]


def test_units_are_never_ruled_out_by_an_arc_that_does_not_close():
    """0.0004 is nothing in mm, and 0.01016 mm in inches, which is beyond the tolerance of arcs."""
    text = b"G90 G17\nG0 X0 Y0\nG1 Z-1 F10\nG2 X10.0008 Y0 I5 J0\n"
    assert found(text)["units"].others == (20,)


def test_a_statement_that_comes_late_ends_what_depends_on_it():
    result = found(b"G21 G17\nG0 Z5\nG90 X10 Y10\nG1 Z-1 F10\nX20\nG0 Z5\n")["distance"]
    assert (result.first, result.last, result.to_the_end) == (1, 3, False)
    # Z is 5 or not during the rapid of block 2 and at the start of block 3; the next is closed too
    assert result.before_end.tolist() == [True] * 5 + [False]


def test_zero_is_zero_in_both_units_but_a_new_length_there_would_not_be():
    result = found(b"G91 G28 Z0\n(clear)\nG21 G90 G17\nG0 X1 Y1\nG1 Z-1 F10\n")["units"]
    assert not result.matters
    assert (result.first, result.last) == (0, 0)
    assert result.before_end.tolist() == [True, True, True, True, False]


def test_a_length_that_no_move_shows_is_one_all_the_same():
    """In increments from a place that is not known the place stays unknown, in mm and in inches."""
    text = b"G91 G28 Z0\nG0 Z-5\nG21 G90 G17\nG0 Z5\nG0 X1 Y1\nG1 Z-1 F10\n"
    result = found(text)["units"]
    assert result.matters
    assert (result.first, result.last) == (0, 1)


def test_a_feed_alone_depends_on_the_units():
    result = found(b"F20\nG21 G90 G17\nG0 X0 Z0\nG1 X1\nG1 X2 F30\n")["units"]
    assert (result.first, result.last) == (2, 3)


def test_an_origin_set_before_the_units_depends_on_them():
    assert found(b"G10 L2 P2 X100\nG21 G90\nG55\nG0 X1\n")["units"].matters
    assert not found(b"G10 L2 P2 X0\nG21 G90\nG55\nG0 X1\n")


def test_the_block_delete_switch_is_looked_at_both_ways():
    text = b"/G21\nG90\nG0 X1\nG1 Z-1 F10\n"
    for switch in (False, True):
        assert list(found(text, Controller(block_delete=switch))) == ["units"]


def test_what_stands_outside_the_percent_signs_states_nothing():
    assert list(found(b"%\nG90 G0 X1\n%\nG21\n")) == ["units"]


def test_a_subprogram_that_states_them_is_followed():
    text = b"M98 P7\nG0 X1\nG1 Z-1 F10\nM30\nO7\nG21 G90\nM99\n"
    assert found(text) == {}


@pytest.mark.parametrize("head", [b"", b"G21 G90\n", b"G90\n"])
def test_long_programs_come_to_the_same_by_their_head_as_in_one_go(head, monkeypatch):
    body = b"".join(b"G1 X%d Y%d F100\n" % (at % 7, at % 5) for at in range(90))
    late = head + body[:400] + b"G21 G90\n" + body
    for text in (head + body, late):
        whole = found(text)
        monkeypatch.setattr(module, "HEAD", 10)
        short = found(text)
        monkeypatch.undo()
        assert whole.keys() == short.keys()
        for setting, each in whole.items():
            assert (each.first, each.last) == (short[setting].first, short[setting].last)


WORDS = st.sampled_from(
    [
        *("G20", "G21", "G90", "G91", "G17", "G18", "G0 X1 Y2", "G1 X3 F10", "G1 Z-1", "G0 Z5"),
        *("F20", "G2 X4 Y2 R5", "/G21", "G53 G0 Z0", "G92 X1", "G55", "G28 Z0", "G80"),
        "G81 X1 Y1 Z-1 R2",
    ]
)


def run_through(blocks):
    program, base = read("\n".join(blocks).encode()), Controller()
    return program, trace(program, base), base


@given(st.lists(WORDS, max_size=9))
@share(3)
def test_what_is_not_named_changes_no_move(blocks):
    """Where the interpreter runs a program the same in both settings nothing is missed."""
    program, motion, base = run_through(blocks)
    named = {each.setting for each in all_not_stated(program, motion, base)}
    for setting, code in (("units", 20), ("distance", 91), ("plane", 18), ("plane", 19)):
        if setting in named:
            continue
        other = trace(program, replace(base, **{setting: code}))
        assert len(other) == len(motion)
        assert not differing(motion, other).any()


@given(st.lists(WORDS, min_size=1, max_size=9))
@share(3)
def test_blocks_after_the_end_run_the_same_either_way(blocks):
    program, motion, base = run_through(blocks)
    for each in all_not_stated(program, motion, base):
        for code in (*each.others, *each.ruled_out):
            other = trace(program, replace(base, **{each.setting: code}))
            if len(other) != len(motion):
                continue  # then the last move is taken to depend on it
            rows = np.flatnonzero(differing(motion, other))
            assert all(each.before_end[motion.block[row]] for row in rows)


def test_an_arc_that_the_plane_taken_has_not_stands_for_itself():
    # Z10 I0 K5 is half a circle in ZX; in XY it has no radius (NISTIR 6556, 3.5.3.2)
    result = found(b"G21 G90 F100 G0 X0 Y0 Z0\nG2 X0 Z10 I0 K5\n")
    assert list(result) == ["plane"]
    assert 18 in result["plane"].others


def test_all_that_a_setting_may_be_has_a_name():
    choices = [code for codes in module.CHOICES.values() for code in codes]
    assert sorted(module.READINGS) == sorted(choices)
    for code, name in module.READINGS.items():
        assert {20: "inch", 21: "mm"}.get(code, f"G{code}") in name


@pytest.mark.parametrize("body", [b"G0 X5", b"G1 Z-1 F100", b"S100"])
def test_what_a_subprogram_does_before_the_statement_counts(body):
    text = b"M98 P1\nG21 G90 G17 G0 X1 Y1 Z1\nG1 X2 F9\nM30\nO1\n%s\nM99\n" % body
    assert ("units" in found(text)) is (body != b"S100")
    assert found(text.replace(b"M98 P1\nG21 G90 G17", b"G21 G90 G17\nM98 P1\n")) == {}


def test_values_that_are_not_known_are_the_same_as_their_like_alone():
    one, other = np.array([1.0, np.nan, np.nan, 2.0]), np.array([1.0, np.nan, 3.0, np.nan])
    assert same_values(one, other).tolist() == [True, True, False, False]
    rows = same_values(np.stack((one, one[::-1]), 1), np.stack((one, one), 1))
    assert rows.tolist() == [False, True, True, False]
    assert same_values(np.arange(3), np.array([0, 2, 2])).tolist() == [True, False, True]
