"""The run in columns makes what the scalar interpreter makes, block for block."""

from __future__ import annotations

import math
import re
from unittest import mock

import numpy as np
import pytest
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from plain_maker import FAULTS, plain_cases

from gpre.motion import columns, recorder
from gpre.motion.columns import FIRST_WINDOW, run_plain
from gpre.motion.controller import Controller
from gpre.motion.entry import Stretch
from gpre.motion.machine import Machine
from gpre.motion.motion import Kind, Motion
from gpre.motion.stretches import Stretches, _in_force
from gpre.motion.trace import trace_from
from gpre.program.program import Program
from gpre.program.read import read

START = "G21 G90 G17 G94 G1 F300"


def begun(start: str, controller: Controller) -> Machine:
    """The machine behind the opening blocks, run block by block."""
    machine = Machine.begin(controller)
    trace_from(read(start.encode()), controller, machine, fast=False)
    return machine


def first_odd(program: Program, controller: Controller, machine: Machine) -> int:
    """How many blocks from the start the caller would hand over as plain."""
    return Stretches(program, controller)._end(0, _in_force(machine))


def compare(stretch: Stretch, motion: Motion) -> None:
    """All moves of the blocks that the stretch took are those of the scalar interpreter."""
    count = int(np.count_nonzero(motion.block < stretch.last))
    assert len(stretch.kind) == count
    for name in ("kind", "plane", "block"):
        mine = getattr(stretch, name)
        assert np.array_equal(mine, getattr(motion, name)[:count]), name
        assert mine.dtype == getattr(motion, name).dtype
    for name in ("start", "end", "centre", "sweep", "feed"):
        mine = getattr(stretch, name)
        theirs = getattr(motion, name)[:count]
        assert np.allclose(mine, theirs, rtol=1e-12, atol=1e-9, equal_nan=True), name
    for row in range(count):
        assert stretch.states[stretch.state[row]] == motion.state_of(row)
    assert {int(row) for row in stretch.state} == set(range(len(stretch.states)))


def check(text: str, start: str, controller: Controller) -> int:
    """Run both ways, compare, and give how many blocks the columns took."""
    program = read(text.encode())
    last = first_odd(program, controller, begun(start, controller))
    entry = begun(start, controller).entry()
    stretch = run_plain(program, 0, last, entry, controller)
    motion, _ = trace_from(program, controller, begun(start, controller), fast=False)
    taken = 0 if stretch is None else stretch.last
    notes = [each for each in motion.findings if each.span is not None]
    read_notes = [each for each in program.findings if each.span is not None]
    block = [program.source.block_of(each.span.start) for each in notes if each.span]
    if stretch is not None:
        compare(stretch, motion)
        mine = [each for each, at in zip(notes, block, strict=True) if at < taken]
        assert list(stretch.findings) == mine
        assert {each.code for each in mine} <= {"INT309"}
        # what is in force afterwards
        head = b"".join(line + b"\n" for line in text.encode().split(b"\n")[:taken])
        _, machine = trace_from(read(head), controller, begun(start, controller), fast=False)
        after = machine.entry()
        assert stretch.exit.state == after.state
        assert stretch.exit.plane == after.plane
        assert np.allclose(stretch.exit.position, after.position, atol=1e-9, equal_nan=True)
        assert np.array_equal(stretch.exit.feed, after.feed, equal_nan=True)
        assert stretch.exit.rotary == after.rotary
    if taken < last:
        # it stopped for a reason: the reader or the scalar interpreter has something to say there
        odd = [at for each, at in zip(notes, block, strict=True) if each.code != "INT309"]
        odd += [program.source.block_of(each.span.start) for each in read_notes if each.span]
        assert taken in odd
    return taken


@given(plain_cases(faults=False))
@share(2)
def test_plain_blocks_are_taken_and_come_out_the_same(case: tuple[str, str]) -> None:
    start, text = case
    controller = Controller()
    last = first_odd(read(text.encode()), controller, begun(start, controller))
    assert check(text, start, controller) == last


@given(plain_cases())
@share(2)
def test_with_faults_the_columns_stop_right_before_them(case: tuple[str, str]) -> None:
    start, text = case
    check(text, start, Controller())


@given(plain_cases(), st.sampled_from([0.0005, 0.002, 1.0]))
@share(0.6)
def test_the_tolerance_of_the_radii_is_the_controllers(
    case: tuple[str, str], tolerance: float
) -> None:
    start, text = case
    check(text, start, Controller(arc_radius_tolerance=tolerance))


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_left_to_the_scalar_interpreter(fault: str) -> None:
    text = f"G0 X0 Y0\nG1 X5\nY6\n{fault}\nG1 X7\n"
    assert check(text, START, Controller()) == 3


def test_a_fault_before_another_kind_of_fault_is_the_one_that_stops() -> None:
    # words are looked at before arcs, but the arc stands first
    text = "G0 X0 Y0\nG1 X5\nG2 X9 Y9 I1 J0\nG1 X5\nX1 X2\n"
    assert check(text, START, Controller()) == 2


def test_faults_in_later_windows_stop_there() -> None:
    count = FIRST_WINDOW + 700
    lines = [f"X{i % 90} Y{i % 7}" for i in range(count)]
    lines[FIRST_WINDOW + 300] = "X1 X2"
    taken = check("\n".join(lines) + "\n", START, Controller())
    assert taken == FIRST_WINDOW + 300


# chords and radii whose length numpy and Python round differently in the last digit
LAST_DIGIT = [(25.474, 18.395), (11.812, 2.667), (20.826, 19.601), (20.318, 21.917)]


@pytest.mark.parametrize(("x", "y"), LAST_DIGIT)
def test_semicircles_by_radius_agree_to_the_last_digits(x: float, y: float) -> None:
    # the centre hangs on the square root of the last digit of half the chord there
    assert np.hypot(x, y) != math.hypot(x, y)
    radius = math.hypot(x, y) / 2.0
    assert check(f"G0 X0 Y0\nG3 X{x} Y{y} R{radius!r}\n", START, Controller()) == 2


@pytest.mark.parametrize(("x", "y"), LAST_DIGIT)
def test_radii_at_the_very_tolerance_are_judged_as_the_scalar_interpreter_judges(
    x: float, y: float
) -> None:
    text = f"G0 X0 Y0\nG3 X{x + 1.0!r} Y{y} I{x} J{y}\n"
    tolerance = abs(math.hypot(x, y) - (x + 1.0 - x))
    for one, count in ((tolerance, 2), (math.nextafter(tolerance, 0.0), 1)):
        assert check(text, START, Controller(arc_radius_tolerance=one)) == count


def test_an_absolute_centre_needs_both_of_its_words() -> None:
    text = "G0 X0 Y0\nG3 X2 Y0 I1 J0\nX4 Y0 I3\n"
    assert check(text, START + " G90.1", Controller()) == 2
    assert check(text, START, Controller()) == 2  # there the second arc has unlike radii
    assert check("G0 X0 Y0\nG3 X2 Y0 I1\n", START, Controller()) == 2


def test_a_long_stretch_is_joined_to_what_stands_about_it() -> None:
    head = f"{START}\nX1 M3\nX2 M8\nY3 M9\n"
    middle = "".join(f"X{i % 17} Y{i % 5} Z{i % 3}\n" for i in range(100))
    tail = "X1 M7\nX2 M8\n"
    program = read((head + middle + tail).encode())
    slow, _ = trace_from(program, Controller(), fast=False)
    for room in (0, 1, 2, 3, 6):
        with mock.patch.object(columns, "ROOM", room):
            fast, _ = trace_from(program, Controller(), fast=True)
        for name in ("kind", "start", "end", "centre", "sweep", "plane", "feed", "block"):
            assert np.array_equal(getattr(fast, name), getattr(slow, name), equal_nan=True), name
        # within the arrays of the stretch where there is room for three moves
        base = fast.end.base  # a row more: the start of the first move
        assert (base is not None and len(base) == 101 + 2 * room) == (room >= 3)
        assert fast.start.base is base


def test_what_is_no_stretch_is_declined() -> None:
    controller = Controller()
    program = read(b"X1\nX2\n")
    assert run_plain(program, 0, 2, Machine.begin(controller).entry(), controller) is None
    for start in ("G93 G1 F2", "G81 X1 Y1 Z-1 R1 F100"):
        entry = begun(start, controller).entry()
        assert run_plain(program, 0, 2, entry, controller) is None


def test_a_move_at_feed_without_one_is_left_to_be_noted() -> None:
    controller = Controller()
    entry = begun("G0 X0", controller).entry()
    program = read(b"X1\nX2\nG1 X3\n")
    stretch = run_plain(program, 0, 3, entry, controller)
    assert stretch is not None
    assert stretch.last == 2
    assert stretch.kind.tolist() == [Kind.RAPID, Kind.RAPID]


@given(
    st.lists(plain_cases(most=60), min_size=1, max_size=4),
    st.sampled_from([0, 2, 7]),
)
@share(0.6)
def test_a_whole_program_traced_both_ways_is_the_same(
    parts: list[tuple[str, str]], room: int
) -> None:
    text = "M5 G91.1\n".join(f"{start}\n{text}" for start, text in parts)
    program = read((text + "G4 P1\nX3\nM30\n").encode())
    controller = Controller()
    # small windows, and room about short stretches too
    with (
        mock.patch.object(columns, "FIRST_WINDOW", 9),
        mock.patch.object(columns, "WINDOW", 14),
        mock.patch.object(columns, "ROOM", room),
    ):
        fast, _ = trace_from(program, controller, fast=True)
    slow, _ = trace_from(program, controller, fast=False)
    assert len(fast) == len(slow)
    for name in ("kind", "plane", "block", "called"):
        assert np.array_equal(getattr(fast, name), getattr(slow, name)), name
    for name in ("start", "end", "centre", "sweep", "feed"):
        mine, theirs = getattr(fast, name), getattr(slow, name)
        assert np.allclose(mine, theirs, rtol=1e-12, atol=1e-9, equal_nan=True), name
    assert [fast.state_of(row) for row in range(len(fast))] == [
        slow.state_of(row) for row in range(len(slow))
    ]
    assert fast.findings == slow.findings
    assert fast.events == slow.events
    assert fast.followed_to == slow.followed_to


@pytest.mark.parametrize(
    "odd",
    ["M3", "G7 X1", "G999 X3", "G1.05 X3", "X1 X2", "Z1 Z1", "X2 S300", "X2 A5", "F5 F6", "X1e999"],
)
def test_columns_stop_before_what_they_do_not_know_whoever_asks(odd: str) -> None:
    controller = Controller()
    entry = begun(START, controller).entry()
    program = read(f"X1\nY2\n{odd}\nX4\n{odd}\nX5\n".encode())
    stretch = run_plain(program, 0, 6, entry, controller)
    assert stretch is not None
    assert stretch.last == 2
    assert stretch.end.tolist() == [[1.0, 0.0, 0.0], [1.0, 2.0, 0.0]]


@pytest.mark.parametrize("room", [0, 1, 2, 3, 6])
@pytest.mark.parametrize("tail", ["G92 X50\nX1\nX2\n", "M8\nG0 X1\nG2 X3 I1\n", "G20\nX1 F2\n"])
def test_a_long_stretch_is_joined_to_what_does_not_start_where_it_ends(
    tail: str, room: int
) -> None:
    head = f"{START}\nX1 M3\nG92 X7\nX2 M8\n"
    middle = "".join(f"X{i % 17} Y{i % 5} Z{i % 3}\n" for i in range(100))
    program = read((head + middle + tail).encode())
    slow, _ = trace_from(program, Controller(), fast=False)
    with mock.patch.object(columns, "ROOM", room), mock.patch.object(recorder, "_LARGE", 0):
        fast, _ = trace_from(program, Controller(), fast=True)
    for name in ("kind", "start", "end", "plane", "feed", "block", "role", "state"):
        assert np.array_equal(getattr(fast, name), getattr(slow, name), equal_nan=True), name
    for name in ("centre", "sweep"):
        assert np.allclose(getattr(fast, name), getattr(slow, name), equal_nan=True, atol=1e-12)


@pytest.mark.parametrize("words", ["I3 J4", "J4 I3", "J4 F50 I3", "I5"])
def test_the_note_of_a_full_circle_names_its_centre_words(words: str) -> None:
    text = f"G0 X0 Y0\nN20 G2 {words} F9\nX3 I5\n".replace(" F9", "" if "F" in words else " F9")
    program = read(text.encode())
    controller = Controller()
    slow, _ = trace_from(program, controller, begun(START, controller), fast=False)
    stretch = run_plain(program, 0, 2, begun(START, controller).entry(), controller)
    named = re.search(r"[IJ]\d.*[IJ]\d|I5", words)
    assert named is not None
    assert stretch is not None
    (note,) = stretch.findings
    assert note in slow.findings
    assert note.span is not None
    assert text[note.span.start : note.span.end] == named[0]
