"""Subprograms within the file, calls out of it, and where a program is followed to."""

from __future__ import annotations

import numpy as np
import pytest
from motion_checks import codes, ends, events, place, run

from gpre.motion.events import EventKind

SUB = "\nM30\nO100\nG91 X1\nG90\nM99\n"


def test_a_subprogram_runs_as_often_as_l_says() -> None:
    motion = run("G0 X10\nM98 P100 L3\nG0 X0" + SUB)
    assert codes(motion) == []
    assert [end[0] for end in ends(motion)] == [10, 11, 12, 13, 0]
    assert motion.called.tolist() == [False, True, True, True, False]
    assert motion.block.tolist() == [0, 5, 5, 5, 2]
    assert motion.followed_to == 4
    calls = events(motion, EventKind.CALL)
    assert calls == [(1, 1, "M98 P100"), (7, 4, "M99")]


def test_calls_within_calls() -> None:
    text = "G0\nM98 P1\nM30\nO1\nX1\nM98 P2 L2\nX3\nM99\nO2\nY1\nG91 Y1 G90\nM99"
    motion = run(text.replace("G91 Y1 G90", "G91 Y1\nG90"))
    assert codes(motion) == []
    assert [end[:2] for end in ends(motion)] == [(1, 0), (1, 1), (1, 2), (1, 1), (1, 2), (3, 2)]


def test_the_block_of_a_call_moves_first() -> None:
    # NISTIR 6556, Table 8: what steers the program comes last
    motion = run("G0 X5 M98 P100" + SUB)
    assert [end[0] for end in ends(motion)] == [5, 6]


def test_l0_calls_nothing() -> None:
    assert len(run("G0 X1\nM98 P100 L0" + SUB)) == 1


def test_program_numbers_with_a_colon() -> None:
    motion = run("G0 X1\nM98 P7\nM30\n:7\nX2\nM99")
    assert [end[0] for end in ends(motion)] == [1, 2]


@pytest.mark.parametrize("call", ["M98 P999", "G65 P100 X1", "M97 P20"])
def test_calls_out_of_the_file_leave_everything_unknown(call: str) -> None:
    text = f"#1=5\nG0 X1 Y1 Z1\n{call}\nX2\nG0 X#1\nG0 X3 Y3 Z3" + SUB
    motion = run(text)
    assert codes(motion) == ["INT330", "INT344", "INT337"]
    assert [value.split()[0] for *_, value in events(motion, EventKind.HANDOVER)] == [
        call.split(maxsplit=1)[0]
    ]
    assert np.isnan(motion.start[1]).all()
    assert ends(motion)[-1] == (3, 3, 3)


def test_a_subprogram_that_calls_itself() -> None:
    motion = run("G0 X1\nM98 P1\nM30\nO1\nG91 X1\nM98 P1\nM99")
    assert codes(motion) == ["INT331"]
    assert motion.followed_to == 1
    assert len(motion) == 51


def test_endless_calls_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gpre.motion.trace.MOST_CALLED_BLOCKS", 1000)
    motion = run("G0 X1\nM98 P1 L99999999\nM30\nO1\nM99")
    assert codes(motion) == ["INT332"]
    assert motion.followed_to == 1


def calls(times: int, *body: str) -> str:
    """A program of so many calls of one subprogram."""
    return "\n".join(["G21 G90 F200", *["M98 P1"] * times, "M30", "O1", *body, "M99"])


@pytest.mark.parametrize(
    "block",
    ["G1 X{0} Y1", "G1 X[{0}+1]", "G1 X[{0}*2/3-SIN[30]] Y[COS[{0}]*20] Z-[SQRT[{0}]]",
     "G81 X{0} Y0 Z-3 R2", "#{0}=[#{0}+1]", "G1 X{0} (MSG, {0})"],
    ids=["plain", "expression", "long expression", "cycle", "parameter", "message"],
)  # fmt: skip
def test_two_hundred_calls_of_two_hundred_blocks_are_followed(block: str) -> None:
    motion = run(calls(200, *(block.format(at + 1) for at in range(200))))
    assert "INT332" not in codes(motion)
    assert motion.followed_to == 202
    if block.startswith("G1"):
        assert len(motion) == 200 * 200


@pytest.mark.parametrize(
    ("bound", "block", "said"),
    [
        ("trace.MOST_CALLED_BLOCKS", "G1 X{0}", "blocks run by calls"),
        ("trace.MOST_CALLED_STEPS", "G1 X[{0}]", "blocks run by calls, which take long"),
        ("run.MOST_ADDED", "G81 X{0} Z-3 R2 L50", "moves"),
    ],
)
def test_the_bound_of_calls_is_told(
    bound: str, block: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(f"gpre.motion.{bound}", 1000)
    motion = run(calls(40, *(block.format(at) for at in range(50))))
    (finding,) = [each for each in motion.findings if each.code == "INT332"]
    assert said in finding.message
    assert 1 <= motion.followed_to < 41


@pytest.mark.parametrize(
    "block",
    ["G1 X[" + "1+" * 900 + "1]", "G1 X1 (" + "x" * 1900 + ")", "??? X" + "1" * 1900,
     "G83 X1 Z-90 R2 Q0.5", "M3 S100 M8"],
    ids=["expression", "comment", "not understood", "pecks", "switches"],
)  # fmt: skip
def test_what_takes_long_counts_for_more(block: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A call of a block counts as what it takes: fewer of such blocks are run."""
    monkeypatch.setattr("gpre.motion.trace.MOST_CALLED_STEPS", 3000)
    cheap = run(calls(200, *["G1 X[1]"] * 10))
    costly = run(calls(200, *[block, "M5 M9"] * 5))
    assert "INT332" not in codes(cheap)
    assert "INT332" in codes(costly)


def test_long_subprograms_go_through_the_columns_and_are_called() -> None:
    body = "\n".join(f"G1 X{step % 9} Y{step % 5}" for step in range(100))
    motion = run(f"F9 G1 X0\nM98 P1 L2\nM30\nO1\n{body}\nM99")
    assert len(motion) == 201
    assert motion.called.sum() == 200


def test_m99_in_the_main_program_ends_it() -> None:
    motion = run("G0 X1\nM99\nX2")
    assert codes(motion) == ["INT347"]
    assert (len(motion), motion.followed_to) == (1, 2)


def test_m99_that_jumps_is_not_followed() -> None:
    motion = run("G0 X1\nM99 P10\nX2")
    assert codes(motion) == ["INT329"]
    assert motion.followed_to == 1


def test_m30_within_a_subprogram_ends_all() -> None:
    motion = run("G0 X1\nM98 P1\nX9\nM30\nO1\nX2\nM30")
    assert [end[0] for end in ends(motion)] == [1, 2]
    assert motion.followed_to == 2


@pytest.mark.parametrize(
    "flow",
    [
        "IF [#1 LT 2] THEN #1=2",
        "IF [#1 EQ 1] GOTO 100",
        "WHILE [#1 LT 10] DO1",
        "GOTO 100",
        "O100 sub",
        "o<mine> call [1]",
        "O101 if [#1 GT 0]",
        "O102 repeat [5]",
    ],
)
def test_flow_is_named_and_not_followed(flow: str) -> None:
    text = f"G0 X1\n#1=1\n{flow}\nG0 X2\nN100 X3"
    motion = run(text)
    assert codes(motion) == ["INT329"]
    assert place(motion, text, "INT329") == flow
    assert motion.followed_to == 2
    assert len(motion) == 1


@pytest.mark.parametrize("code", ["G68 X0 Y0 R30", "G51 X2 Y2", "G51.1 X0", "G16", "G66 P100"])
def test_codes_that_change_every_coordinate_are_not_followed(code: str) -> None:
    motion = run(f"G0 X1\n{code}\nX2")
    assert codes(motion) == ["INT338"]
    assert motion.followed_to == 1
    assert len(motion) == 1


def test_a_program_run_to_its_end_is_followed_to_its_end() -> None:
    assert run("G0 X1\nX2").followed_to == 2
    assert run("").followed_to == 0


def test_a_subprogram_without_its_end_runs_to_the_end_of_the_file() -> None:
    motion = run("G0 X1\nM98 P1\nX9\nM30\nO1\nX2")
    assert [end[0] for end in ends(motion)] == [1, 2]
    assert motion.followed_to == 2


def test_a_call_without_a_number_leaves_everything_unknown() -> None:
    motion = run("G0 X1\nM98\nG0 X2")
    assert codes(motion) == ["INT314"]
    assert np.isnan(motion.start[1]).all()


def test_a_p_word_beside_an_arc_and_a_call_belongs_to_the_call() -> None:
    motion = run("F9 G0 X1\nG2 X1 I-1 M98 P100 L2" + SUB.replace("G91", "G0 G91"))
    assert codes(motion) == []
    assert motion.sweep[1] == pytest.approx(-2 * np.pi)
    assert [end[0] for end in ends(motion)] == [1, 1, 2, 3]
