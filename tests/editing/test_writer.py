"""The writer: what it writes is read back as what was meant, with no word too many."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.editing.code_style import CodeStyle, Numbering
from gpre.editing.modes import Modes
from gpre.editing.number_style import NumberStyle
from gpre.editing.writer import BlockWriter, Gap, gap_at
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read

NAN = float("nan")


def head(modes: Modes, place: tuple[float, float, float]) -> bytes:
    """Blocks that bring about the modes and the place that a writer starts from."""
    scale = modes.scale
    lines = [
        f"G{modes.units} G90 G{modes.plane} G94",
        f"G0 X{place[0] / scale:.9f} Y{place[1] / scale:.9f} Z{place[2] / scale:.9f}",
        f"G{modes.distance} G{modes.arc_distance // 10}.1" if modes.arc_distance == 901 else "",
        f"G{modes.distance}",
        f"G{modes.motion // 10}"
        + ("" if math.isnan(modes.feed) else f" F{modes.feed / scale:.9f}"),
    ]
    return ("\n".join(lines) + "\n").encode()


def motion_of(writer_modes: Modes, place: tuple[float, float, float], text: bytes):
    motion = trace(read(head(writer_modes, place) + text))
    errors = [each for each in motion.findings if each.code not in {"INT311", "INT316"}]
    assert not errors, errors
    return motion


def test_writes_only_the_words_that_change():
    writer = BlockWriter(CodeStyle(), Modes(motion=10, feed=200.0), (0.0, 0.0, 5.0))
    writer.rapid((10.0, 0.0, None))
    writer.line((10.0, 0.0, -1.0), feed=100.0)
    writer.line((20.0, 0.0, -1.0))
    writer.line((20.0, 5.5, None), feed=250.0)
    assert writer.text() == b"G0 X10\nG1 Z-1 F100\nX20\nY5.5 F250\n"


def test_nothing_moves_nothing_is_written():
    writer = BlockWriter(CodeStyle(), Modes(motion=0), (1.0, 2.0, 3.0))
    writer.rapid((1.0, 2.0, None))
    assert writer.text() == b""
    assert len(writer) == 0


def test_own_manner_of_a_packed_inch_program():
    manner = CodeStyle(
        blank="",
        padded=True,
        lower=True,
        length=NumberStyle(4, 0, point=True, leading_zero=False),
        feed=NumberStyle(1, 0, point=True),
        repeats=True,
        semicolon=True,
        newline=b"\r\n",
    )
    writer = BlockWriter(manner, Modes(motion=0, units=20), (0.0, 0.0, 25.4))
    writer.rapid((12.7, 25.4, None), "approach X+")
    writer.line((None, None, -2.54), feed=101.6)
    assert writer.text() == b"g00x.5y1. ; approach X+\r\ng01z-.1f4.\r\n"


def test_comments_can_be_left_out():
    writer = BlockWriter(CodeStyle(), Modes(motion=0), (0.0, 0.0, 5.0), comments=False)
    writer.rapid((10.0, None, None), "approach X+")
    assert writer.text() == b"X10\n"


def test_no_line_goes_beyond_column_256():
    writer = BlockWriter(CodeStyle(), Modes(motion=0), (0.0, 0.0, 5.0))
    writer.rapid((10.0, None, None), "A" * 230)
    writer.rapid((20.0, None, None), "A" * 250)
    writer.remark("B" * 300)
    lines = writer.text(Gap(99990, None)).splitlines()
    assert max(map(len, lines)) <= 256  # NISTIR 6556, 3.3
    assert lines[0] == b"X10 (" + b"A" * 230 + b")"
    assert lines[1] == b"X20"
    assert lines[2].startswith(b"(BBB")
    assert lines[2].endswith(b"B)")


def test_incremental_words_do_not_drift():
    manner = CodeStyle(length=NumberStyle(3))
    writer = BlockWriter(manner, Modes(motion=0, distance=91), (0.0, 0.0, 0.0))
    third = 1.0 / 3.0
    for count in range(1, 31):
        writer.rapid((third * count, None, None))
    total = sum(float(line[1:]) for line in writer.text().decode().split())
    assert abs(total - 10.0) < 1e-9  # rounding is carried along, so it never adds up


def test_unknown_place_is_written_absolute_and_refused_incremental():
    writer = BlockWriter(CodeStyle(), Modes(motion=0), (NAN, NAN, NAN))
    writer.rapid((1.0, None, None))
    assert writer.text() == b"X1\n"
    writer = BlockWriter(CodeStyle(), Modes(motion=0, distance=91), (NAN, NAN, NAN))
    with pytest.raises(ValueError, match="position of X"):
        writer.rapid((1.0, None, None))


def test_a_feed_is_never_raised_by_rounding():
    writer = BlockWriter(CodeStyle(), Modes(motion=10, units=20), (0.0, 0.0, 0.0))
    feed = 100.0 / 3.0
    writer.line((25.4, None, None), feed=feed)
    written = float(writer.text().split(b"F")[1])
    assert written * 25.4 <= feed * (1 + 1e-9)


@pytest.mark.parametrize("mode", [93, 95])
def test_a_feed_that_is_no_length_a_minute_is_refused(mode: int):
    writer = BlockWriter(CodeStyle(), Modes(feed_mode=mode, feed=0.1), (0.0, 0.0, 0.0))
    with pytest.raises(ValueError, match="feed"):
        writer.line((1.0, None, None), feed=100.0)


def test_no_feed_at_all_is_refused():
    writer = BlockWriter(CodeStyle(), Modes(), (0.0, 0.0, 0.0))
    with pytest.raises(ValueError, match="no feed"):
        writer.line((1.0, None, None))


def test_a_full_circle_names_an_axis():
    # NISTIR 6556, 3.5.3: an arc without any axis word of its plane is an error
    writer = BlockWriter(CodeStyle(), Modes(feed=100.0), (10.0, 0.0, 0.0))
    writer.arc((10.0, 0.0, 0.0), (0.0, 0.0, 0.0), -2.0 * math.pi)
    assert writer.text() == b"G2 X10 I-10 J0\n"


def test_restores_says_what_is_missing_and_writes_it():
    before = Modes(motion=10, feed=200.0)
    writer = BlockWriter(CodeStyle(), before, (0.0, 0.0, 0.0))
    writer.rapid((1.0, None, None))
    assert not writer.restores(before, (0.0, 0.0, 0.0))
    writer.rapid((0.0, None, None))
    assert not writer.restores(before)
    writer.restore(before)
    assert writer.restores(before, (0.0, 0.0, 0.0))
    assert writer.text() == b"G0 X1\nX0\nG1\n"


def test_an_arcs_code_cannot_be_restored_alone():
    writer = BlockWriter(CodeStyle(), Modes(motion=20, feed=100.0), (0.0, 0.0, 0.0))
    writer.rapid((1.0, None, None))
    with pytest.raises(ValueError, match="G2"):
        writer.restore(Modes(motion=20, feed=100.0))


def test_block_numbers_fill_the_gap_or_stay_away():
    numbering = Numbering(10, 4)
    assert Gap(10, 20).numbers(1, numbering) == (15,)
    assert Gap(10, 20).numbers(2, numbering) == (13, 16)
    assert Gap(10, 20).numbers(9, numbering) == tuple(range(11, 20))
    assert Gap(10, 20).numbers(10, numbering) == ()
    assert Gap(5, 6).numbers(1, numbering) == ()
    assert Gap(None, 20).numbers(1, numbering) == ()
    assert Gap(90, None).numbers(2, numbering) == (100, 110)
    assert Gap(99995, None).numbers(1, numbering) == ()  # at most five digits, 3.3.1
    writer = BlockWriter(CodeStyle(numbering=numbering), Modes(motion=0), (0.0, 0.0, 0.0))
    writer.rapid((1.0, None, None))
    assert writer.text(Gap(10, 20)) == b"N0015 X1\n"
    assert writer.text(Gap(10, 11)) == b"X1\n"


def test_gap_is_found_past_blocks_without_numbers():
    program = read(b"N10 G0 X1\n(comment)\nX2\nN30 X3\n")
    assert gap_at(program, 2) == Gap(10, 30)
    assert gap_at(program, 0) == Gap(None, 10)
    assert gap_at(program, 4) == Gap(30, None)


coordinate = st.integers(-50_000, 50_000).map(lambda value: value / 1000.0)
places = st.tuples(coordinate, coordinate, coordinate)


@given(
    moves=st.lists(st.tuples(st.booleans(), places, st.integers(1, 900)), min_size=1, max_size=8),
    start=places,
    distance=st.sampled_from([90, 91]),
    units=st.sampled_from([20, 21]),
    style=st.sampled_from(
        [NumberStyle(), NumberStyle(4, 4, True), NumberStyle(5, 0, True, False), NumberStyle(2)]
    ),
    repeats=st.booleans(),
)
def test_straight_moves_are_read_back(moves, start, distance, units, style, repeats):
    modes = Modes(motion=10, distance=distance, units=units, feed=500.0)
    writer = BlockWriter(CodeStyle(length=style, repeats=repeats), modes, start)
    wanted = []
    for rapid, end, feed in moves:
        before = len(writer)
        if rapid:
            writer.rapid(end)
        else:
            writer.line(end, feed=float(feed))
        assert max(abs(a - b) for a, b in zip(writer.position, end, strict=True)) <= 5.02e-4
        if len(writer) > before:
            wanted.append((rapid, end, feed))
    motion = motion_of(modes, start, writer.text())
    rows = np.flatnonzero(motion.block >= head(modes, start).count(b"\n"))
    assert len(rows) == len(wanted) == len(writer)
    for row, (rapid, end, feed) in zip(rows, wanted, strict=True):
        assert np.abs(motion.end[row] - end).max() <= 5.02e-4
        assert (motion.kind[row] == Kind.RAPID) == rapid
        if not rapid:
            assert motion.feed[row] == pytest.approx(feed, rel=1e-4)
            assert motion.feed[row] <= feed * (1 + 1e-8)
    if wanted:
        assert np.abs(motion.end[rows[-1]] - writer.position).max() < 1e-6


@given(
    centre=places,
    radius=st.integers(200, 60_000).map(lambda value: value / 1000.0),
    angle=st.integers(0, 359),
    sweep=st.one_of(st.integers(-359, -2), st.integers(2, 359), st.sampled_from([-360, 360])),
    rise=st.sampled_from([0.0, 0.5, -2.0]),
    plane=st.sampled_from([17, 18, 19]),
    distance=st.sampled_from([90, 91]),
    arc_distance=st.sampled_from([901, 911]),
    units=st.sampled_from([20, 21]),
    radius_form=st.booleans(),
)
def test_arcs_are_read_back(
    centre, radius, angle, sweep, rise, plane, distance, arc_distance, units, radius_form
):
    first, second = {17: (0, 1), 18: (2, 0), 19: (1, 2)}[plane]
    normal = 3 - first - second
    # the start is a place that the program can hold, the centre follows from it
    scale = 25.4 if units == 20 else 1.0
    start = list(centre)
    start[first] += radius * math.cos(math.radians(angle))
    start[second] += radius * math.sin(math.radians(angle))
    # a full circle must come back to the very number that the program wrote
    start = [round(each / scale, 5 if abs(sweep) == 360 else 9) * scale for each in start]
    turned = math.radians(angle + sweep)
    end = list(centre)
    end[first] += radius * math.cos(turned)
    end[second] += radius * math.sin(turned)
    end[normal] = start[normal] + rise
    if abs(sweep) == 360:
        end[first], end[second] = start[first], start[second]
    modes = Modes(motion=10, distance=distance, units=units, arc_distance=arc_distance, feed=100.0)
    writer = BlockWriter(CodeStyle(radius=radius_form), modes, start)
    writer.arc(end, centre, math.radians(sweep), plane=plane)
    motion = motion_of(modes, tuple(start), writer.text())
    row = len(motion) - 1
    assert motion.kind[row] == Kind.ARC
    assert np.abs(motion.end[row] - end).max() <= 6e-4
    off = [motion.centre[row][axis] - centre[axis] for axis in (first, second)]
    assert max(map(abs, off)) <= 1.2e-3
    assert math.degrees(motion.sweep[row]) == pytest.approx(sweep, abs=0.25)
    # NISTIR 6556, 3.5.3: the radii may differ by 0.002 mm; the writer keeps to a tenth
    radii = [
        math.hypot(*(point[row][axis] - motion.centre[row][axis] for axis in (first, second)))
        for point in (motion.start, motion.end)
    ]
    assert abs(radii[0] - radii[1]) <= 2.1e-4


@given(
    value=st.floats(-1e4, 1e4, allow_nan=False),
    decimals=st.integers(0, 6),
    least=st.integers(0, 6),
    point=st.booleans(),
    leading_zero=st.booleans(),
)
def test_numbers_are_as_near_as_their_decimals(value, decimals, least, point, leading_zero):
    text = NumberStyle(decimals, least, point, leading_zero).write(value)
    assert abs(float(text) - value) <= 0.5 * 10.0**-decimals + 1e-12
    assert "e" not in text
    assert not (text.startswith("-") and float(text) == 0.0)
    assert any(each.isdigit() for each in text)  # 3.3.2.1: at least one digit
