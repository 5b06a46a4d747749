"""Climb or conventional, by the side of the metal, the spindle and the way round."""

import math

import numpy as np
import pytest

from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.metal_beside import Beside, metal_beside
from gpre.cuts.milling_side import MillingSide, milling_sides, pass_climbs, side_of
from gpre.cuts.passes import read_raster
from gpre.cuts.walls import Hand, Wall, _wall
from gpre.mill.job import Box, Job, Tool
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read

HEAD = "G21 G17 G90 G94 F300\nT1 M6\n"
BLOCK = Box((0.0, 0.0, -10.0), (60.0, 60.0, 0.0))


def motion(*blocks, spindle="S1500 M3"):
    text = HEAD + "\n".join((spindle, *blocks)) + "\n"
    return trace(read(text.encode()), Controller(tool_change_moves="none"))


def sides(made, job):
    return milling_sides(made, find_cuts(made), job)


def named(made, job):
    """The verdicts by the first line of each stretch, counted from the first block given."""
    return {int(made.block[each.first]) - 2: each.side for each in sides(made, job)}


def job(diameter=10.0, stock=BLOCK, shape="flat"):
    return Job(tools={1: Tool(diameter, shape, 4)}, stock=stock)


def tooth_runs_against_the_travel(travel, metal, spindle_way):
    """Climb by its meaning: the tooth in the metal moves against the travel of the cutter.

    The velocity of a point of a turning body is omega x r; clockwise seen from above (M3,
    NISTIR 6556, 3.6.2) omega points down.
    """
    omega = np.array([0.0, 0.0, -float(spindle_way)])
    tooth = np.cross(omega, [*metal, 0.0])
    return float(tooth[:2] @ np.array(travel)) < 0.0


RASTERS = [
    (along, step)
    for along, step in (((1, 0), (0, 1)), ((1, 0), (0, -1)), ((0, 1), (1, 0)), ((0, -1), (1, 0)))
]


@pytest.mark.parametrize(("along", "step"), RASTERS)
@pytest.mark.parametrize(("words", "way"), [("S1500 M3", 1), ("S1500 M4", -1)])
def test_a_pass_climbs_where_the_tooth_runs_against_the_travel(along, step, words, way):
    points = [(0, 0), (40, 0), (40, 5), (0, 5), (0, 10), (40, 10)]
    blocks = [f"G1 X{a * along[0] + s * step[0]} Y{a * along[1] + s * step[1]}" for a, s in points]
    made = motion("G0 Z-1", *blocks, spindle=words)
    raster = read_raster(made, 2, len(made))
    assert raster is not None
    assert len(raster.passes) == 3
    for direction in (1, -1):
        travel = (direction * along[0], direction * along[1])
        expected = tooth_runs_against_the_travel(travel, step, way)
        assert pass_climbs(made, raster, direction) is expected


def test_a_standing_spindle_climbs_nowhere():
    made = motion("G1 X40", "G1 Y5", "G1 X0", "G1 Y10", "G1 X40", spindle="M5")
    raster = read_raster(made, 0, len(made))
    assert raster is not None
    assert not pass_climbs(made, raster, 1)
    (found,) = {each.reason for each in sides(made, job())}
    assert found == "the spindle stands"


def test_the_passes_of_a_raster_take_turns_without_stock():
    made = motion("G0 X0 Y0 Z-1", "G1 X40", "G1 Y5", "G1 X0", "G1 Y10", "G1 X40")
    expected = {2: MillingSide.CONVENTIONAL, 4: MillingSide.CLIMB, 6: MillingSide.CONVENTIONAL}
    assert named(made, Job()) == expected
    # a tool no wider than the step leaves metal on both sides
    assert set(named(made, job(5.0, None)).values()) == {MillingSide.BOTH}


# clockwise round the block's outside, the edge of a 10 mm cutter 0.4 mm within the block
TRIM = (
    "G0 X-4.6 Y80",
    "G0 Z-5",
    "G1 Y64.6",
    "G1 X64.6",
    "G1 Y-4.6",
    "G1 X-4.6",
    "G1 Y64.6",
)


@pytest.mark.parametrize(
    ("words", "side"), [("M3", MillingSide.CLIMB), ("M4", MillingSide.CONVENTIONAL)]
)
def test_clockwise_round_the_outside_climbs_with_a_clockwise_spindle(words, side):
    """Machining textbooks say so of an outside contour (from memory)."""
    made = motion(*TRIM, spindle=f"S1500 {words}")
    assert set(named(made, job()).values()) - {MillingSide.AIR} == {side}


def test_a_wall_in_a_pocket_anticlockwise_climbs():
    # as textbooks have it (from memory); by omega x r the wall lies on the right of the travel
    # a pocket of 40 x 40 cleared to 0.5 mm, then its wall in one round, the wall on the right
    clear = [f"G1 X{x} Y{y}" for y in np.arange(15.5, 45.0, 4.0) for x in (15.5, 44.5, 15.5)]
    wall = ("G1 X15 Y15", "G1 X45", "G1 Y45", "G1 X15", "G1 Y15")
    rest = ("G1 X15.5 Y44.5", "G1 X44.5")
    made = motion("G0 X15.5 Y15.5", "G1 Z-5", *clear, *rest, "G0 Z5", "G0 X15 Y15", "G1 Z-5", *wall)
    last = sides(made, job())[-1]
    assert last.side is MillingSide.CLIMB
    back = ("G1 X15 Y15", "G1 Y45", "G1 X45", "G1 Y15", "G1 X15")
    made = motion("G0 X15.5 Y15.5", "G1 Z-5", *clear, *rest, "G0 Z5", "G0 X15 Y15", "G1 Z-5", *back)
    assert sides(made, job())[-1].side is MillingSide.CONVENTIONAL


def test_a_slot_has_metal_on_both_sides_and_a_second_pass_none():
    made = motion("G0 X-10 Y30", "G0 Z-2", "G1 X70", "G0 Z5", "G0 X-10", "G0 Z-2", "G1 X70")
    assert named(made, job()) == {3: MillingSide.BOTH, 7: MillingSide.AIR}


def test_a_second_pass_deeper_finds_metal_again_and_one_higher_none():
    slot = ("G0 X-10 Y30", "G0 Z-2", "G1 X70", "G0 Z5", "G0 X-10")
    assert named(motion(*slot, "G0 Z-3", "G1 X70"), job())[7] is MillingSide.BOTH
    assert named(motion(*slot, "G0 Z-1", "G1 X70"), job())[7] is MillingSide.AIR


def test_what_lies_below_the_stock_is_no_metal():
    through = ("G0 X-10 Y30", "G0 Z-10.2", "G1 X70", "G0 Z5", "G0 X-10", "G0 Z-10.6", "G1 X70")
    assert named(motion(*through), job()) == {3: MillingSide.BOTH, 7: MillingSide.AIR}


@pytest.mark.parametrize("edge", [-0.6, -0.2, 0.0, 0.3, 0.8, 0.95])
def test_the_metal_beside_is_that_of_the_closed_form(edge):
    """Metal from y = edge to 1 radius on the right: integrals of y and of sqrt(1 - y²)."""
    # travel +X with Y- on the right: the block's top edge lies `edge` radii right of the middle
    made = motion(f"G0 X5 Y{60 + 5 * edge}", "G0 Z-2", "G1 X55")
    found = metal_beside(made, job(), BLOCK, [(2, 3)])
    right = (1.0 - max(edge, 0.0) ** 2) / 2.0
    left = edge**2 / 2.0 if edge < 0.0 else 0.0
    ahead = math.acos(edge) / 2.0 - edge * math.sqrt(1.0 - edge**2) / 2.0
    # whole cells of the field count, on either side of an edge; ahead lies most of its rim
    assert np.allclose(found.right, right, atol=0.01)
    assert np.allclose(found.left, left, atol=0.04)
    assert np.allclose(found.ahead, ahead, atol=0.11)


@pytest.mark.parametrize(
    ("edge", "side"), [(0.9, MillingSide.CLIMB), (0.0, MillingSide.CLIMB), (-0.9, MillingSide.BOTH)]
)
def test_the_mean_force_along_the_travel_decides(edge, side):
    """The force of a turn summed over the engaged angle, by plain numerical integration."""
    angle = np.linspace(0.0, math.acos(edge), 20_001)  # from the far right; chip sin(angle)
    force = np.sin(angle) * (np.cos(angle) - 0.3 * np.sin(angle))
    pulls = float(force.sum()) > 0.0
    assert pulls is (side is MillingSide.CLIMB)
    made = motion(f"G0 X5 Y{60 + 5 * edge}", "G0 Z-2", "G1 X55")
    assert named(made, job()) == {3: side}


@pytest.mark.parametrize(
    ("code", "side"), [("G41", MillingSide.CLIMB), ("G42", MillingSide.CONVENTIONAL)]
)
def test_cutter_compensation_says_the_side_itself(code, side):
    """G41 keeps the tool left of the path (NISTIR 6556, B.3), so the part is on its right."""
    made = motion("G0 X-20 Y-20", f"{code} D1 G1 X0 Y-20", "G1 Y40", "G1 X40", "G40 G1 X60 Y60")
    assert sides(made, Job())[0].side is side
    # where the cutter itself ran is not known, so neither is what it left
    assert sides(made, job())[-1].reason == "what tool 1 cut before is not known"


CIRCLE = ("G0 X20 Y0", "G1 Z-1", "{} X20 Y0 I-20 J0", "G0 Z5")


@pytest.mark.parametrize(
    ("code", "words", "outside"),
    [("G2", "M3", "climb"), ("G3", "M3", "conventional"), ("G2", "M4", "conventional")],
)
def test_without_stock_both_readings_of_a_closed_contour_are_told(code, words, outside):
    made = motion(*(block.format(code) for block in CIRCLE), spindle=f"S1500 {words}")
    (found,) = sides(made, Job())
    assert found.side is MillingSide.UNKNOWN
    assert found.reason.startswith(f"{outside} round the outside of a part")
    assert found.needs == ("tool 1", "stock")


def test_a_single_pass_without_stock_is_told_by_the_side_of_the_metal():
    made = motion("G0 X0 Y0", "G1 X40")
    (found,) = sides(made, Job())
    assert (found.side, found.reason) == (
        MillingSide.UNKNOWN,
        "climb where the metal is on the right of the travel",
    )


def test_what_cannot_be_told_is_not_told():
    slot = ("G0 X-10 Y30", "G0 Z-2", "G1 X70")
    (ball,) = sides(motion(*slot), job(shape="ball"))
    assert (ball.side, ball.reason) == (
        MillingSide.UNKNOWN,
        "tool 1 is no end mill with a straight side",
    )
    two_zeros = motion(*slot, "G0 Z5", "G92 X0", "G0 X-10", "G0 Z-2", "G1 X70")
    assert {each.side for each in sides(two_zeros, job())} == {MillingSide.UNKNOWN}
    other = motion(*slot, "G0 Z5", "T2 M6", "M3", "G0 X-10", "G0 Z-2", "G1 X70")
    known = Job(tools={2: Tool(10.0, "flat", 4)}, stock=BLOCK)
    before, after = sides(other, known)
    assert before.needs == ("tool 1",)
    assert after.reason == "what tool 1 cut before is not known"


def test_holes_have_no_side_and_a_drill_before_hides_nothing():
    made = motion("G81 X30 Y30 Z-5 R2", "G80", "T2 M6", "M3", "G0 X-10 Y30", "G0 Z-2", "G1 X70")
    tools = {1: Tool(5.0, "drill"), 2: Tool(10.0, "flat", 4)}
    (found,) = sides(made, Job(tools=tools, stock=BLOCK))
    assert found.side is MillingSide.BOTH


def test_leads_are_told_where_the_metal_is_known_and_else_left_out():
    # an arc in from the left of a wall along Y, then round a square
    blocks = ("G0 X-20 Y20", "G0 Z-2", "G3 X-4.6 Y35.4 R15.4", *TRIM[2:], "G0 Z5")
    made = motion(*blocks)
    assert len(sides(made, job())) > len(sides(made, Job()))


def test_no_cuts_have_no_sides():
    assert sides(motion("G0 X5"), job()) == ()
    assert sides(trace(read(b"")), job()) == ()


def test_a_ring_with_an_opening_is_run_as_its_outer_arc_says():
    """Its corners alone run the other way round: the area between arc and chord decides."""
    ring = ("G0 X9.8 Y2", "G1 Z-1", "{} X9.8 Y-2 I-9.8 J-2", "G1 X6.5", "Y-6.5", "X-6.5", "Y6.5",
            "X6.5", "Y2", "X9.8", "G0 Z5")  # fmt: skip
    made = motion(*(block.format("G3") for block in ring), spindle="S1500 M3")
    (found,) = sides(made, Job())
    assert found.reason.startswith("conventional round the outside of a part")


def test_nine_places_in_ten_that_climb_are_a_climb():
    for climbing, side in ((9, MillingSide.CLIMB), (8, MillingSide.PARTLY)):
        right = np.array([3.0] * climbing + [0.0] * (10 - climbing))
        beside = Beside(np.zeros(10, np.intp), right, 3.0 - right, np.zeros(10))
        assert side_of(beside, 1) is side


def test_a_square_with_hollow_corners_is_run_as_its_area_says():
    """Clockwise, with quarter circles about its corners that run the other way round."""
    made = motion("G0 X-2 Y20", "G1 Z-1", "X2", "G3 X20 Y2 I18", "G1 Y-2", "G3 X2 Y-20 J-18",
                  "G1 X-2", "G3 X-20 Y-2 I-18", "G1 Y2", "G3 X-2 Y20 J18", "G0 Z5",
                  spindle="S1500 M3")  # fmt: skip
    (found,) = sides(made, Job())
    assert found.reason.startswith("climb round the outside of a part")


@pytest.mark.parametrize(
    ("left", "right", "wall"),
    [
        ([1, 1, 1], [0, 0, 0], Wall(Hand.LEFT, everywhere=True)),
        ([0, 0, 0], [1, 1, 1], Wall(Hand.RIGHT, everywhere=True)),
        ([1, 1, 1], [1, 1, 1], Wall(Hand.BOTH, everywhere=True)),
        ([1, 1, 1], [0, 1, 0], Wall(Hand.LEFT, everywhere=True)),
        ([0, 1, 0], [0, 0, 0], Wall(Hand.LEFT)),
        ([0, 0, 0], [0, 1, 0], Wall(Hand.RIGHT)),
        ([0, 1, 0], [0, 0, 1], Wall(Hand.UNKNOWN)),
        ([0, 0, 0], [0, 0, 0], Wall(Hand.NONE)),
        ([], [], Wall(Hand.UNKNOWN)),
    ],
)
def test_the_wall_is_where_there_is_metal_all_along(left, right, wall):
    stretch = np.zeros(len(left), np.intp)
    places = Beside(stretch, np.array(right, float), np.array(left, float), np.zeros(len(left)))
    assert _wall([places]) == wall
