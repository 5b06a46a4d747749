"""Canned cycles move by move: NISTIR 6556, 3.5.16 and Table 10."""

from __future__ import annotations

import numpy as np
import pytest
from motion_checks import codes, ends, events, kinds, place, run

from gpre.motion.events import EventKind
from gpre.motion.motion import Role

AT = "F100 S500 M3 G0 X1 Y2 Z3\n"


def moves(text: str, **options: object) -> list[tuple[str, tuple[float, float, float]]]:
    motion = run(text, **options)
    return list(zip(kinds(motion), ends(motion), strict=True))[1:]


def test_example_1() -> None:
    # NISTIR 6556, 3.5.16.2, example 1: at (1,2,3)
    assert moves(AT + "G90 G81 G98 X4 Y5 Z1.5 R2.8") == [
        ("R", (4, 5, 3)),
        ("R", (4, 5, 2.8)),
        ("L", (4, 5, 1.5)),
        ("R", (4, 5, 3)),
    ]


def test_example_2() -> None:
    # NISTIR 6556, 3.5.16.2, example 2: at (1,2,3), three holes in increments
    holes = [(5, 7), (9, 12), (13, 17)]
    expected = [("R", (1, 2, 4.8))]
    for x, y in holes:
        expected += [("R", (x, y, 4.8)), ("L", (x, y, 4.2)), ("R", (x, y, 4.8))]
    assert moves(AT + "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3") == expected


def test_table_10() -> None:
    # NISTIR 6556, Table 10: at (30, 1, -0.5)
    text = "F100 G0 X30 Y1 Z-0.5\ng91 g81 x3 y2 z-0.8 r1.5 l2"
    assert moves(text) == [
        ("R", (30, 1, 1)),
        ("R", (33, 3, 1)),
        ("L", (33, 3, 0.2)),
        ("R", (33, 3, 1)),
        ("R", (36, 5, 1)),
        ("L", (36, 5, 0.2)),
        ("R", (36, 5, 1)),
    ]


def test_roles_states_and_blocks_of_a_cycle() -> None:
    motion = run(AT + "G90 G81 G98 X4 Y5 Z1.5 R2.8\nX6\nG80")
    assert motion.role.tolist() == [
        Role.NONE,
        *(Role.POSITION, Role.DOWN, Role.FEED, Role.OUT) * 2,
    ]
    assert [motion.state_of(move).motion for move in range(9)] == [0] + [810] * 8
    assert motion.block.tolist() == [0, 1, 1, 1, 1, 2, 2, 2, 2]


def test_g99_comes_out_to_r_and_g98_to_where_the_row_began() -> None:
    assert moves(AT + "G99 G81 X4 Y5 Z-1 R2\nX5\nG98 X6") == [
        ("R", (4, 5, 3)),
        ("R", (4, 5, 2)),
        ("L", (4, 5, -1)),
        ("R", (4, 5, 2)),
        ("R", (5, 5, 2)),
        ("L", (5, 5, -1)),
        ("R", (5, 5, 2)),
        ("R", (6, 5, 2)),
        ("L", (6, 5, -1)),
        ("R", (6, 5, 3)),
    ]


def test_from_below_r_the_axis_rises_once() -> None:
    # NISTIR 6556, 3.5.16.1: if the current Z is below R, traverse to R once
    assert moves("F9 G0 X0 Y0 Z-1\nG98 G81 X1 Z-2 R1\nX2") == [
        ("R", (0, 0, 1)),
        ("R", (1, 0, 1)),
        ("L", (1, 0, -2)),
        ("R", (1, 0, 1)),
        ("R", (2, 0, 1)),
        ("L", (2, 0, -2)),
        ("R", (2, 0, 1)),
    ]


def test_g82_dwells_at_the_bottom_and_its_words_stick() -> None:
    motion = run(AT + "G99 G82 X4 Y5 Z-1 R2 P0.5\nX7\nP0.7 X8 Y1\nZ-3 Y2")
    assert [value for *_, value in events(motion, EventKind.DWELL)] == ["0.5", "0.5", "0.7", "0.7"]
    first_dwell = events(motion, EventKind.DWELL)[0][1]
    assert motion.role[first_dwell] == Role.OUT
    assert ends(motion)[-1] == (8, 2, 2)
    assert min(end[2] for end in ends(motion)) == -3


def test_g83_pecks() -> None:
    # NISTIR 6556, 3.5.16.5: out to the clearance, back to just above; 0.254 mm from memory
    assert moves("F9 G0 X0 Y0 Z5\nG99 G83 X1 Y1 Z-5 R1 Q2.5") == [
        ("R", (1, 1, 5)),
        ("R", (1, 1, 1)),
        ("L", (1, 1, -1.5)),
        ("R", (1, 1, 1)),
        ("R", (1, 1, -1.246)),
        ("L", (1, 1, -4)),
        ("R", (1, 1, 1)),
        ("R", (1, 1, -3.746)),
        ("L", (1, 1, -5)),
        ("R", (1, 1, 1)),
    ]


def test_pecks_that_end_at_the_bottom_make_no_peck_more() -> None:
    feeds = [end for kind, end in moves("F9 G0 Z5\nG99 G83 X1 Z-0.3 R0 Q0.1") if kind == "L"]
    assert [round(end[2], 9) for end in feeds] == [-0.1, -0.2, -0.3]


def test_g73_lifts_a_little() -> None:
    # common practice, no source
    assert moves("F9 G0 X0 Y0 Z5\nG98 G73 X1 Y1 Z-3 R1 Q2", peck_back_off=0.5) == [
        ("R", (1, 1, 5)),
        ("R", (1, 1, 1)),
        ("L", (1, 1, -1)),
        ("R", (1, 1, -0.5)),
        ("L", (1, 1, -3)),
        ("R", (1, 1, 5)),
    ]


def test_g84_turns_the_spindle_round_at_the_bottom() -> None:
    # NISTIR 6556, 3.5.16: in at feed, reverse, out at feed
    motion = run(AT + "G84 G99 X4 Y5 Z-1 R2")
    assert kinds(motion) == "RRRLL"
    ways = [motion.state_of(move).spindle_way for move in range(5)]
    assert ways == [1, 1, 1, 1, -1]
    spindle = [(move, value) for _, move, value in events(motion, EventKind.SPINDLE)]
    assert spindle[-2:] == [(4, "M4"), (5, "M3")]
    assert codes(motion) == []
    assert codes(run("F9 M4 G0 Z5\nG84 G99 X4 Y5 Z-1 R2")) == ["INT346"]


@pytest.mark.parametrize(
    ("cycle", "expected"),
    [
        ("G85", "RRLL"),
        ("G86 P1", "RRLR"),
        ("G88 P1", "RRLR"),
        ("G89 P1", "RRLL"),
        ("G81", "RRLR"),
        ("G82 P1", "RRLR"),
    ],
)
def test_how_cycles_come_out(cycle: str, expected: str) -> None:
    # NISTIR 6556, 3.5.16.3 to 3.5.16.11
    motion = run(AT + f"G99 {cycle} X4 Y5 Z-1 R2")
    assert kinds(motion)[1:] == expected
    assert codes(motion) == []
    assert len(events(motion, EventKind.DWELL)) == cycle.count("P1")
    assert len(events(motion, EventKind.STOP)) == ("G88" in cycle)


def test_g86_and_g88_stand_while_they_come_out() -> None:
    for cycle in ("G86", "G88"):
        motion = run(AT + f"G99 {cycle} X4 Y5 Z-1 R2 P0\nX5")
        ways = [motion.state_of(move).spindle_way for move in range(len(motion))]
        assert ways == [1, 1, 1, 1, 0, 1, 1, 0]


def test_g87_bores_from_below() -> None:
    # NISTIR 6556, 3.5.16 (its steps from memory): aside by I J, down, in, up to K, and back
    assert moves("F9 M3 G0 X0 Y0 Z5\nG99 G87 X10 Y0 Z-8 R1 I2 J0 K-5") == [
        ("R", (10, 0, 5)),
        ("R", (10, 0, 1)),
        ("R", (12, 0, 1)),
        ("R", (12, 0, -8)),
        ("R", (10, 0, -8)),
        ("L", (10, 0, -5)),
        ("L", (10, 0, -8)),
        ("R", (12, 0, -8)),
        ("R", (12, 0, 1)),
        ("R", (10, 0, 1)),
    ]


def test_cycles_in_the_other_planes() -> None:
    # NISTIR 6556, 3.5.16: in XZ the perpendicular word is Y, in YZ it is X
    assert moves("F9 G0 X0 Y5 Z0\nG18 G99 G81 X1 Z2 Y-1 R2") == [
        ("R", (1, 5, 2)),
        ("R", (1, 2, 2)),
        ("L", (1, -1, 2)),
        ("R", (1, 2, 2)),
    ]
    assert moves("F9 G0 X5 Y0 Z0\nG19 G99 G81 Y1 Z2 X-1 R2") == [
        ("R", (5, 1, 2)),
        ("R", (2, 1, 2)),
        ("L", (-1, 1, 2)),
        ("R", (2, 1, 2)),
    ]


def test_the_words_of_a_cycle_hold_from_block_to_block() -> None:
    motion = run("F9 G0 X0 Y0 Z5\nG82 G99 X1 Y1 Z-1 F50 R1 P0.2\nG82 X2 Y2\nG83 Q1 X3\nR2\nX4")
    assert codes(motion) == []
    assert ends(motion)[-1] == (4, 2, 2)


def test_a_rapid_ends_the_cycle() -> None:
    motion = run("F9 G0 Z5\nG81 X1 Z-1 R1\nG0 X9\nX10\nG81 X11")
    assert codes(motion) == ["INT324"]
    assert ends(motion)[-1] == (10, 0, 5)


def test_axis_words_after_g80_are_an_error() -> None:
    # NISTIR 6556, 3.5.15
    text = "F9 G0 Z5\nG81 X1 Z-1 R1\nG80\nX5 Y3\nG0 X1 Y1"
    motion = run(text)
    assert codes(motion) == ["INT312"]
    assert place(motion, text, "INT312") == "X5 Y3"
    assert np.isnan(motion.start[-1]).tolist() == [True, True, False]


def test_l0_makes_no_hole() -> None:
    motion = run("F9 G0 Z5\nG81 X1 Y1 Z-1 R1 L0\nX2")
    assert codes(motion) == ["INT345"]
    assert ends(motion)[1] == (2, 0, 5)


@pytest.mark.parametrize(
    ("text", "code", "span"),
    [
        ("G81 X1 Y1 Z-1 R-2", "INT323", "Z-1 R-2"),
        ("G81 X1 Y1 Z-1", "INT324", "G81"),
        ("G81 X1 Y1 R2", "INT324", "G81"),
        ("G81 R2", "INT324", "G81"),
        ("G83 X1 Z-1 R2", "INT324", "G83"),
        ("G83 X1 Z-1 R2 Q0", "INT315", "Q0"),
        ("G73 X1 Z-1 R2 Q-1", "INT315", "Q-1"),
        ("G82 X1 Z-1 R2 P-1", "INT315", "P-1"),
        ("G81 X1 Z-1 R2 L1.5", "INT315", "L1.5"),
        ("G81 X1 Z-1 R2 L-1", "INT315", "L-1"),
        ("G81 X1 Z-1 R2 A5", "INT323", "A5"),
        ("G83 X1 Z-1 R2 Q0.00001", "INT315", "Q0.00001"),
        ("G93 G81 X1 Z-1 R2 F1", "INT323", "G81"),
    ],
)
def test_cycles_that_cannot_be_run(text: str, code: str, span: str) -> None:
    # NISTIR 6556, 3.5.16: the errors of canned cycles
    whole = "F9 M3 G0 X0 Y0 Z5\n" + text + "\nG94 G0 X1 Y1\nZ5"
    motion = run(whole)
    assert codes(motion) == [code]
    assert place(motion, whole, code) == span
    assert np.isnan(motion.start[-1][2])
    assert ends(motion)[-1] == (1, 1, 5)


def test_a_cycle_from_an_unknown_height_knows_its_r() -> None:
    motion = run("F9 G91 G28 Z0\nG90 G99 G81 X1 Y1 Z-1 R2")
    assert motion.end[-1].tolist() == [1, 1, 2]
    assert motion.end[-2].tolist() == [1, 1, -1]


def test_endless_repeats_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gpre.motion.run.MOST_ADDED", 50_000)
    motion = run("F9 G0 Z5\nG91 G83 X0.1 Z-90 R-1 Q0.01 L100000\nG0 X1")
    assert "INT332" in codes(motion)
    assert motion.followed_to == 2


def test_numbers_too_large_to_follow() -> None:
    assert codes(run("F9 G0 Z5\nG81 X1 Z-1 R1 L100001")) == ["INT315"]
    huge = "9" * 300
    assert codes(run(f"F9 G0 Z5\nG83 X1 Z-{huge} R{huge} Q0.{'0' * 300}1")) == ["INT315"]
    for text in (f"G0 X{huge}\nG20 X{huge}\nG91 X-{huge}", f"G2 X{huge} Y{huge} R{huge}"):
        assert len(run("F9\n" + text)) > 0


def test_g84_comes_out_to_the_first_height() -> None:
    assert moves("F9 M3 G0 Z5\nG98 G84 X1 Z-1 R2")[-2:] == [("L", (1, 0, 2)), ("R", (1, 0, 5))]


def test_g87_in_increments_counts_k_from_the_bottom() -> None:
    # NISTIR 6556, 3.5.17: I, J always increments, K too except in G87 with G90
    low = [end[2] for kind, end in moves("F9 M3 G0 Z5\nG91 G87 X1 Z-9 R-4 I2 J0 K3") if kind == "L"]
    assert low == [-5, -8]
