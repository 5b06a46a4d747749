"""Cuts: where they begin and end, their shapes, their lead-ins and lead-outs."""

import numpy as np
import pytest

from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.levels import levels
from gpre.cuts.passes import read_raster
from gpre.motion.controller import Controller
from gpre.motion.motion import Kind, Motion
from gpre.motion.trace import trace
from gpre.program.read import read

ZERO = (0.0, 0.0, 0.0)
KNOWN = Controller(tool_change_moves="none", origins={1: ZERO, 2: ZERO}, lengths={1: 0.0})
HEAD = "G21 G90 G17 G94\nT1 M6\nS2000 M3\nF200\n"


def motion_of(text: str) -> Motion:
    return trace(read((HEAD + text).encode()), KNOWN)


def cuts_of(text: str) -> tuple[Cut, ...]:
    return find_cuts(motion_of(text))


def shapes_of(text: str) -> list[Shape]:
    return [cut.shape for cut in cuts_of(text)]


def blocks_of(text: str, cut: Cut) -> tuple[int, int, int, int]:
    """The lines, from 1 behind the head: first and last of the cut, first and last of its body."""
    block = motion_of(text).block - HEAD.count("\n") + 1
    rows = (cut.first, cut.last - 1, cut.body_first, cut.body_last - 1)
    return tuple(int(block[row]) for row in rows)


def test_no_moves_no_cuts():
    assert cuts_of("") == ()
    assert cuts_of("G0 X10\nZ5\n") == ()


def test_a_cut_runs_from_rapid_to_rapid():
    text = "G0 X1 Y1\nZ2\nG1 Z-1\nX20\nX30 Y5\nZ2\nG0 Z10\nX0\nG1 Z-1\nX5\nG0 Z10\n"
    first, second = cuts_of(text)
    assert blocks_of(text, first) == (3, 6, 4, 5)
    assert blocks_of(text, second) == (9, 10, 10, 10)
    assert [first.shape, second.shape] == [Shape.OPEN, Shape.PASS]


@pytest.mark.parametrize(
    "event",
    ["G4 P1", "M0", "M8", "M5", "T2 M6", "G43 H1", "G92 X3", "G55", "S900", "G93 F5\nG94 F200"],
)
def test_what_is_no_motion_breaks_a_cut(event: str):
    cuts = cuts_of(f"G0 Z2\nG1 Z-1\nX20\n{event}\nG1 Y10\nG0 Z5\n")
    assert len(cuts) == 2 or event == "S900"


def test_a_message_and_a_comment_break_nothing():
    assert len(cuts_of("G0 Z2\nG1 Z-1\nX20\n(MSG, halfway)\n(more)\nY10\nG0 Z5\n")) == 1


def test_cutter_compensation_breaks_a_cut():
    cuts = cuts_of("G0 Z2\nG1 Z-1\nX20\nG41 D1 X30\nY30\nG40 X40\nG0 Z5\n")
    assert [cut.last - cut.first for cut in cuts] == [2, 2, 1]


def test_holes_by_hand_and_by_cycle():
    assert shapes_of("G0 X5 Y5\nZ2\nG1 Z-5\nG0 Z2\n") == [Shape.HOLE]
    assert shapes_of("G0 Z5\nG81 X5 Y5 Z-5 R2\nX10\nX15\nG80\n") == [Shape.HOLE] * 3
    # a boring cycle comes out at feed: each hole is a cut of its own all the same
    assert shapes_of("G0 Z5\nG85 X5 Y5 Z-5 R2\nX10\nG80\n") == [Shape.HOLE] * 2
    # three pecks are three stretches at feed
    assert shapes_of("G0 Z5\nG83 X5 Y5 Z-6 R2 Q3\nG80\n") == [Shape.HOLE] * 3


def test_one_straight_run_is_a_pass_however_it_is_split():
    text = "G0 X0 Y0\nZ2\nG1 Z-1\nX10 Y5\nX30 Y15 F300\nX40 Y20\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.PASS
    assert blocks_of(text, cut) == (3, 6, 4, 6)


@pytest.mark.parametrize(
    "body",
    [
        "X20\nY10\nX0\nY0\n",
        "X10 Y10\nX-5 Y8\nX0 Y0\n",
        "G2 I10\n",
        "G3 X20 Y0 I10\nX0 Y0 I-10\n",
        "X10\nG3 X12 Y2 J2\nG1 Y12\nX0\nY0\n",
    ],
)
def test_a_body_that_ends_where_it_starts_is_closed(body: str):
    text = f"G0 X0 Y0\nZ2\nG1 Z-1\n{body}G0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert (cut.body_first, cut.body_last) == (cut.first + 1, cut.last)


def test_out_and_straight_back_is_not_closed():
    assert shapes_of("G0 X0 Y0\nZ2\nG1 Z-1\nX20\nX0\nG0 Z5\n") == [Shape.OPEN]


def test_lead_in_and_out_on_arcs_are_no_part_of_the_body():
    text = "G0 X15 Y-5\nZ2\nG1 Z-3\nG2 X20 Y0 I5\nG1 X40\nY30\nX0\nY0\nX20\nG2 X25 Y-5 J-5\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert blocks_of(text, cut) == (3, 10, 5, 9)


def test_a_pocket_led_in_and_out_from_its_middle():
    """Starts and ends in the middle; the circle that closes smoothly is the contour."""
    round_trip = "X5 Y-5\nG3 X10 Y0 J5\nG3 X10 Y0 I-10\nG3 X5 Y5 I-5\nG1 X0 Y0\n"
    text = f"G0 X0 Y0\nZ2\nG1 Z-2\n{round_trip}G0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert blocks_of(text, cut) == (3, 8, 6, 6)


def test_a_helix_leads_into_a_contour():
    text = (
        "G0 X5 Y0\nZ2\nG1 Z0\nG3 X5 Y0 Z-1 I-5\nX5 Y0 Z-2 I-5\nG1 X20\nY20\nX-20\nY-20\nX20\nY0\n"
        "G0 Z5\n"
    )
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert blocks_of(text, cut) == (3, 11, 7, 11)


def test_a_bore_is_a_helix_with_its_last_level_turn():
    text = "G0 X5 Y0\nZ0\nG3 X5 Y0 Z-1 I-5\nX5 Y0 Z-2 I-5\nX5 Y0 I-5\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.HELIX


def test_ramps_along_the_way_make_a_surface():
    assert shapes_of("G0 X0 Y0\nZ2\nG1 Z0\nX5 Z-1\nX10 Z-1.5\nX15 Z-1\nG0 Z5\n") == [Shape.SURFACE]
    # over a flat top, up on one side and down on the other
    assert shapes_of("G0 X0 Y0\nZ2\nG1 X5 Z-1\nX10\nX15 Z2\nG0 Z5\n") == [Shape.SURFACE]
    # an arc in another plane, level from end to end
    assert shapes_of("G0 X0 Y0\nZ2\nG18\nG2 X10 I5\nG0 Z5\nG17\n") == [Shape.SURFACE]


def test_levels_of_one_contour_are_one_closed_cut():
    body = "X20\nY10\nX0\nY0\n"
    text = f"G0 X0 Y0\nZ2\nG1 Z-1\n{body}Z-2\n{body}Z-3\n{body}G0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    found = levels(motion_of(text), cut.first, cut.last)
    assert [(each.body - each.first, each.last - each.body) for each in found] == [(1, 4)] * 3


def test_levels_of_different_shapes_are_a_surface():
    assert shapes_of("G0 X0 Y0\nZ2\nG1 Z-1\nX20\nY10\nX0\nY0\nZ-2\nX20\nG0 Z5\n") == [Shape.SURFACE]


ZIGZAG = "X50\nY4\nX0\nY8\nX50\nY12\nX0\n"


def test_there_and_back_with_short_steps_is_a_raster():
    text = f"G0 X0 Y0\nZ2\nG1 Z-1\n{ZIGZAG}G0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.RASTER
    raster = read_raster(motion_of(text), cut.body_first, cut.body_last)
    assert raster is not None
    assert [each.way for each in raster.passes] == [1, -1, 1, -1]
    assert raster.along.tolist() == [1.0, 0.0]
    assert raster.step.tolist() == [0.0, 1.0]
    assert raster.steps.tolist() == [4.0, 4.0, 4.0]
    assert not raster.one_way


@pytest.mark.parametrize("angle", [0.0, 30.0, 45.0, 90.0, 137.0, -90.0])
def test_a_raster_at_any_angle(angle: float):
    turn = np.radians(angle)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    points = np.array([[0, 0], [50, 0], [50, 4], [0, 4], [0, 8], [50, 8]]) @ matrix.T
    lines = [f"X{x:.3f} Y{y:.3f}" for x, y in points]
    text = f"G0 {lines[0]}\nZ2\nG1 Z-1\n" + "\n".join(lines[1:]) + "\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.RASTER
    raster = read_raster(motion_of(text), cut.body_first, cut.body_last)
    assert raster is not None
    assert np.allclose(raster.along, matrix[:, 0], atol=1e-4)
    assert np.allclose(raster.step, matrix[:, 1], atol=1e-4)
    assert np.allclose(raster.steps, 4.0, atol=2e-3)


def test_half_circles_may_turn_a_raster_round():
    body = "X50\nG3 Y4 J2\nG1 X0\nG2 Y8 J2\nG1 X50\n"
    assert shapes_of(f"G0 X0 Y0\nZ2\nG1 Z-1\n{body}G0 Z5\n") == [Shape.RASTER]


def test_passes_of_a_raster_may_be_split_and_of_unequal_length():
    body = "X20\nX50\nX48 Y4\nX10\nX-3\nX-5 Y8\nX45\n"
    text = f"G0 X0 Y0\nZ2\nG1 Z-1\n{body}G0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.RASTER
    raster = read_raster(motion_of(text), cut.body_first, cut.body_last)
    assert raster is not None
    assert [each.last - each.first for each in raster.passes] == [2, 2, 1]


@pytest.mark.parametrize(
    "body",
    [
        "X50\nY20\nX0\n",  # three sides of an island
        "X50\nY4\nX0\nY0\nX50\n",  # back over the first pass
        "X50\nY4\nX60\nY8\nX0\n",  # a stair
        "X50\nX0\nY4\nX50\nX0\n",  # straight back with no step
        "X10\nY12\nX0\nY24\nX10\n",  # longer steps than passes
        "X50\nY4\nX40\nY16\nX50\n",  # one step longer
    ],
)
def test_what_looks_like_a_raster_and_is_none(body: str):
    assert Shape.RASTER not in shapes_of(f"G0 X0 Y0\nZ2\nG1 Z-1\n{body}G0 Z5\n")


def test_a_rectangle_is_closed_and_no_raster():
    assert shapes_of("G0 X0 Y0\nZ2\nG1 Z-1\nX50\nY4\nX0\nY0\nG0 Z5\n") == [Shape.CLOSED]


def test_increments_and_inches_make_no_difference():
    steps = ["X2", "Y.2", "X-2", "Y.2", "X2"]
    text = "G20 G91\nG0 Z.1\nG1 Z-.2\n" + "\n".join(steps) + "\nG0 Z.2\n"
    assert shapes_of(text) == [Shape.RASTER]


def test_a_place_that_is_not_known_is_in_no_cut():
    text = "G0 Z2\nG1 Z-1\nX20\nG28\nG1 X5\nY5\nX9 Y9 Z-2\nX1\nG0 Z9\n"
    motion = motion_of(text)
    for cut in find_cuts(motion):
        assert np.isfinite(motion.start[cut.first : cut.last]).all()


def test_every_move_at_feed_lies_in_one_cut_and_every_body_in_its_cut():
    text = (
        "G0 X0 Y0\nZ2\nG1 Z-1\nX9\nY9\nG0 Z3\nG1 Z-2\nG0 Z3\nG2 X5 Y5 I-2 J-2\nG1 X0 Z1\nG0 Z9\n"
        "G81 X1 Y1 Z-2 R1\nX3\nG80\nG1 Z0\nX3\n"
    )
    motion = motion_of(text)
    seen = np.zeros(len(motion), int)
    for cut in find_cuts(motion):
        assert cut.first <= cut.body_first < cut.body_last <= cut.last
        seen[cut.first : cut.last] += 1
    assert (seen == (motion.kind != Kind.RAPID)).all()


def test_a_bound_of_a_subprogram_breaks_a_cut():
    text = "G0 Z2\nG1 Z-1\nM98 P7\nG1 X0\nG0 Z5\nM30\nO7\nX20\nY20\nM99\n"
    motion = motion_of(text)
    for cut in find_cuts(motion):
        assert len(set(motion.called[cut.first : cut.last].tolist())) == 1


def test_the_longest_of_the_contours_that_close_smoothly_is_the_body():
    rounds = "X10\nG3 X10 Y0 I-10\nG3 X10 Y0 I-4\nG1 X0\n"
    text = f"G0 X0 Y0\nZ2\nG1 Z-2\n{rounds}G0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert blocks_of(text, cut) == (3, 7, 5, 6)


def test_a_step_aside_within_three_decimals_is_still_one_straight_run():
    assert shapes_of("G0 X0 Y0\nZ2\nG1 Z-1\nX10\nY0.0005\nX20 Y0\nG0 Z5\n") == [Shape.PASS]
    assert shapes_of("G0 X0 Y0\nZ2\nG1 Z-1\nX10\nY0.003\nX20 Y0\nG0 Z5\n") == [Shape.OPEN]


def test_a_move_of_no_length_is_no_plunge():
    text = "G0 X0 Y0\nZ2\nG1 Z-1\nX50\nX50\nY4\nX0\nY0\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert len(levels(motion_of(text), cut.body_first, cut.body_last)) == 1


@pytest.mark.parametrize(
    ("before", "behind", "shape"),
    [
        ("", "", Shape.RASTER),
        ("Y-10\nX0 Y0\n", "", Shape.RASTER),
        ("Y-15\nX-19 Y-10\nX0 Y0\n", "", Shape.OPEN),
        ("", "X-3 Y13\nX-3 Y20\n", Shape.RASTER),
        ("", "X-3 Y13\nX-3 Y20\nX-6 Y21\n", Shape.OPEN),
    ],
)
def test_two_moves_lead_to_a_raster_and_off_it(before: str, behind: str, shape: Shape):
    start = "G0 X-20 Y-20" if before else "G0 X0 Y0"
    assert shapes_of(f"{start}\nZ2\nG1 Z-1\n{before}{ZIGZAG}{behind}G0 Z5\n") == [shape]


def test_a_loop_at_one_end_alone_is_no_lead():
    text = "G0 X10 Y0\nZ2\nG1 Z-2\nG2 X10 Y0 I-4\nG3 X10 Y0 I-10\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.CLOSED
    assert blocks_of(text, cut) == (3, 5, 4, 5)


@pytest.mark.parametrize(("deeper", "shape"), [("5", Shape.SURFACE), ("0", Shape.PASS)])
def test_half_a_micrometre_of_z_along_the_way_is_a_ramp(deeper: str, shape: Shape):
    assert shapes_of(f"G0 X0 Y0\nZ2\nG1 Z-1\nX50 Z-1.000{deeper}\nG0 Z5\n") == [shape]


@pytest.mark.parametrize(("lead", "shape"), [(3, Shape.CLOSED), (25, Shape.OPEN)])
def test_leads_that_are_longer_than_the_loop_are_no_leads(lead: int, shape: Shape):
    ring = f"G1 X{lead}\nX{lead + 10} Y5\nX{lead} Y10\nX{lead} Y0\nX0 Y0.5\n"  # 32 mm and the leads
    (cut,) = cuts_of(f"G0 X0 Y0\nZ2\nG1 Z-2\n{ring}G0 Z5\n")
    assert cut.shape is shape


def wavering_square(by: float) -> str:
    z = -1.0 - by
    return f"G0 X0 Y0 Z5\nG1 Z-1\nX20\nY20 Z{z:.6f}\nX0 Z-1\nY0 Z{z:.6f}\nG0 Z5\n"


@pytest.mark.parametrize(
    ("by", "shape"),
    [(1e-5, Shape.CLOSED), (1e-4, Shape.CLOSED), (2e-4, Shape.SURFACE)],
)
def test_a_contour_runs_at_one_z_where_z_changes_by_no_more_than_the_resolution(
    by: float, shape: Shape
):
    assert shapes_of(wavering_square(by)) == [shape]


def test_small_changes_of_z_that_add_up_are_a_slope():
    steps = "".join(f"X{at * 0.1:.1f} Z{-1.0 - at * 5e-5:.6f}\n" for at in range(1, 201))
    text = f"G0 X0 Y0 Z5\nG1 Z-1\n{steps}Y20\nX0\nY0 Z-1\nG0 Z5\n"
    assert shapes_of(text) == [Shape.SURFACE]
    # three of them do not add up to the resolution
    few = "G0 X0 Y0 Z5\nG1 Z-1\nX10 Z-1.00003\nX20 Z-1.00006\nY20 Z-1.00009\nX0\nY0 Z-1\nG0 Z5\n"
    assert shapes_of(few) == [Shape.CLOSED]


def test_a_step_down_below_the_resolution_begins_no_level():
    text = "G0 X0 Y0 Z5\nG1 Z-1\nX20\nY5\nX0\nZ-1.00005\nY10\nX20\nG0 Z5\n"
    (cut,) = cuts_of(text)
    assert cut.shape is Shape.RASTER
    assert len(levels(motion_of(text), cut.body_first, cut.body_last)) == 1
