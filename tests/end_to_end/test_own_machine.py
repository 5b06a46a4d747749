"""The mill that judges the proof: its own examples, worked by hand or printed in NISTIR 6556."""

from __future__ import annotations

import math

import pytest
from own_blocks import Reading, read_blocks
from own_machine import moves, run
from own_mills import Known, machines, plain_machine
from own_steps import Event, Move

MILL = plain_machine()


def ends(text, machine=MILL):
    """Rapid or not, and where each move ends."""
    return [
        (each.rapid, tuple(round(value, 4) for value in each.path[-1]))
        for each in moves(run(text.encode(), machine))
    ]


def places(text, machine=MILL):
    return [place for _, place in ends(text, machine)]


def events(text, machine=MILL):
    return [
        (each.what, each.text) for each in run(text.encode(), machine) if isinstance(each, Event)
    ]


def test_cycles_example_1():
    """NISTIR 6556, 3.5.16.2, example 1."""
    text = "G0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8 F100\nM2"
    assert ends(text)[1:] == [
        (True, (4, 5, 3)),
        (True, (4, 5, 2.8)),
        (False, (4, 5, 1.5)),
        (True, (4, 5, 3)),
    ]


def test_cycles_example_2():
    """NISTIR 6556, 3.5.16.2, example 2: three holes, the clear level is R."""
    text = "G0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 F100\nM2"
    found = list(dict.fromkeys(places(text)[1:]))
    assert found[0] == (1, 2, 4.8)
    assert [each for each in found if each[2] == 4.2] == [(5, 7, 4.2), (9, 12, 4.2), (13, 17, 4.2)]
    assert places(text)[-1] == (13, 17, 4.8)


def test_cycles_in_increments_printed_by_the_interpreter():
    """NISTIR 6556, table 10."""
    text = "G0 X30 Y1 Z-0.5\nG91 G81 X3 Y2 Z-0.8 R1.5 L2 F100\nM2"
    found = list(dict.fromkeys(places(text)[1:]))
    assert found == [
        (30, 1, 1), (33, 3, 1), (33, 3, 0.2), (36, 5, 1), (36, 5, 0.2),
    ]  # fmt: skip


def test_g92_twice():
    """NISTIR 6556, 3.5.18: at X4, G92 X7 shifts by -3, then G92 X9 by -5."""
    assert places("G0 X4\nG92 X7\nG0 X7\nM2")[-1] == (4, 0, 0)
    assert places("G0 X4\nG92 X7\nG0 X0\nM2")[-1] == (-3, 0, 0)
    assert places("G0 X4\nG92 X7\nG92 X9\nG0 X0\nM2")[-1] == (-5, 0, 0)
    assert places("G0 X4\nG92 X7\nG92.1\nG0 X0\nM2")[-1] == (0, 0, 0)


def test_arc_by_its_centre():
    """NISTIR 6556, 3.5.3.2: from X7 Y7 round (10, 11); the length is worked out in closed form."""
    arc = list(moves(run(b"G0 X7 Y7\nG17 G2 X10 Y16 I3 J4 Z9 F100\nM2", MILL)))[-1]
    assert all(abs(math.dist(each[:2], (10, 11)) - 5.0) < 1e-9 for each in arc.path)
    assert arc.path[-1] == (10, 16, 9)
    flat = sum(math.dist(a[:2], b[:2]) for a, b in zip(arc.path, arc.path[1:], strict=False))
    assert flat == pytest.approx(12.490458, abs=0.01)


def test_arc_by_its_radius():
    """NISTIR 6556, table 10: centre (1.5, 7.8476), end (0, 1), clockwise, Z 0.5."""
    arc = list(moves(run(b"G0 X3 Y1\nG2 X0 R7.01 Z0.5 F100\nM2", MILL)))[-1]
    assert all(abs(math.dist(each[:2], (1.5, 7.8476)) - 7.01) < 1e-3 for each in arc.path)
    assert arc.path[-1] == (0, 1, 0.5)
    assert len(arc.path) <= 6  # 24.7 degrees, the short way


def test_whole_turn_and_the_other_planes():
    turn = list(moves(run(b"G0 X10\nG3 I-10 F100\nM2", MILL)))[-1]
    assert min(each[0] for each in turn.path) == pytest.approx(-10.0)
    assert turn.path[1][1] > 0.0
    # from Z to X is counter-clockwise in G18: NISTIR 6556, 4.3.6.1
    quarter = list(moves(run(b"G0 Z5\nG18 G3 X5 Z0 K-5 I0 F100\nM2", MILL)))[-1]
    assert quarter.path[-1] == (5, 0, 0)
    assert len(quarter.path) <= 17


def test_offsets_add_up():
    mill = plain_machine(
        origins={1: (100.0, 50.0, -200.0), 2: (10.0, 20.0, -100.0)}, lengths={1: 30.0, 2: 75.0}
    )
    text = "G54 G0 X1 Y2\nG43 H1 Z5\nG55\nX0\nZ0\nH2 Z1\nG49 Z1\nG53 G0 Z0\nG91 G0 X3\nM2"
    assert places(text, mill) == [
        (101, 52, 0), (101, 52, -165), (10, 52, -165), (10, 52, -70), (10, 52, -69), (10, 52, -99),
        (10, 52, 0), (13, 52, 0),
    ]  # fmt: skip
    odd = plain_machine(lengths={1: 30.0, 2: 75.0}, number_alone=True)
    assert places("G43 H1 Z5\nX1 H2\nZ5\nM2", odd)[-1] == (1, 0, 80)


def test_origins_that_the_program_sets():
    assert places("G10 L2 P2 X7 Z3\nG55 G0 X1 Z1\nM2") == [(8, 0, 4)]
    assert places("G0 X5\nG10 L20 P1 X2\nG0 X0\nM2")[-1] == (3, 0, 0)


def test_home_and_tool_changes():
    mill = plain_machine(
        home=(1.0, 2.0, 90.0), second_home=(5.0, 6.0, 80.0), change=(7.0, 8.0, 9.0)
    )
    assert places("G0 X50 Y50 Z5\nG91 G28 Z1\nM2", mill)[1:] == [(50, 50, 6), (50, 50, 90)]
    assert places("G30\nM2", mill) == [(5, 6, 80)]
    every = plain_machine(home=(1.0, 2.0, 90.0), all_home=True)
    assert places("G0 X50\nG28 Z6\nM2", every)[1:] == [(50, 0, 6), (1, 2, 90)]
    assert places("T2 M6\nG91 G0 X1\nM2", mill) == [(8, 8, 9)]
    assert events("T2 M6\nM2", mill) == [("tool change", "T2"), ("end", "")]


def test_inches_and_pecks():
    assert places("G20 G0 X1 Z.5\nM2") == [(25.4, 0, 12.7)]
    deep = [place[2] for rapid, place in ends("G0 Z5\nG99 G83 X1 Z-3 R1 Q1.5 F9\nM2") if not rapid]
    assert deep == [-0.5, -2.0, -3.0]


def test_faults_stop_the_program():
    for text in ("F0\nG1 X1", "G1 X1 X2", "G0 G1 X1", "G2 X5 I1 J4", "G92", "X1 0X2 )"):
        assert events(text)[-1][0] == "fault", text
    assert len(places("F0\nG1 X1\nG0 X5")) == 0


def test_what_controllers_read_differently():
    def x(text, **reading):
        return places(text, plain_machine(reading=Reading(**reading)))

    assert x("G0 X1.5 Y2") == [(1.5, 2, 0)]
    assert x("G0 X1.5 Y2", thousandths=True) == [(1.5, 0.002, 0)]
    assert x("G0 X1 (side Y2") == [(1, 0, 0)]
    assert x("G0 X1 ( Y2", open_comment="bracket") == [(1, 2, 0)]
    assert x("G0 X1 (a (b) Y2") == [(1, 2, 0)]
    assert x("G0 X1 (a (b) Y2", nested=True) == [(1, 0, 0)]
    assert x("G0 X1 0") == [(10, 0, 0)]
    assert x("G0 X1 0", joined=False) == []
    assert x("G0 X1\nO1234\nX2", ends_at_number=True) == [(1, 0, 0)]
    assert x("G0" + " " * 260 + "X2", columns=256) == []


def test_the_text_of_stops_and_messages_counts():
    assert events("M0 (turn the part)\nM2")[0] == ("stop M0", "turn the part")
    assert events("(MSG, clamps off)\nM2")[0] == ("message", "clamps off")
    assert [block.line for block in read_blocks(b"%\nG0\n\n(x)\n%\nG1\n")] == [2, 4]


def test_mills_agree_with_what_is_known_and_with_nothing_else():
    known = Known({1: (1.0, 2.0, 3.0)}, {5: 44.0}, home=(9.0, 9.0, 9.0), units=21)
    mills = machines(known, 12)
    assert {mill.origins[1] for mill in mills} == {(1.0, 2.0, 3.0)}
    assert {mill.lengths[5] for mill in mills} == {44.0}
    assert {mill.units for mill in mills} == {21}
    for what in (
        lambda mill: mill.origins[2],
        lambda mill: mill.lengths[6],
        lambda mill: mill.start,
    ):
        assert len({what(mill) for mill in mills}) == len(mills)
    assert {mill.units for mill in machines(Known(), 12)} == {20, 21}
    assert any(mill.change == (None, None, None) for mill in mills)
    assert isinstance(next(iter(moves(run(b"G0 X1\nM2", mills[0])))), Move)
