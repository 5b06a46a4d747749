"""What is counted and what is named for each construct of the corpus in tests/identity.

The figures were worked out by hand from NISTIR 6556; reversals are counted from X0 Y0 Z0 with all
moves, rapids too. `named` are lines at which a finding must stand; `clean` programs have none that
is more than a note.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Severity
from gpre.motion.controller import Controller
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind, Motion
from gpre.motion.trace import trace
from gpre.program.program import Program
from gpre.program.read import read
from gpre.reversals.find import find_reversals

CORPUS = Path(__file__).resolve().parents[1] / "identity"


@dataclass(frozen=True)
class Counted:
    """A program that is understood: moves, reversals X Y Z, where it ends (None: not asked)."""

    name: str
    moves: int
    turns: tuple[int, int, int]
    end: tuple[float | None, float | None, float | None] = (None, None, None)
    clean: bool = True


@dataclass(frozen=True)
class Named:
    """A program with blocks that must be named at these lines."""

    name: str
    lines: tuple[int, ...]


def run(name: str, controller: Controller | None = None) -> tuple[Program, Motion]:
    program = read((CORPUS / f"{name}.ngc").read_bytes(), f"{name}.ngc")
    return program, trace(program) if controller is None else trace(program, controller)


def lines_named(program: Program, motion: Motion) -> dict[int, set[str]]:
    """Return the codes of the findings by line."""
    found: dict[int, set[str]] = {}
    for finding in (*program.findings, *motion.findings):
        if finding.span is not None:
            line = program.source.place(finding.span.start).line
            found.setdefault(line, set()).add(finding.code)
    return found


def turns(motion: Motion) -> tuple[int, int, int]:
    axes = find_reversals(motion).axis
    return (int((axes == 0).sum()), int((axes == 1).sum()), int((axes == 2).sum()))


COUNTED = (
    Counted("percent_both", 3, (0, 0, 1), (10, 5, 5)),
    Counted("percent_blanks_round", 2, (1, 0, 0), (0, 0, 0)),
    Counted("percent_behind_block", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("percent_none_m2", 2, (0, 0, 0), (9, 0, 0)),
    Counted("text_before_percent", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("text_after_percent", 1, (0, 0, 0), (5, 0, 0), clean=False),
    Counted("text_after_m2", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("byte_order_mark", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("colon_block_marks", 3, (1, 0, 0), (5, 0, 0), clean=False),
    Counted("program_number", 2, (0, 0, 0), (9, 0, 0)),
    Counted("empty", 0, (0, 0, 0), clean=False),
    Counted("only_blank_lines", 0, (0, 0, 0), clean=False),
    Counted("one_block_no_newline", 1, (0, 0, 0), (1, 0, 0), clean=False),
    Counted("crlf", 2, (0, 0, 0), (9, 0, 0)),
    Counted("lone_cr", 2, (0, 0, 0), (9, 0, 0)),
    Counted("mixed_line_ends", 3, (1, 0, 0), (5, 0, 0), clean=False),
    Counted("no_last_newline", 3, (1, 0, 0), (5, 0, 0), clean=False),
    Counted("latin1_comments", 2, (0, 0, 0), (9, 0, 0)),
    Counted("utf8_comments", 2, (0, 0, 0), (9, 0, 0)),
    Counted("tabs_and_blanks", 3, (0, 0, 0), (3, 7, 0), clean=False),
    Counted("trailing_blanks", 2, (0, 0, 0), (9, 0, 0)),
    Counted("semicolon_comments", 2, (0, 0, 0), (9, 0, 0)),
    Counted("semicolon_in_parentheses", 2, (0, 0, 0), (9, 2, 0)),
    Counted("parentheses_behind_semicolon", 2, (0, 0, 0), (9, 0, 0)),
    Counted("slash_slash_lines", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("program_text_in_comments", 2, (0, 0, 0), (9, 2, 0)),
    Counted("messages", 2, (0, 0, 0), (9, 0, 0)),
    Counted("several_comments", 2, (0, 0, 0), (9, 2, 0)),
    Counted("comment_empty", 2, (0, 0, 0), (9, 0, 0)),
    Counted("block_delete", 4, (2, 0, 0), (7, 0, 0), clean=False),
    Counted("number_six_digits", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("numbers_out_of_order", 2, (0, 0, 0), (9, 0, 0)),
    Counted("long_line", 2, (0, 0, 0), (9, 0, 0), clean=False),
    Counted("lower_case", 2, (0, 0, 0), (9, -2, 0)),
    Counted("number_forms", 4, (1, 2, 0), (1.2345678901234567, 0.1, 0)),
    Counted("word_order", 2, (0, 0, 0), (9, 4, 0)),
    Counted("no_units_no_mode", 3, (1, 0, 0), (5, 2, 0), clean=False),
    Counted("bare_g1", 4, (1, 0, 0), (5, 4, 0), clean=False),
    Counted("bare_f_and_s", 2, (1, 0, 0), (5, 0, 0)),
    Counted("g70_g71_units", 3, (1, 0, 0), (10, 0, 0), clean=False),
    Counted("units_change", 3, (1, 0, 0), (25.4, 0, 0)),
    Counted("absolute_arc_centres", 5, (2, 2, 0), (10, 0, 0), clean=False),
    Counted("incremental", 6, (1, 1, 0), (0, 0, 0)),
    Counted("work_offsets", 4, (0, 0, 0), (0, np.nan, np.nan), clean=False),
    Counted("g10_l20", 2, (0, 0, 0), (5, 0, 0), clean=False),
    Counted("g92", 3, (1, 0, 0), (4, 0, 0)),
    Counted("tool_length", 2, (0, 0, 0), (5, np.nan, 20)),
    Counted("dwell", 3, (1, 0, 0), (5, 0, 0)),
    Counted("inverse_time", 4, (2, 0, 0), (9, 0, 0)),
    Counted("feed_per_turn", 3, (1, 0, 0), (5, 0, 0), clean=False),
    Counted("path_modes", 3, (1, 0, 0), (5, 0, 0)),
    Counted("stops", 4, (2, 0, 0), (9, 0, 0)),
    Counted("overrides", 3, (1, 0, 0), (5, 0, 0)),
    Counted("cutter_compensation", 7, (2, 2, 0), (-20, -20, 0), clean=False),
    Counted("rotary_words", 3, (1, 0, 0), (5, 0, 0), clean=False),
    # arcs: quadrants by hand
    Counted("full_circle_no_end", 3, (4, 5, 0), (0.5, 0, 0), clean=False),
    Counted("arc_one_end_word", 3, (2, 3, 0), (55.85, 12, 0)),
    Counted("modal_arcs", 5, (5, 5, 0), (-10, 0, 0), clean=False),
    Counted("ramping_half_circles", 8, (6, 6, 2), (6, 0, 5)),
    Counted("plane_chain", 4, (2, 0, 2), (8, 8, 0)),
    Counted("radius_arcs", 4, (1, 3, 0), (0, 0, 0)),
    Counted("helix", 3, (3, 2, 0), (0, 4, -1.25)),
    # cycles: move by move after 3.5.16
    Counted("cycle_g81_g98", 14, (0, 0, 6), (20, 20, 20)),
    Counted("cycle_g83", 21, (0, 0, 12), (20, 10, 5)),
    Counted("cycle_g73", 17, (0, 0, 12), (20, 10, 5), clean=False),
    Counted("parameters", 4, (1, 0, 0), (6, 0, 0)),
    Counted("expressions", 5, (1, 1, 0), (1, 0, 0)),
    Counted("sign_before_bracket", 4, (2, 0, 0), (2, -2, 0), clean=False),
    Counted("parametric_arcs", 3, (2, 2, 0), (3, 0, 0)),
    Counted("percent_doubled", 2, (0, 0, 0), (8, 4, 0), clean=False),
    Counted("comments_in_expressions", 3, (1, 0, 0), (2, 0, 0), clean=False),
    Counted("arc_of_several_turns", 2, (6, 6, 0), (4, 0, -3), clean=False),
    Counted("m98_m99", 6, (3, 0, 0), (0, 0, 0)),
)

NAMED = (
    Named("comment_never_closed", (2,)),
    Named("comment_nested", (2,)),
    Named("comment_closed_twice", (2,)),
    Named("slash_slash_behind_words", (2,)),
    Named("nul_and_control_bytes", (2, 3)),
    Named("number_in_the_middle", (2, 3)),
    Named("letters_out_of_grammar", (2, 3, 4)),
    Named("same_letter_twice", (3,)),
    Named("two_of_one_group", (3,)),
    Named("five_m_words", (2,)),
    Named("letter_o_for_zero", (2, 4)),
    Named("number_without_letter", (1,)),
    Named("lines_of_dots", (2, 4)),
    Named("letter_without_number", (2,)),
    Named("two_points", (3,)),
    Named("two_signs", (3,)),
    Named("comma_for_point", (3,)),
    Named("exponent", (3,)),
    Named("unknown_codes", (3, 4)),
    Named("plain_text_line", (3,)),
    Named("full_circle_no_end", (3, 4)),
    Named("arc_no_centre", (3,)),
    Named("arc_unequal_radii", (3,)),
    Named("cycle_g80_with_axis", (4,)),
    Named("parameter_never_set", (3,)),
    Named("division_by_zero", (4,)),
    Named("named_parameters", (4,)),
    Named("if_then", (4,)),
    Named("if_goto", (7,)),
    Named("while_do", (4,)),
    Named("goto", (3,)),
    Named("o_word_sub", (3,)),
    Named("o_word_repeat", (3,)),
    Named("o_word_if", (4,)),
    Named("o_word_named", (3,)),
    Named("g65", (3,)),
    Named("g66_modal_macro", (2,)),
    Named("codes_from_parameters", (6,)),
    Named("block_delete_behind_number", (3,)),
    Named("form_feed", (2,)),
    Named("text_before_percent", (1,)),
    Named("text_after_percent", (6,)),
    Named("percent_doubled", (2,)),
    Named("percent_behind_block", (5,)),
    Named("slash_slash_lines", (3,)),
    Named("sign_before_bracket", (4, 5, 6)),
    Named("m97", (3,)),
    Named("m98_out_of_file", (3,)),
    Named("lathe_g96", (5, 8)),
    Named("lathe_g71", (4, 5)),
)


@pytest.mark.parametrize("case", COUNTED, ids=lambda case: case.name)
def test_construct_is_counted(case: Counted) -> None:
    program, motion = run(case.name)
    assert len(motion) == case.moves
    assert turns(motion) == case.turns
    for axis, value in enumerate(case.end):
        if value is not None:
            assert motion.end[-1, axis] == pytest.approx(value, abs=1e-9, nan_ok=True)
    if case.clean:
        loud = [
            finding
            for finding in (*program.findings, *motion.findings)
            if TABLE[finding.code].severity is not Severity.NOTE
        ]
        assert loud == []


@pytest.mark.parametrize("case", NAMED, ids=lambda case: case.name)
def test_construct_is_named_at_its_line(case: Named) -> None:
    program, motion = run(case.name)
    assert set(case.lines) <= set(lines_named(program, motion))


@pytest.mark.parametrize("path", sorted(CORPUS.glob("*.ngc")), ids=lambda path: path.stem)
def test_nothing_in_the_corpus_stops_the_reader(path: Path) -> None:
    program = read(path.read_bytes(), path.name)
    motion = trace(program)
    find_reversals(motion)
    assert 0 <= motion.followed_to <= len(program)
    for finding in (*program.findings, *motion.findings):
        entry = TABLE[finding.code]  # each finding can be explained
        assert entry.title
        assert finding.message
        if finding.span is not None:
            assert 0 <= finding.span.start <= finding.span.end <= len(program.source.data)
    if len(motion):
        assert ((motion.block >= 0) & (motion.block < len(program))).all()
        known = ~np.isnan(motion.end).any(axis=1)
        joined = known[:-1] & ~np.isnan(motion.start[1:]).any(axis=1)
        same_zero = np.array(
            [
                motion.state_of(row).origin == motion.state_of(row + 1).origin
                for row in range(len(motion) - 1)
            ],
            dtype=bool,
        )
        rows = np.flatnonzero(joined & same_zero)
        assert np.allclose(motion.end[rows], motion.start[rows + 1], atol=1e-9)


def test_block_delete_switch_skips_marked_blocks() -> None:
    _, motion = run("block_delete", Controller(block_delete=True))
    assert len(motion) == 2
    assert turns(motion) == (0, 0, 0)


def test_text_after_the_end_is_not_run() -> None:
    for name in ("text_after_percent", "text_after_m2"):
        program, motion = run(name)
        assert motion.followed_to < len(program)
        assert np.nanmax(np.abs(motion.end)) < 100


def test_flow_control_is_followed_no_further() -> None:
    stops = {"if_goto": 7, "while_do": 4, "goto": 3, "if_then": 4, "o_word_if": 4}
    stops |= {"o_word_sub": 3, "o_word_repeat": 3, "o_word_named": 3}
    for name, line in stops.items():
        _, motion = run(name)
        assert motion.followed_to <= line, name
        assert (motion.block < line).all(), name


def test_calls_out_of_the_file_leave_nothing_known() -> None:
    for name in ("g65", "m98_out_of_file"):
        _, motion = run(name)
        assert any(event.kind is EventKind.HANDOVER for event in motion.events), name
        after = motion.start[motion.block > 2]
        assert np.isnan(after).any(axis=1).all(), name


def test_sticky_g82_takes_its_words_one_at_a_time() -> None:
    _, motion = run("cycle_g82_words_change_one_at_a_time")
    fed = motion.end[motion.kind == Kind.LINE]
    assert fed.tolist() == [
        [10, 10, -2],
        [20, 10, -2],
        [30, 10, -3],
        [30, 20, -3],
        [10, 20, -3],
    ]
    assert turns(motion) == (1, 0, 10)


def test_incremental_cycle_repeats_as_the_standard_shows() -> None:
    # NISTIR 6556, 3.5.16, second example of G81: three holes from (1, 2, 3)
    _, motion = run("cycle_incremental_l")
    fed = motion.end[motion.kind == Kind.LINE]
    assert fed == pytest.approx(np.array([[5, 7, 4.2], [9, 12, 4.2], [13, 17, 4.2]]))
    assert motion.end[-1] == pytest.approx([13, 17, 4.8])
    assert turns(motion) == (0, 0, 6)


def test_other_cycles_go_down_and_come_up_once_a_hole() -> None:
    _, motion = run("cycle_g84_to_g89")
    assert turns(motion) == (0, 0, 10)
    assert motion.end[-1] == pytest.approx([50, 0, 5])


def test_inverse_time_feed_is_length_over_time() -> None:
    # NISTIR 6556, 3.5.19: a move takes 1/F minutes; 4 mm at F2 and at F4
    _, motion = run("inverse_time")
    assert motion.feed[1:] == pytest.approx([8.0, 16.0, 80.0])


def test_feed_per_turn_follows_the_spindle() -> None:
    _, motion = run("feed_per_turn")
    assert motion.feed[1:] == pytest.approx([80.0, 80.0])


def test_rotary_words_are_carried() -> None:
    _, motion = run("rotary_words")
    assert motion.rotary[-1] == pytest.approx([90, 0, 0, -45.5, 3, 2])


@pytest.mark.parametrize(
    ("name", "kind", "number"),
    [
        ("dwell", EventKind.DWELL, 2),
        ("stops", EventKind.STOP, 3),
        ("stops", EventKind.END, 1),
        ("probe", EventKind.PROBE, 1),
        ("g28_partial", EventKind.HOME, 2),
        ("g30", EventKind.HOME, 1),
        ("messages", EventKind.MESSAGE, 3),
        ("m98_m99", EventKind.CALL, 2),
    ],
)
def test_events_are_kept(name: str, kind: EventKind, number: int) -> None:
    _, motion = run(name)
    assert sum(event.kind is kind for event in motion.events) == number


def test_compensated_moves_are_known_as_such() -> None:
    for name in ("cutter_compensation", "offset_numbers_from_parameters"):
        _, motion = run(name)
        states = [motion.state_of(row).compensation for row in range(len(motion))]
        assert {41, 42} & set(states), name
        assert states[-1] == 40, name


def test_homing_forgets_only_the_axes_named() -> None:
    _, motion = run("g28_partial")
    assert np.isnan(motion.end[-1, 2])
    assert motion.end[-1, :2] == pytest.approx([5, 5])
