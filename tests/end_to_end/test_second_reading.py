"""gpre's reading of programs compared with the second one, which shares no line with it.

The second reading (`own_machine`) stands on its own first: examples of NISTIR 6556 and figures
computed from its formulas. Then both read the same programs: the examples, the samples, every case
before and after, the corpus, and drawn ones. HYPOTHESIS_PROFILE=soak draws many more.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path

import own_count
import pytest
from bore_jobs import bore_job
from case_files import read_case_file
from examples import seeds
from hostile_maker import hostile_program
from hypothesis import event, example, given
from hypothesis import strategies as st
from own_machine import follow
from own_paths import box_length, moves, samples
from random_jobs import random_job
from reading_examples import EXAMPLES, HEAD, LONGEST, PRINTED
from reading_programs import reading_programs
from two_readings import ODD, PLACED, PLAIN, TOLD, UNTOLD, Setup, compare, house

TESTS = Path(__file__).resolve().parents[1]
sys.path.append(str(TESTS / "motion"))

from plain_maker import plain_cases  # noqa: E402

CASES = [read_case_file(path) for path in sorted((TESTS / "cases").glob("*/*.case"))]
FILES = sorted(
    [
        *(TESTS.parent / "samples").glob("*.ngc"),
        *(TESTS / "identity").glob("*.ngc"),
        *(TESTS / "end_to_end" / "setups").glob("*.ngc"),
    ]
)


def steps(text: str) -> list:
    return follow(text.encode(), PLAIN.machine)


def ends(text: str) -> list[tuple[float, ...]]:
    return [tuple(round(each, 9) for each in move.path[-1]) for move in moves(steps(text))]


# --- the second reading by itself ---------------------------------------------------------------


@pytest.mark.parametrize(("text", "value"), PRINTED.items())
def test_expressions_have_the_values_printed_beside_them(text: str, value: float) -> None:
    """NISTIR 6556, C.2 and 3.3.2; the program prints up to five digits."""
    x = ends(f"{HEAD}G1 X{text} Y7\nM2\n")[-1][0]
    assert x == pytest.approx(value, abs=5e-5 * max(1.0, abs(value)))


def test_the_longest_expression_has_its_computed_value() -> None:
    """NISTIR 6556, C.2, n0460: the text is published, the value computed."""
    assert ends(f"{HEAD}G1 X{LONGEST}\nM2\n")[-1][0] == pytest.approx(2.000545078, abs=1e-9)


def test_a_parameter_is_set_after_all_values_of_its_line_are_read() -> None:
    """NISTIR 6556, 3.3.3: with #3=15, `#3=6 G1 x#3` goes to 15."""
    assert [each[0] for each in ends(EXAMPLES["3.3.3, #3 while it is set"])] == [15, 7]


def test_the_greeting_has_its_computed_figures() -> None:
    """NISTIR 6556, C.1: the text is published, lengths and counts are computed in closed form."""
    made = steps("G0 Z50\n" + EXAMPLES["C.1, greeting"])[1:]  # from (0, 0, 50)
    lengths = [
        (move.rapid, move.arc.length if move.arc else box_length(move.path)) for move in moves(made)
    ]
    assert sum(each for rapid, each in lengths if not rapid) == pytest.approx(183.43047, abs=5e-6)
    assert sum(each for rapid, each in lengths if rapid) == pytest.approx(202.05280, abs=5e-6)
    assert ends("G0 Z50\n" + EXAMPLES["C.1, greeting"])[-1] == (81, 5, 50)
    found = own_count.turns(made)
    assert [sum(turn.axis == axis for turn in found) for axis in range(3)] == [12, 24, 23]


def test_the_contour_of_table_12_has_its_computed_figures() -> None:
    """NISTIR 6556, table 12, without the tool's radius: 13 + 2.5 pi, X turns twice and Y once."""
    made = steps("G0 X1 Y5\n" + EXAMPLES["table 12, a contour"])[1:]
    length = sum(move.arc.length if move.arc else box_length(move.path) for move in moves(made))
    assert length == pytest.approx(13 + 2.5 * math.pi, abs=1e-9)
    turned = [math.degrees(move.arc.sweep) for move in moves(made) if move.arc]
    assert turned == pytest.approx([90, -90, -90, -143.1301, -36.8699], abs=5e-5)
    found = own_count.turns(made)
    assert [sum(turn.axis == axis for turn in found) for axis in range(2)] == [2, 1]


def test_arcs_by_centre_and_by_radius_have_their_computed_sizes() -> None:
    """NISTIR 6556, 3.5.3.2 and table 10 (printed: centre 1.5, 7.8476); lengths are computed."""
    one, two = (
        next(each.arc for each in moves(steps(EXAMPLES[name])) if each.arc)
        for name in ("3.5.3.2, check A", "table 10, check B")
    )
    assert (one.centre, math.degrees(one.sweep)) == ((10, 11), pytest.approx(-143.1301, abs=5e-5))
    assert one.length == pytest.approx(math.hypot(12.490458, 9.0), abs=5e-6)
    assert two.centre == (pytest.approx(1.5), pytest.approx(7.8476, abs=5e-5))
    assert math.degrees(two.sweep) == pytest.approx(-24.711390, abs=5e-6)
    assert two.length == pytest.approx(3.064444, abs=5e-6)


@pytest.mark.parametrize(
    ("plane", "first", "second"), [(17, "XI", "YJ"), (18, "ZK", "XI"), (19, "YJ", "ZK")]
)
def test_counter_clockwise_leads_from_the_first_axis_to_the_second(
    plane: int, first: str, second: str
) -> None:
    """NISTIR 6556, 4.3.6.1: X to Y, Z to X, Y to Z; a quarter about zero from 5 on the first."""
    text = f"F9\nG0 {first[0]}5\nG{plane} G3 {first[0]}0 {second[0]}5 {first[1]}-5 {second[1]}0\nM2"
    (arc,) = (move.arc for move in moves(steps(text)) if move.arc)
    assert math.degrees(arc.sweep) == pytest.approx(90.0)
    middle = dict(zip("XYZ", arc.at(0.5), strict=True))
    assert [middle[first[0]], middle[second[0]]] == pytest.approx([5.0 / math.sqrt(2.0)] * 2)


def test_a_circle_turns_each_axis_twice_where_its_quadrants_are() -> None:
    (move,) = moves(steps("F9\nG2 I7 J-2\nM2"))
    places = samples(move)
    assert places.max(axis=0)[0] == pytest.approx(7 + math.hypot(7, 2), abs=1e-12)
    found = own_count.turns(steps("F9\nG2 I7 J-2\nG2 I7 J-2\nM2"))
    assert [sum(turn.axis == axis for turn in found) for axis in range(3)] == [4, 4, 0]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("IF [1 LT 2] GOTO 5", "IF"),
        ("WHILE [#1 LT 2] DO1", "WHILE"),
        ("O100 SUB", "O100SUB"),
        ("G65 P9010", "G65"),
        ("M97 P1", "M97"),
        ("M98 P77", "not in the file"),
        ("G38.2 Z-5", "G38.2"),
        ("G1 X#77", "not set"),
        ("G1 U5", "U"),
        ("G30 P3", "home"),
        ("G54 P4", "system"),
        ("G68 R30", "G68"),
        ("M19", "M19"),
    ],
)
def test_what_is_not_followed_is_named_and_gpre_names_it_too(text: str, what: str) -> None:
    program = f"{HEAD}G54 G1 X7\n{text}\nX9\nM2\n"
    last = steps(program)[-1]
    assert (last.what, last.line) == ("not followed", 4)
    assert what in last.text
    assert compare(program.encode(), PLAIN).said == []


@pytest.mark.parametrize("text", ["G10 L1 P1 Z5", "#5220=2", "#5221=9", "#2001=3"])
def test_what_the_controller_keeps_is_not_followed_and_its_places_are_unknown(text: str) -> None:
    program = f"{HEAD}G54 G1 X7\n{text}\nG43 H1 G91 X2 Z1\nM2\n"
    last = steps(program)[-1]
    assert (last.what, last.line) == ("not followed", 4)
    gpre = house()
    motion = gpre.trace(
        gpre.read(gpre.SourceText.of(program.encode(), "kept")),
        gpre.Controller(**PLAIN.controller()),
    )
    assert any(map(math.isnan, motion.end[-1]))


def test_faults_of_the_standard_stop_it_and_gpre_names_them_too() -> None:
    """NISTIR 6556, 3.3.5, 3.5.1, 3.5.3, 3.5.4, 3.5.5, 3.5.12, 3.5.15, 3.5.16, 3.5.18, 3.5.19."""
    for text in (
        "G1 G2 X5 I2", "X1 X2", "M3 M4", "G2 X5 I1 J4", "G2 X9 R1", "G2 R5", "G2 X1 Y2 R5", "G92",
        "G2 X5", "G17 G2 X5 K2", "G2 X5 I2 R2", "G4", "G4 P-1", "F-1", "G10 P1 X2", "G10 L2 X2",
        "G80\nX5", "G81 G53 X1", "G81 X1 Z-1", "G81 X1 R2", "G81 X1 Z5 R2", "G83 X1 Z-1 R2",
        "G93 G1 X5", "G28 G1 X5", "G1 X[1/0]", "G1 X[SQRT[0-1]]", "G1 X[1", "G1 X5)", "#0=1",
        "G1 X1 N5", "G0 X1.2.3", "G90.1 G2 X5 I2", "F0 G1 X5", "G84 X1 Z-1 R2",
    ):  # fmt: skip
        program = f"{HEAD}G1 X7\n{text}\nX9\nM2\n"
        last = steps(program)[-1]
        assert last.what == "fault", text
        assert compare(program.encode(), PLAIN).said == [], text


# --- where both leave the letter of the standard ------------------------------------------------

# by name: a program, how a mill that keeps to the letter differs, and what comes of it
EXPLAINED = {
    # 3.5.20 (from memory) has the level of each cycle; controllers keep that of the first of a row
    "G98 comes back to where a row of cycles began": (
        "G0 Z20\nG99 G81 X5 Y1 Z-3 R2\nG98 X9\nG80\n",
        {"row_level": False},
        "is right: rapid",
    ),
    # 3.5.16.4 (from memory) feeds all the way; controllers feed to R, where the metal ends
    "G84 feeds out to R and goes on at rapid": (
        "M3 S90 G0 Z20\nG98 G84 X5 Y1 Z-3 R2\nG80\n",
        {"tap_to_top": False},
        "20.0",
    ),
    # 3.5.16 makes it an error; programs rely on it
    "a cycle takes over the words of another one": (
        "G81 X5 Y1 Z-3 R2\nG82 X9 P1\nG80\n",
        {"cycles_share": False},
        "fault, a cycle without",
    ),
    # 3.5.3.2 has 0.002 mm; programs with three decimals cannot keep it (arc_radius_tolerance)
    "the radii of an arc may differ by 0.01 mm": (
        "G2 X5 Y2 I2.0025\n",
        {"radii": 0.002},
        "fault, the radii",
    ),
}


@pytest.mark.parametrize("name", EXPLAINED)
def test_where_both_follow_common_practice_the_letter_of_the_standard_differs(name: str) -> None:
    body, changes, what = EXPLAINED[name]
    text = f"{HEAD}{body}M2\n".encode()
    assert compare(text, PLAIN).said == []
    strict = Setup("to the letter", replace(PLAIN.machine, **changes))
    said = compare(text, strict, controller=PLAIN.controller()).said
    assert said
    assert what in said[0]


def test_what_programs_in_use_hold_is_read_though_the_standard_has_it_otherwise() -> None:
    """By name: what the standard makes an error or does not know; both readings go on alike."""
    for name, body in {
        "a whole circle without an end point (3.5.3.2)": "G2 I3",
        "an arc with one end word": "G2 X5 I2",
        "arcs without a G word": "G2 X5 I2\nX1 I-2",
        "a sign before a bracket (E.2)": "X-[1+2] Y-#1",
        "G80 beside the code that takes over (3.4)": "G80 G90 G1 X3",
        "a code twice (3.3.5)": "G1 G90 G90 X3",
        "; and // for comments (appendix E)": "G1 X3 ; X9\n// X8",
        "block numbers of more than five digits (3.3.1)": "N1234567 G1 X3",
        "F beside G20 counts in inches, though it comes first in table 8": "G20 G1 X1 F2",
        "G43 without H takes the tool's own number (3.5.11)": "T3 M6 G43 Z9",
        "G10 L20 and P0 (3.5.5)": "G10 L20 P0 X4\nG1 X5",
        "absolute centres": "G90.1 G2 X5 Y2 I3 J2",
        "M98 and M99": "M98 P5\nM30\nO5\nG1 X3\nM99",
        "P for turns of an arc": "G2 X5 I2 P2",
        "G73": "G73 X5 Y1 Z-3 R2 Q1",
        "G70 and G71 for inch and mm": "G70 G1 X1 F2\nG71 X2",
    }.items():
        found = compare(f"{HEAD}#1=3 G1\n{body}\nM2\n".encode(), PLACED)
        assert (found.said, found.ended) == ([], "end"), name


# --- both of them -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_are_read_alike(name: str) -> None:
    for setup in (*TOLD, UNTOLD):
        found = compare(EXAMPLES[name].encode(), setup)
        assert found.said == [], setup.name
    assert compare(EXAMPLES[name].encode(), PLACED).ended == "end"


def test_samples_and_corpus_are_read_alike() -> None:
    for at, path in enumerate(FILES):
        for setup in (PLACED, (PLAIN, ODD, UNTOLD)[at % 3]):
            assert compare(path.read_bytes(), setup).said == [], (path.name, setup.name)


@pytest.mark.parametrize("file", CASES, ids=lambda file: f"{file.rewrite}/{file.path.stem}")
def test_cases_are_read_alike_before_and_after(file) -> None:
    made = 0
    for at, case in enumerate(file.cases):
        for text in {case.before, case.after or case.before}:
            for setup in (PLACED, (PLAIN, ODD, UNTOLD)[at % 3]):
                found = compare(text.encode(), setup)
                assert found.said == [], (case.name, setup.name)
                made += found.moves
    assert made > len(file.cases)


@given(reading_programs(), st.sampled_from((PLACED, ODD, UNTOLD)))
def test_drawn_programs_are_read_alike(text: str, setup) -> None:
    found = compare(text.encode(), setup)
    event(found.ended)
    assert found.said == [], setup.name
    if setup.told and "G92.3" not in text:  # what an earlier program stored nobody knows
        assert not found.unknown


@given(plain_cases(), st.sampled_from((PLACED, ODD)))
def test_runs_of_plain_blocks_are_read_alike(case: tuple[str, str], setup) -> None:
    found = compare("\n".join(case).encode(), setup)
    event(found.ended)
    assert found.said == []


@example(1389)  # increments in inch that come back to within the last digit
@example(2809)
@given(st.integers(0, 10**6))
def test_jobs_are_read_alike(seed: int) -> None:
    written = bore_job(seed, "hbct") if seed % 2 else random_job(seed)
    for setup in (PLACED, UNTOLD):
        assert compare(written.text, setup).said == []


@pytest.mark.parametrize("seed", seeds(1.0))
def test_hostile_programs_are_read_alike_or_named_by_both(seed: int) -> None:
    """The same ones each time: among many more some lines are read in two ways by right."""
    assert compare(hostile_program(seed), PLACED).said == []
