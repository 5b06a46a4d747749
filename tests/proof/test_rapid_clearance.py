"""New rapids keep clear of walls and floors: pairs made by hand, their distances worked out here.

Lengths mm. The clearance is the profile's default, 0.5 (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Limits, Mill
from gpre.proof.metal.obligations import rapid_clearance
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText
from gpre.stock.cutter import Cutter

NAME = "rapid clearance"
STOCK = Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0))
FLAT = Job({1: Tool(6.0)}, STOCK)
HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\n"
TAIL = "G0 Z5\nM5\nM30\n"


def text_of(body: str) -> SourceText:
    return SourceText.of((HEAD + body + TAIL).encode(), "part")


def failed(before: str, after: str, job: Job = FLAT, mill: Mill | None = None) -> set[str]:
    found = prove(text_of(before), text_of(after), mill or KNOWN, job)
    return {each.name for each in found.failed}


def clearance(before: str, after: str, job: Job = FLAT, mill: Mill | None = None) -> Obligation:
    """Look at the metal alone: what the paths show is asked elsewhere."""
    mill = mill or KNOWN
    pair = Pair(Side.of(text_of(before), mill), Side.of(text_of(after), mill), mill, job)
    return rapid_clearance(pair)


# --- back through a slot as wide as the tool ---------------------------------------------------

SLOT = "G0 X-10 Y20\nG0 Z5\nG0 Z-2\nG1 X70 F300\n{back}G0 Z-4\nG1 X70\n"
SLOT_BACK = SLOT.format(back="G0 Z5\nG0 X-10\n")
# the other side: along Y, from above, in a stock that is longer that way
UP = SLOT.replace("X-10 Y20", "X20 Y-10").replace("X70", "Y50")
# both levels of a pocket of one slot, plunged at feed
CLOSED = "G0 X10 Y20\nG0 Z5\nG0 Z1\nG1 Z-2 F80\nG1 X50 F300\n{back}G1 Z-4 F80\nG1 X50 F300\n"


@pytest.mark.parametrize(
    ("program", "lifted", "straight"),
    [
        (SLOT, "G0 Z5\nG0 X-10\n", "G0 X-10\n"),
        (UP, "G0 Z5\nG0 Y-10\n", "G0 Y-10\n"),
        (CLOSED, "G0 Z5\nG0 X10\nG1 Z-2 F80\n", "G0 X10\n"),
        (CLOSED, "G0 Z5\nG0 X10\nG1 Z-2 F80\n", "G0 Z-1\nG0 X10\nG1 Z-2 F80\n"),
    ],
)
@pytest.mark.parametrize("tool", [Tool(6.0), Tool(6.0, "ball"), Tool(6.0, "bull")])
@pytest.mark.parametrize("stock", [STOCK, None])
def test_back_through_a_slot_at_depth(program, lifted, straight, tool, stock):
    job = Job({1: tool}, stock)
    before, after = program.format(back=lifted), program.format(back=straight)
    assert NAME in failed(before, after, job)
    found = clearance(before, after, job)
    # walls and floor touch it, but for a cell; a ball that is lifted by 1 in its groove 2 deep has
    # its middle 2 over the edges, which are as far aside as the groove is wide: sqrt(9 - 1)
    ball = tool.shape == "ball" and stock is not None and "G0 Z-1" in straight
    wanted = hypot(2.0, sqrt(8.0)) - 3.0 if ball else 0.0
    assert found.value == pytest.approx(wanted, abs=0.09)
    assert found.limit == 0.5
    assert text_of(after).line_text(found.after + 1).startswith("G0 ")


def test_a_slot_of_a_pointed_tool():
    job = Job({1: Tool(10.0, "vee")}, STOCK)
    assert NAME in failed(SLOT_BACK, SLOT.format(back="G0 X-10\n"), job)
    # lifted by h its sides are h cos 45 from those of its groove: 0.64 too little, 0.71 enough
    for lift, holds in ((0.64, False), (0.75, True)):
        raised = SLOT.format(back=f"G0 Z{lift - 2:.2f}\nG0 X-10\n").replace("Z-4", "Z-2")
        before = SLOT_BACK.replace("Z-4", "Z-2")
        assert clearance(before, raised, job).holds == holds


def test_over_the_slot_it_may_go_back():
    for height, holds in (("0.5", True), ("0.7", True), ("0.45", False), ("0.3", False)):
        over = SLOT.format(back=f"G0 Z{height}\nG0 X-10\n")
        assert (NAME not in failed(SLOT_BACK, over)) == holds


def test_a_slot_wider_than_the_tool_may_be_gone_back_through():
    # cut at Y19 and at Y21.2, so 2.2 wider than the tool; the middle leaves 1.1 on each side
    wide = "G0 X-10 Y20\nG0 Z5\nG0 Z-2\nG1 X70 F300\nG1 Y19\nG1 X-10\nG1 Y21.2\nG1 X70\n"
    wide += "G1 Y{y}\n{back}G0 Z-4\nG1 X70\n"
    lifted = wide.format(y=20, back="G0 Z5\nG0 X-10\n")
    assert failed(lifted, wide.format(y=20, back="G0 Z-1.5\nG0 X-10\n")) == set()
    on_the_floor = wide.format(y=20, back="G0 X-10\n")
    assert NAME in failed(lifted, on_the_floor)
    assert "a floor" in clearance(lifted, on_the_floor).figure


# --- along a wall ------------------------------------------------------------------------------

# a shoulder: the wall stands at Y30, since the finishing pass runs at Y33 with a radius of 3
SHOULDER = (
    "G0 X-10 Y37\nG0 Z5\nG0 Z-2\nG1 X70 F300\nG1 Y{rough}\nG1 X-10\nG1 Y33\nG1 X70\nG1 Y{rough}\n"
    "{back}G0 Z-4\nG1 X70\n"
)
LIFTED = "G0 Z5\nG0 X-10\n"


@pytest.mark.parametrize(
    ("rough", "holds"), [("33", False), ("33.2", False), ("33.3", False), ("33.6", True)]
)
def test_along_a_straight_wall(rough, holds):
    before = SHOULDER.format(rough=rough, back=LIFTED)
    after = SHOULDER.format(rough=rough, back="G0 Z-1.5\nG0 X-10\n")
    if rough == "33":
        before, after = (
            each.replace("G1 Y33\nG1 X70\nG1 Y33\n", "G1 X70\n") for each in (before, after)
        )
    assert (NAME not in failed(before, after)) == holds
    if not holds:
        assert clearance(before, after).value == pytest.approx(float(rough) - 33.0, abs=0.09)
    else:
        assert failed(before, after) == set()


def test_along_a_wall_on_the_other_side():
    # the same with the shoulder at low Y: its wall stands at Y10
    for rough, holds in (("7", False), ("6.7", False), ("6.4", True)):
        body = SHOULDER.replace("Y37", "Y3").replace("Y33", "Y7")
        before = body.format(rough=rough, back=LIFTED)
        after = body.format(rough=rough, back="G0 Z-1.5\nG0 X-10\n")
        assert clearance(before, after).holds == holds


# a round boss of radius 10 about X30 Y20, cut at a radius of 13; the way beside it runs at Y
BOSS = (
    "G0 X10 Y{y}\nG0 Z5\nG0 Z-2\nG1 X30 F300\nG1 Y7\nG2 X30 Y7 I0 J13\nG1 Y{y}\nG1 X50\n"
    "{back}G0 Z-2\nG1 X50\n"
)
BOSS_STOCK = Box((20.0, 5.0, -10.0), (40.0, 35.0, 0.0))


@pytest.mark.parametrize("tool", [Tool(6.0), Tool(6.0, "bull", corner_radius=0.5)])
@pytest.mark.parametrize(("y", "holds"), [(7.0, False), (6.7, False), (6.5, True), (6.4, True)])
def test_along_a_round_wall(tool, y, holds):
    job = Job({1: tool}, BOSS_STOCK)
    before = BOSS.format(y=y, back="G0 Z5\nG0 X10\n")
    after = BOSS.format(y=y, back="G0 Z-1.5\nG0 X10\n")
    assert (NAME not in failed(before, after, job)) == holds
    if not holds:
        # between Z-1.5, to which the tool comes down, and Z0 the wall is upright
        assert clearance(before, after, job).value == pytest.approx(7.0 - y, abs=0.09)


def test_before_the_wall_was_finished_there_is_more_metal():
    # roughed at Y33.6 the wall stands at Y30.6; at Y34.3 the way back is 0.7 from it, and 1.3
    # from the finished one; so before the finishing pass the clearance of 1 is not kept
    mill = replace(KNOWN, limits=Limits(rapid_clearance=1.0))
    body = "G0 X-10 Y37\nG0 Z5\nG0 Z-2\nG1 X70 F300\nG1 Y34.3\nG1 X-10\nG1 Y33.6\nG1 X70\n"
    body += "{early}G1 Y33\nG1 X-10\n{late}"
    back = "G1 Y34.3\nG0 Z-1\nG0 X-10\nG0 X70\nG1 Z-2\n"
    before = body.format(early="", late="")
    early = body.format(early=back, late="")
    late = body.format(early="", late="G1 Y34.3\nG0 Z-1\nG0 X70\n")
    assert clearance(before, early, mill=mill).value == pytest.approx(0.7, abs=0.17)
    assert clearance(before, late, mill=mill).holds


def test_a_rapid_of_the_original_beside_a_wall_that_is_widened_later_now():
    # the same rapid, in the same order; but the cut that made room for it comes after it
    rough = "G0 X-10 Y35\nG0 Z5\nG0 Z-2\nG1 X70 F300\n"
    finish = "G0 Z5\nG0 X-10 Y33\nG0 Z-2\nG1 X70\n"
    back = "G0 Z5\nG0 X70 Y35\nG0 Z-1.5\nG0 X-10\nG0 Z5\n"
    assert clearance(
        rough + finish + back, rough + finish + back.replace("5\nG0 X70", "6\nG0 X70")
    ).holds
    found = clearance(rough + finish + back, rough + back + finish)
    assert not found.holds
    assert found.value == pytest.approx(0.0, abs=0.09)  # the wall stands at Y32 then, the tool too


# --- over a floor ------------------------------------------------------------------------------

# faced in one pass of 12: the stock is 9 wide, no wall is left
FACE = "G0 X-10 Y4.5\nG0 Z5\nG0 Z-0.5\nG1 X70 F300\n{back}G0 Z-1\nG1 X70\n"
FACE_STOCK = Box((0.0, 0.0, -10.0), (60.0, 9.0, 0.0))


@pytest.mark.parametrize(
    "tool", [Tool(12.0), Tool(12.0, "ball"), Tool(12.0, "bull"), Tool(24.0, "vee")]
)
@pytest.mark.parametrize(
    ("height", "holds"), [(-0.5, False), (-0.3, False), (-0.2, False), (0.6, True), (5.0, True)]
)
def test_over_a_floor(tool, height, holds):
    job = Job({1: tool}, FACE_STOCK)
    before = FACE.format(back="G0 Z5\nG0 X-10\n")
    lift = "" if height == -0.5 else f"G0 Z{height}\n"
    after = FACE.format(back=f"{lift}G0 X-10\n")
    assert (NAME not in failed(before, after, job)) == holds


def test_over_a_flat_floor_the_clearance_itself_is_enough():
    job = Job({1: Tool(12.0)}, FACE_STOCK)
    before = FACE.format(back="G0 Z5\nG0 X-10\n")
    assert failed(before, FACE.format(back="G0 Z0\nG0 X-10\n"), job) == set()
    found = clearance(before, FACE.format(back="G0 Z-0.2\nG0 X-10\n"), job)
    assert found.value == pytest.approx(0.3, abs=0.003)
    assert "a floor" in found.figure


def test_over_the_floor_of_a_pocket():
    # a pocket of two rounds: 5 and 8 about X30 Y20, so that the middle is 3 and more from its wall
    body = (
        "G0 X25 Y20\nG0 Z5\nG0 Z1\nG1 Z-2 F80\nG2 X25 Y20 I5 J0 F300\nG1 X22\nG2 X22 Y20 I8 J0\n"
        "G1 X25\nG1 X35\n{back}G1 Z-3 F80\n"
    )
    before = body.format(back="G0 Z5\nG0 X25\nG1 Z-2 F80\n")
    for height, holds in (("-2", False), ("-1.8", False), ("-1.5", True), ("-1.2", True)):
        after = body.format(back=f"G0 Z{height}\nG0 X25\nG1 Z-2 F80\n")
        assert clearance(before, after).holds == holds


# --- straight down -----------------------------------------------------------------------------

PLUNGE = SHOULDER.format(rough="33.6", back="").replace("G0 Z-4\nG1 X70\n", "")
AGAIN = "G0 Z5\nG0 X{x} Y{y}\n{down}G1 Z-2 F100\nG1 X70 F300\n"
AT_FEED = "G0 Z1\n"


@pytest.mark.parametrize(
    ("x", "y", "end", "holds"),
    [
        (30, 33, -1.5, False),  # at the wall
        (30, 33.3, -1.5, False),
        (30, 33.6, -1.5, True),
        (30, 33.6, -1.7, False),  # 0.3 over the floor
        (30, 33, 0.5, True),  # no metal stands higher than Z0
        (30, 33, 0.3, False),
        (-10, 33, -2, True),  # beside the stock
        (-3.3, 36, -2, False),  # 0.3 beside it: its side stands at X0
        (-3.6, 36, -2, True),
    ],
)
def test_a_rapid_down(x, y, end, holds):
    before = PLUNGE + AGAIN.format(x=x, y=y, down=AT_FEED)
    down = f"G0 Z{end}\n"
    after = PLUNGE + AGAIN.format(x=x, y=y, down=down)
    if x in {-3.3, -3.6}:  # the side of the stock is cut by neither
        before, after = (each.replace("X-10", "X20") for each in (before, after))
    assert clearance(before, after).holds == holds


@pytest.mark.parametrize("tool", [Tool(6.0), Tool(6.0, "ball"), Tool(6.0, "drill")])
def test_a_rapid_down_into_a_hole(tool):
    # drilled to Z-5 and again to Z-8: the rapid back to the bottom touches the hole's wall
    job = Job({1: tool}, STOCK)
    hole = "G0 X30 Y20\nG0 Z5\nG0 Z1\nG1 Z-5 F80\nG0 Z5\n{down}G1 Z-8 F80\n"
    before = hole.format(down="G0 Z1\n")
    assert NAME in failed(before, hole.format(down="G0 Z-4\n"), job)
    assert failed(before, hole.format(down="G0 Z0.6\n"), job) == set()


def test_down_at_feed_beside_a_wall_is_no_matter():
    before = PLUNGE + AGAIN.format(x=30, y=33, down=AT_FEED)
    after = PLUNGE + AGAIN.format(x=30, y=33, down="G0 Z0.5\n")
    assert failed(before, after) == set()


# --- what may be -------------------------------------------------------------------------------


def test_straight_up_out_of_a_slot():
    whole = "G0 X-10 Y20\nG0 Z5\nG0 Z-2\nG1 X70 F300\n"
    before = whole.replace("G1 X70", "G1 X30 F300\nG1 X70")
    again = "G1 X30 F300\nG0 Z5\n{down}G1 Z-2 F80\nG1 X70"
    up = whole.replace("G1 X70", again.format(down="G0 Z0.6\n"))
    assert clearance(before, up).holds
    assert not clearance(before, whole.replace("G1 X70", again.format(down="G0 Z-1\n"))).holds


def test_where_the_original_runs_at_rapid():
    before = PLUNGE + AGAIN.format(x=30, y=33, down="G0 Z-1.5\n")
    # from higher up; in two steps; and twice
    higher = before.replace("G0 Z5\nG0 X30 Y33\n", "G0 Z6.2\nG0 X30 Y33\n")
    steps = before.replace("G0 Z-1.5\n", "G0 Z1\nG0 Z-1.5\n")
    twice = before.replace("G0 Z-1.5\n", "G0 Z-1.5\nG0 Z2\nG0 Z-1.5\n")
    for after in (higher, steps, twice):
        assert failed(before, after) == set()
    assert not clearance(before, before.replace("Z-1.5", "Z-1.6")).holds  # lower
    aside = before.replace("X30 Y33", "X31 Y33")
    assert not clearance(before, aside).holds  # elsewhere along the wall


def test_the_original_back_through_the_slot_excuses_only_that_stretch():
    before = SLOT.format(back="G0 X20\nG1 Z-2.5\nG0 Z5\nG0 X-10\n")
    same = before.replace("G0 X20\n", "G0 X45\nG0 X20\n")  # the same way in two
    assert clearance(before, same).holds
    farther = before.replace("G0 X20\n", "G0 X15\nG1 X20\n")
    assert not clearance(before, farther).holds


def test_the_original_with_another_tool_is_no_excuse():
    job = Job({1: Tool(6.0), 2: Tool(4.0)}, STOCK)
    hole = "G0 X30 Y20\nG0 Z5\nG0 Z1\nG1 Z-5 F80\nG0 Z5\n{one}T2 M6\nG0 X30 Y20\nG0 Z5\n{two}"
    before = hole.format(one="G0 Z-4\nG0 Z5\n", two="G0 Z-3\nG0 Z5\n")
    assert clearance(before, hole.format(one="G0 Z-4\nG0 Z5\n", two="G0 Z-3\nG0 Z6\n"), job).holds
    smaller = hole.format(one="", two="G0 Z-4\nG0 Z5\n")
    before = hole.format(one="G0 Z-4\nG0 Z5\n", two="")
    assert clearance(before, smaller, job).holds  # a tool of 4 in a hole of 6 has 1 all round
    job = Job({1: Tool(6.0), 2: Tool(5.4)}, STOCK)
    assert clearance(before, smaller, job).value == pytest.approx(0.3, abs=0.09)


def test_without_a_stock_the_travel_of_the_original_shows_what_is_clear():
    job = replace(FLAT, stock=None)
    before = "G0 X-10 Y20\nG0 Z2\nG0 X0\nG1 Z-2 F80\nG1 X50 F300\nG0 Z2\nG0 X0\n"
    level = before.replace("G0 X0\nG1", "G0 X0 Y21\nG0 Y20\nG1")
    assert clearance(before, level, job).holds  # no lower than it travels itself
    lower = before.replace("G0 X0\nG1", "G0 X0\nG0 Z1\nG1")
    found = clearance(before, lower, job)
    assert not found.holds
    assert "nothing is cut yet" in found.figure


def test_the_clearance_is_the_profiles():
    before = SHOULDER.format(rough="33.6", back=LIFTED)
    after = SHOULDER.format(rough="33.6", back="G0 Z-1.4\nG0 X-10\n")
    for kept, holds in ((0.1, True), (0.5, True), (0.59, True), (0.7, False), (2.0, False)):
        mill = replace(KNOWN, limits=Limits(rapid_clearance=kept))
        found = clearance(before, after, mill=mill)
        assert (found.holds, found.limit) == (holds, kept)


def test_a_tool_that_is_not_named():
    # tool 2 never cuts, so the metal can be followed; but how wide it is nobody knows
    job = FLAT
    body = SLOT_BACK + "G0 Z5\nT2 M6\nG0 X20 Y20\nG0 Z{z}\n"
    found = clearance(body.format(z=3), body.format(z=-1), job)
    assert not found.holds
    assert "tool 2 is not named" in found.figure
    assert clearance(body.format(z=3), body.format(z=2), job).holds


@pytest.mark.parametrize("mill", [Mill(), KNOWN])
@pytest.mark.parametrize("setup", ["", "G55\n", "G43 H1\n", "G92 X0 Y0\n", "G55\nG43 H7\n"])
@pytest.mark.parametrize(
    ("body", "lifted", "straight"),
    [
        (SLOT, LIFTED, "G0 X-10\n"),
        (SHOULDER.replace("{rough}", "33"), LIFTED, "G0 Z-1.5\nG0 X-10\n"),
        (FACE, LIFTED, "G0 Z-0.3\nG0 X-10\n"),
        (PLUNGE + AGAIN.format(x=30, y=33, down="{back}"), AT_FEED, "G0 Z-1.5\n"),
    ],
)
def test_what_else_is_not_known_is_no_excuse(mill, setup, body, lifted, straight):
    before, after = (setup + body.format(back=back) for back in (lifted, straight))
    assert failed(before, before.replace("G0 X-10\n", "G0 X0\nG0 X-10\n"), FLAT, mill) == set()
    assert NAME in failed(before, after, FLAT, mill)


# --- how exact it is ---------------------------------------------------------------------------

AT = st.floats(-0.5, 0.5).map(lambda value: round(value, 3))


@given(
    st.sampled_from([1.0, 3.0, 6.0, 16.0]),
    st.sampled_from([0.2, 0.3, 0.5, 0.6]),
    AT,
    st.sampled_from([0.0, 30.0, 45.0, 77.0, 90.0]),
)
def test_a_wall_counts_by_its_true_distance(diameter, gap, off, turned):
    # passes beside each other leave a wall along the last; the way back runs `gap` from it,
    # whatever the cells of the whole stock are: with a tool of 16 they are 1 mm
    way = np.array([cos(radians(turned)), sin(radians(turned))])
    aside = np.array([-way[1], way[0]])
    middle = np.array([30.0 + off, 20.0 - off])
    ways = [(-40, 1.6), (40, 1.6), (40, 0.8), (-40, 0.8), (-40, 0.0), (40, 0.0)]
    passes = [middle + way * along + aside * side * diameter for along, side in ways]
    back = [middle + way * along + aside * gap for along in (40, -40)]

    def to(code: str, point) -> str:
        return f"{code} X{point[0]:.6f} Y{point[1]:.6f}\n"

    cut = to("G0", passes[0]) + "G0 Z5\nG1 Z-2 F300\n" + "".join(to("G1", p) for p in passes[1:])
    before = cut + to("G1", back[0]) + "G0 Z5\n"
    after = cut + to("G1", back[0]) + "G0 Z-1\n" + to("G0", back[1])
    found = clearance(before, after, Job({1: Tool(diameter)}, STOCK))
    assert found.holds == (gap >= 0.5)
    if not found.holds:
        assert gap - 0.001 <= found.value <= gap + 0.09


@pytest.mark.parametrize("by", [0.05, 0.5, 2.0])
@pytest.mark.parametrize(
    "tool",
    [
        Tool(6.0), Tool(6.0, "ball"), Tool(6.0, "bull", corner_radius=1.0), Tool(6.0, "vee"),
        Tool(6.0, "drill"), Tool(6.0, "vee", point_angle=radians(30.0)),
    ],
)  # fmt: skip
def test_what_is_kept_clear_is_all_that_lies_so_near(tool, by):
    # the lower side of a tool with a ball led along it: the least over all places of the ball
    cutter = Cutter.of(tool)
    kept = cutter.kept_off(by)
    side = np.linspace(-cutter.radius, cutter.radius, 40_001)
    level = cutter.height(side**2)
    for far in np.linspace(0.0, cutter.radius + by - 1e-3, 37):
        room = by**2 - (far - side) ** 2
        over = room >= 0.0
        wanted = float((level[over] - np.sqrt(room[over])).min())
        if not np.isfinite(wanted):
            continue
        found = float(kept.height(np.array([far**2]))[0]) - kept.drop
        assert found == pytest.approx(wanted, abs=2e-3)
    assert np.isinf(kept.height(np.array([(cutter.radius + by + 1e-6) ** 2]))[0])


def test_on_a_slope_a_pointed_tool_is_kept_off_no_less():
    cutter = Cutter.of(Tool(6.0, "vee"))
    even, slanting = cutter.kept_off(0.5), cutter.kept_off(0.5, slants=True)
    square = np.linspace(0.0, 3.4, 50) ** 2
    assert (slanting.height(square) - slanting.drop <= even.height(square) - even.drop + 1e-9).all()
    assert slanting.drop == pytest.approx(0.5 * hypot(1.0, 1.0 / tan(radians(45.0))))
    assert even.height(np.zeros(1))[0] - even.drop == pytest.approx(-0.5)
    assert sqrt(0.5) == pytest.approx(slanting.drop)


@pytest.mark.parametrize(("height", "known"), [("0.5", True), ("0.4", False)])
def test_over_the_stock_by_the_clearance_the_tool_need_not_be_named(
    height: str, *, known: bool
) -> None:
    """A probe, say, that cuts nothing: only nearer to the stock must its size be known."""
    before = SLOT_BACK + "G0 Z5\nT2 M6\nG0 X-10\nG0 Z5\n"
    after = before + f"G0 Z{height}\nG0 X30\n"
    found = clearance(before, after)
    assert found.holds == known
    if not known:
        assert "tool 2 is not named" in found.figure
        assert found.value is None


@pytest.mark.parametrize("moved", ["Y17", "Y23"])
def test_a_rapid_that_stays_is_looked_at_where_a_cut_beside_it_comes_later(moved: str) -> None:
    """A slot of three passes and a rapid back along its middle, 3 mm off its walls; then 0 mm."""
    each = "G0 X-10 {}\nG0 Z-2\nG1 X70 F300\nG0 Z5\n"
    passes = {y: each.format(y) for y in ("Y17", "Y20", "Y23")}
    back = "G0 X70 Y20\nG0 Z-1\nG0 X-10\nG0 Z5\n"
    first, last = "G0 X-10 Y20\nG0 Z5\n", each.format("Y35") + each.format("Y5")
    before = first + "".join(passes.values()) + back + last
    late = passes.pop(moved)
    after = first + "".join(passes.values()) + back + last + late
    assert clearance(before, before).holds
    found = clearance(before, after)
    assert not found.holds
    assert found.value == pytest.approx(0.0, abs=0.3)  # a cell
    assert NAME in failed(before, after)


@pytest.mark.parametrize(
    "changed", ["G0 Z-0.2\nG1 X70 F300\n", "G0 Z-2\nG1 X30 F300\n", "G0 Z-2\nG1 X70 Y34 F300\n"]
)
def test_a_rapid_that_stays_is_looked_at_where_only_a_changed_cut_runs_by(changed: str) -> None:
    """A wide tool opens a slot, and a narrow one goes through it at rapid to cut elsewhere."""
    wide = "T2 M6\nS900 M3\nG0 X-10 Y20\nG0 Z5\n{}G0 Z5\nT1 M6\nS3000 M3\n"
    rest = "G0 X-10 Y20\nG0 Z5\nG0 Z-1\nG0 X70\nG0 Z5\nG0 X-10 Y37\nG0 Z-2\nG1 X70 F300\n"
    job = Job({1: Tool(3.0), 2: Tool(12.0)}, STOCK)
    before = wide.format("G0 Z-2\nG1 X70 F300\n") + rest
    assert clearance(before, before, job).holds
    assert not clearance(before, wide.format(changed) + rest, job).holds


@pytest.mark.parametrize(("cut", "holds"), [("X50", True), ("X30", False)])
def test_the_original_excuses_by_what_it_had_cut_in_that_work_system(cut: str, *, holds: bool):
    """Back through a slot in G55, where the new program makes more moves in G54 before it."""
    part = "G54\nG0 X10 Y20\nG0 Z5\n{more}G55\nG0 X10 Y20\nG0 Z5\nG0 Z1\nG1 Z-2 F80\n"
    back = "G1 {cut} F300\nG0 Z5\nG0 X50\nG0 Z1\nG1 Z-2 F80\nG0 X10\n"
    more = "".join(f"G0 X{x}\n" for x in range(11, 31)) + "G0 X10\n"
    before = (part + back).format(more="", cut="X50")
    after = (part + back).format(more=more, cut=cut)
    assert clearance(before, after).holds == holds


def test_a_tool_that_cuts_nothing_need_not_be_named_to_follow_the_metal() -> None:
    """Tool 1 is only called, tool 2 cuts."""
    job = Job({2: Tool(6.0)}, STOCK)
    body = "G0 X-10 Y20\nG0 Z5\nT2 M6\nS3000 M3\n" + SLOT
    lifted, straight = (body.format(back=back) for back in ("G0 Z5\nG0 X-10\n", "G0 X-10\n"))
    assert clearance(lifted, lifted.replace("G0 Z5\nG0 X-10\n", "G0 Z6\nG0 X-10\n"), job).holds
    assert not clearance(lifted, straight, job).holds
