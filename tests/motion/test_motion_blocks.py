"""Rules of one block: words, modal groups and the order of execution; NISTIR 6556, 3.3 to 3.8."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_checks import codes, end_state, ends, events, kinds, place, program, run

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Severity
from gpre.motion.controller import Controller
from gpre.motion.events import EventKind
from gpre.motion.trace import trace_from


@pytest.mark.parametrize(
    "text",
    [
        "G1 G2 X1 Y1 I1",
        "G17 G18 G1 X1",
        "G90 G91 X1",
        "G93 G94 X1",
        "G20 G21 X1",
        "G40 G41 X1",
        "G43 G49 H1 X1",
        "G98 G99 X1",
        "G54 G55 X1",
        "G61 G64 X1",
        "G4 P1 G53 G0 X1",
        "M0 M30",
        "M3 M5",
        "M8 M9",
        "M48 M49",
    ],
)
def test_two_codes_of_one_group(text: str) -> None:
    # NISTIR 6556, 3.3.5 and Table 4
    whole = "F9 G1 X0\n" + text + "\n"
    motion = run(whole, origins=dict.fromkeys((1, 2), (0.0, 0.0, 0.0)))
    assert codes(motion) == ["INT302"]
    assert TABLE["INT302"].severity is Severity.ERROR
    if "X1" in text:
        assert len(motion) == 1
        assert math.isnan(run(whole + "G1 Y1").start[-1][0])


def test_mist_and_flood_may_be_on_together() -> None:
    # NISTIR 6556, Table 4, footnote (from memory)
    state = end_state("M7 M8").state
    assert (state.mist, state.flood) == (True, True)
    assert codes(run("M7 M8")) == []
    assert end_state("M7\nM8\nM9").state.flood is False


def test_a_code_stated_twice_is_only_noted() -> None:
    motion = run("G90 G0 G90 X5")
    assert codes(motion) == ["INT339"]
    assert ends(motion) == [(5, 0, 0)]


def test_g80_beside_another_motion_code() -> None:
    # a usual opening of programs in use; the standard forbids it (3.3.5)
    motion = run("G0 G17 G40 G49 G80 G90\nX5")
    assert codes(motion) == ["INT340"]
    assert kinds(motion) == "R"


@pytest.mark.parametrize("letter", "XYZABCFIJKPQRST")
def test_a_word_that_stands_twice(letter: str) -> None:
    # NISTIR 6556, 3.3.5; the reader names it
    read = program(f"G0 X1\nG91 G1 X1 {letter}2 {letter}3" if letter != "X" else "G1 X2 X3 G91")
    assert [finding.code for finding in read.findings] == ["REA212"]
    motion, machine = trace_from(read, Controller())
    assert codes(motion) == []
    assert len(events(motion, EventKind.UNKNOWN)) == 1
    assert math.isnan(machine.position[0])
    assert (machine.state.distance, machine.state.motion) == (91, 10)


def test_an_unknown_code_passes_through() -> None:
    text = "G0 X1\nG187 P1\nM101\nX2"
    motion = run(text)
    assert codes(motion) == ["INT303", "INT327", "INT303"]
    assert TABLE["INT303"].severity is Severity.WARNING
    assert events(motion, EventKind.UNKNOWN) == [(1, 1, "G187"), (2, 1, "M101")]
    # what it does is not known: it may move an axis, or change an offset
    assert np.isnan(motion.start[1]).all()
    assert motion.unknown[0].reason == "what M101 does is not known"
    assert ends(run(text, accepts=frozenset({"M101", "G187"}))) == [(1, 0, 0), (2, 0, 0)]


def test_an_unknown_code_with_axis_words_loses_those_axes() -> None:
    motion = run("G1 F9 X1 Y1 Z1\nG5 X5 Y5\nX6\nG0 Y7\nX8")
    assert codes(motion) == ["INT303", "INT344"]
    assert np.isnan(motion.start[1]).all()
    assert np.isnan(motion.end[1]).tolist() == [True, False, True]
    assert motion.end[-1].tolist()[:2] == [8, 7]


def test_words_that_the_controller_accepts_are_not_named() -> None:
    motion = run("G0 X1\nM101\nG187", accepts=frozenset({"M101", "G187"}))
    assert codes(motion) == []
    assert len(events(motion, EventKind.UNKNOWN)) == 2


def test_words_that_nothing_uses() -> None:
    text = "G0 X1 Q3"
    motion = run(text)
    assert codes(motion) == ["INT327"]
    assert place(motion, text, "INT327") == "Q3"
    assert codes(run("G1 F9 X1 I5")) == ["INT327"]


def test_first_motion_with_no_mode_stated() -> None:
    motion = run("X1 F10\nX2\nG0 X3")
    assert codes(motion) == ["INT311"]
    assert kinds(motion) == "LLR"


def test_a_bare_motion_code_whose_words_follow() -> None:
    motion = run("F9\nG01\nX5\nG0\nY2")
    assert codes(motion) == []
    assert kinds(motion) == "LR"


def test_blocks_without_motion_make_none() -> None:
    assert len(run("(a)\n\nN10\nG1\nF100\nS500 M3\nG4 P1\n%")) == 0
    assert len(run("")) == 0


def test_order_of_execution() -> None:
    # NISTIR 6556, Table 8: spindle, coolant, dwell, plane, units, distance, motion, stop
    motion = run("G0 X1\nM0 G1 X1 G91 F50 G4 P2 M8 M3 S900 G20 T3 M6", tool_change_moves="none")
    order = [event.kind.value for event in motion.events]
    assert order == [
        "mode",
        "spindle",
        "tool change",
        "spindle",
        "coolant",
        "dwell",
        "stop",
    ]
    assert [event.move for event in motion.events] == [1, 1, 1, 1, 1, 1, 2]
    assert ends(motion)[1] == (26.4, 0, 0)
    state = motion.state_of(1)
    assert (state.tool, state.spindle, state.spindle_way, state.flood) == (3, 900, 1, True)
    assert motion.feed[1] == pytest.approx(50 * 25.4)


def test_the_program_ends_where_it_says_so() -> None:
    # NISTIR 6556, 3.6.1: after M2 or M30 no more lines are executed; 3.1 for the %
    for end in ("M2", "M30"):
        motion = run(f"G0 X1\n{end}\nX2")
        assert len(motion) == 1
        assert motion.followed_to == 2
        assert events(motion, EventKind.END) == [(1, 1, end)]
    motion = run("%\nG0 X1\n%\nX2")
    assert ends(motion) == [(1, 0, 0)]


def test_block_delete() -> None:
    # NISTIR 6556, 2.2.2
    text = "G0 X1\n/G0 X2\n/ M0"
    assert len(run(text)) == 2
    on = run(text, block_delete=True)
    assert len(on) == 1
    assert on.events == ()


def test_messages_are_events() -> None:
    # NISTIR 6556, 3.3.4: (MSG, ...); 3.3.5: only the last comment counts
    motion = run("(MSG, turn the part)\nG0 X1 ( m s g ,again)\n(MSG, lost) (plain)")
    assert events(motion, EventKind.MESSAGE) == [(0, 0, "turn the part"), (1, 0, "again")]


def test_tool_changes_take_the_tool_selected_before() -> None:
    motion = run("T1 M6\nG0 X1\nT2\nX2\nM6\nX3")
    assert events(motion, EventKind.TOOL_CHANGE) == [(0, 0, "T1"), (4, 2, "T2")]
    assert [motion.state_of(move).tool for move in range(3)] == [1, 1, 2]


def test_a_spindle_stands_after_a_tool_change() -> None:
    # NISTIR 6556, 3.6.3, from memory
    assert end_state("M3 S100\nT1 M6").state.spindle_way == 0
    assert end_state("T1 M6 M3 S100").state.spindle_way == 1


def test_only_what_changes_is_an_event() -> None:
    motion = run("G94 G21 G54 G40 G49 G64 M9 M5 M48\nG61\nG61\nG64\nM49\nG20\nM8\nM8\nG41 D1\nG40")
    assert [(event.kind.value, event.value) for event in motion.events] == [
        ("mode", "G61"),
        ("mode", "G64"),
        ("mode", "M49"),
        ("mode", "G20"),
        ("coolant", "M8"),
        ("compensation", "G41"),
        ("compensation", "G40"),
    ]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("G4", "INT314"),
        ("G4 P-1", "INT315"),
        ("F-10", "INT315"),
        ("S-10", "INT315"),
        ("T1.5", "INT315"),
        ("T-1", "INT315"),
        ("G43 H1.5", "INT315"),
        ("G43", "INT341"),
        ("G10 P1 X1", "INT314"),
        ("G10 L2 X1", "INT314"),
        ("G10 L2 P10 X1", "INT315"),
        ("G92", "INT314"),
        ("G38.2 F9", "INT314"),
        ("G38.2 X0.1 F9", "INT315"),
        ("G93 G38.2 X9 F9", "INT315"),
        ("G53 G2 X1 I1 F9", "INT319"),
        ("G92 G0 X1", "INT313"),
    ],
)
def test_words_missing_or_out_of_range(text: str, code: str) -> None:
    # NISTIR 6556, 3.5 and 3.6, each code's own errors
    assert codes(run(text)) == [code]


def test_a_dwell_that_names_an_axis_does_not_move_it() -> None:
    motion = run("G0 X1\nG4 X2\nG0 Y1")
    assert codes(motion) == ["INT314"]
    assert len(motion) == 2
    assert math.isnan(motion.end[1][0])


@pytest.mark.parametrize(
    "text", ["G18", "G20", "G55", "G92 X0", "G28 X0", "G53 G0 X0", "G81 X1 Z-1 R1", "G42 D2"]
)
def test_what_compensation_forbids(text: str) -> None:
    # NISTIR 6556, B.5
    assert "INT322" in codes(run("F9 G0 X1 Z5\nG41 D1\n" + text))
    assert "INT322" not in codes(run("F9 G0 X1 Z5\n" + text))


def test_rotary_words_are_carried() -> None:
    motion = run("G0 X1\nG1 F9 A90 C-5\nG91 A10 X1\nG2 X2 I1 B3")
    assert motion.rotary.shape == (4, 6)
    assert motion.rotary[3].tolist() == [100, 0, -5, 100, 3, -5]
    assert motion.end[1].tolist() == [1, 0, 0]
    assert run("G0 X1").rotary.shape == (0, 6)


def test_rotary_words_are_degrees_in_inch_programs_too() -> None:
    motion = run("G20 G0 X1\nG1 F9 A90 X2\nG92 A10 X3\nG91 C-5 X1")
    assert motion.rotary[1].tolist() == [0, 0, 0, 90, 0, 0]
    assert motion.rotary[2].tolist() == [10, 0, 0, 10, 0, -5]
    assert motion.end[1].tolist() == pytest.approx([50.8, 0, 0])
