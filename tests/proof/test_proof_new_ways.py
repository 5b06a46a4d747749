"""A new way in the air must not lie where a clamp may stand: the program goes only higher there."""

from dataclasses import replace

import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Mill
from gpre.proof.new_ways import unseen_ways
from gpre.proof.planes import travel_planes
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17\nT3 M6\nS2000 M3\nG0 Z20\nG0 X-9 Y-9\n"
TAIL = "G80\nG0 Z20\nM30\n"
CYCLE = "{} G81 X0 Y0 Z-5 R2 F90\n"
RING = "X60\nX60 Y40\nX0\n"
CROSSED = "X60 Y40\nX60 Y0\nX0 Y40\n"
JOB = Job({3: Tool(4.0, "drill")}, Box((-10.0, -10.0, -12.0), (70.0, 50.0, 0.0)))


def failed(before: str, after: str, job: Job | None = None) -> dict[str, str]:
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()), KNOWN, job)
    return {each.name: each.figure for each in proof.failed}


@pytest.mark.parametrize("job", [None, JOB])
def test_holes_in_another_order_cross_only_as_high_as_the_program_goes(job: Job | None) -> None:
    low, high = ((HEAD + CYCLE.format(code), TAIL) for code in ("G99", "G98"))
    said = failed(low[0] + RING + TAIL, low[0] + CROSSED + TAIL, job)
    assert "a clamp may stand there" in said["air moves"]
    assert failed(high[0] + RING + TAIL, high[0] + CROSSED + TAIL, job) == {}
    # the initial level itself may be lower than the highest way
    higher = HEAD.replace("Z20", "Z50") + "G0 Z20\n" + CYCLE.format("G98")
    assert "air moves" in failed(higher + RING + TAIL, higher + CROSSED + TAIL, job)


def test_a_stop_between_them_makes_what_was_gone_over_before_unknown() -> None:
    line = "X60\nX20\nX40\n"
    start = HEAD + CYCLE.format("G99")
    assert failed(start + line + TAIL, start + "X20\nX40\nX60\n" + TAIL) == {}
    stop = HEAD + "G0 Z2\nG0 X80\nG0 Z20\nG0 X-9\nM0\nG0 X0 Y30\n"
    stop += "G99 G81 X0 Y30 Z-5 R2 F90\nX0 Y-9\nX60 Y30\nX60 Y-9\n"
    swapped = stop.replace("X60 Y30\nX60 Y-9\n", "X60 Y-9\nX60 Y30\n")
    assert "air moves" in failed(stop + TAIL, swapped + TAIL)


def test_a_loop_of_the_overshoot_is_no_new_way() -> None:
    start = HEAD + CYCLE.format("G99")
    again = "G99 G81 X60 Y40 Z-5 R2 F90\n"
    loop = "G80\nG0 X{} Y{}\n"
    text = start + "X60\n{}" + again + TAIL
    before = text.format("")
    assert failed(before, text.format(loop.format(58.75, 38.75))) == {}
    assert "air moves" in failed(before, text.format(loop.format(50, 38.75)))


def test_a_height_that_is_no_longer_stated_is_missed() -> None:
    text = "G21 G90\nT3 M6\nS2000 M3\nG0 Z20\nG0 X10 Y10\nG1 Z-2 F100\nG0 Z20\nM30\n"
    assert "air moves" in failed(text, text.replace("G0 Z20\nG0 X10", "G0 X10"))
    swapped = text.replace("G0 Z20\nG0 X10 Y10\n", "G0 X10 Y10\nG0 Z20\n")
    assert "air moves" in failed(text, swapped)


def test_a_way_behind_the_last_stop_is_new_where_the_original_goes_nowhere() -> None:
    whole = HEAD + CYCLE.format("G98") + RING + "G80\nG0 Z20\nM0\nM30\n"
    said = failed(whole, whole.replace("M0\n", "M0\nG0 X60\n"))
    assert "a clamp may stand there" in said["air moves"]


PLATE = (
    HEAD + "G0 Z5\nG0 Y-8\nG0 Y-9\nG1 Z-2 F90\nG1 X60 F300\nG1 Y40\nG1 X-9\nG1 Y-9\nG0 Z20\nM30\n"
)


@pytest.mark.parametrize(
    "way", ["G0 X50\n", "G1 X50\n", "G1 X50 Y30\n", "G2 X21 I15\n", "G3 I30 J20\n"]
)
def test_a_way_at_feed_above_the_part_is_no_safer_than_one_at_rapid(way: str) -> None:
    inside = PLATE.replace("G0 Z20\nM30", f"G0 Z5\nG0 Y10\n{way}G0 Z20\nM30")
    assert "a clamp may stand there" in failed(PLATE, inside)["air moves"]
    higher = PLATE.replace("G0 Z20\nM30", f"G0 Z20\nG0 Y10\n{way}G0 Z20\nM30")
    assert "air moves" not in failed(PLATE, higher)


def test_a_height_that_is_stated_only_behind_the_first_way_says_nothing_of_that_way() -> None:
    blind = "G21 G90 G17\nT3 M6\nS2000 M3\nG0 X10 Y10\nG0 Z5\nG1 Z-2 F90\nG1 X40\nG0 Z20\nM30\n"
    sooner = blind.replace("G0 X10", "G0 Z5\nG0 X10")
    assert "a clamp may stand there" in failed(blind, sooner)["air moves"]


def test_a_program_that_goes_nowhere_shows_no_way() -> None:
    assert "cutting path" not in failed("M30\n", "G0 X1\nG0 Y5\nM30\n")
    assert "air moves" in failed("M30\n", "A0 Z1\nG0 Y5\nM30\n")


NOT_SAID = (  # where Y stands before the second way is not said, and later the tool goes higher
    "G21 G90 G17\nT3 M6\nS2000 M3\nG0 Z5\n{first}G0 X0 Y0\nG1 Z-2 F90\nG0 Z15\nG0 X0 Y2 Z5\n"
    "G1 Z-2\nG0 Z5\nM30\n"
)


@pytest.mark.parametrize(
    ("first", "way", "holds"),
    [
        ("G0 X-9\n", "G0 X0 Y-1.25\n", True),
        ("G0 X-9\n", "G0 X0 Y-4\n", False),  # farther than an approach needs
        ("G0 X-9\n", "G0 X0 Y-1.25 Z4\nG0 Z5\n", False),  # lower
        ("G0 X-9\n", "G0 X-8\nG0 X0 Y-1.25\n", False),  # from elsewhere
        ("G0 X-9\n", "G0 X0 Y-1.25\nG0 X-9\n", False),
        # Y0 is where the operator left it in the one, and where Y is in the other
        ("G0 X-9\n", "G0 Y0\nG0 X0 Y-1.25\n", False),
    ],
)
def test_an_approach_from_where_the_operator_left_the_tool_runs_beside_the_way_itself(
    first: str, way: str, holds: bool
) -> None:
    before, after = (NOT_SAID.format(first=each) for each in (first, first + way))
    assert ("air moves" not in failed(before, after)) is holds


def unseen(before: str, after: str, mill: Mill = KNOWN) -> list[str]:
    """The blocks of `after` with ways over places where the original goes only higher."""
    sides = [Side.of(SourceText.of(each.encode()), mill) for each in (before, after)]
    pair = Pair(*sides, mill, Job())
    blocks = sides[1].motion.block[unseen_ways(pair, travel_planes(sides[0], pair.job))]
    return [sides[1].program.source.line_text(int(block) + 1).strip() for block in blocks]


def test_a_way_that_bends_runs_beside_no_other() -> None:
    """From where the operator left the tool, as the original's straight way, but round about."""
    before = NOT_SAID.format(first="G0 X-9\n")
    straight, bent = "G1 X0 Y-1.25 F300", "G2 X0 Y-1.25 R9 F300"
    for way, found in ((straight, []), (bent, [bent])):
        assert unseen(before, NOT_SAID.format(first=f"G0 X-9\n{way}\n")) == found


def test_how_far_an_approach_leaves_the_way_its_own_axes_tell() -> None:
    """Twice the backlash of X and Y where that is more than the profile's least, not of Z."""
    before = NOT_SAID.format(first="G0 X-9\n")
    after = NOT_SAID.format(first="G0 X-9\nG0 X0 Y-4\n")
    for axis, free in (("x", True), ("y", True), ("z", False)):
        mill = replace(KNOWN, **{axis: Axis(lost_motion=2.0)})
        assert (unseen(before, after, mill) == []) == free


@pytest.mark.parametrize(("y", "free"), [("-1.9", True), ("-2", False)])
def test_an_approach_leaves_the_way_by_its_diagonal_and_a_tenth(y: str, *, free: bool) -> None:
    """1.25 mm on both axes, the profile's default: 1.944 mm."""
    before = NOT_SAID.format(first="G0 X-9\n")
    after = NOT_SAID.format(first=f"G0 X-9\nG0 X0 Y{y}\n")
    assert (unseen(before, after) == []) == free


def test_a_first_way_that_states_its_height_is_not_blind() -> None:
    """One that goes across before it says how high is."""
    head, tail = "G21 G90 G17\nT3 M6\nS2000 M3\n", "G1 Z-2 F90\nG1 X40\nG0 Z20\nM30\n"
    before, after = (head + way + tail for way in ("G0 X9 Y9 Z5\n", "G0 X9 Y9\nG0 Z5\n"))
    assert unseen(before, after) == ["G0 X9 Y9"]


def test_the_first_way_may_lead_elsewhere_wherever_the_tool_begins() -> None:
    """Two plunges trade places; the tool comes down first, then across, no lower than it did."""
    mill = replace(KNOWN, controller=replace(KNOWN.controller, start=(50.0, -50.0, 100.0)))
    head, tail = "G21 G90 G17\nT3 M6\nS2000 M3\nG0 Z{}\n", "G0 Z30\nG0 X0 Y60\nM30\n"
    one, other = ("G0 X0 Y0\nG1 Z-2 F90\nG0 Z20\n", "G0 X60 Y40\nG1 Z-2 F90\nG0 Z20\n")
    before = head.format(20) + one + other + tail
    assert unseen(before, head.format(20) + other + one + tail, mill) == []
    assert unseen(before, head.format(19) + other + one + tail, mill) == ["G0 X60 Y40"]


@pytest.mark.parametrize("new", ["G0 X8 Y8\nG0 X9 Y9\n", "G0 X30\nG0 X9 Y9\n"])
def test_a_program_that_once_goes_blind_may_go_so_elsewhere(new: str) -> None:
    """At the height where the tool happens to stand; later it travels at heights that it states."""
    head = "G21 G90 G17\nT3 M6\nS2000 M3\n"
    tail = "G0 Z5\nG1 Z-2 F90\nG1 X40\nG0 Z5\nG0 X70 Y9\nG1 Z-2\nG1 X90\nG0 Z20\nM30\n"
    before = head + "G0 X9 Y9\n" + tail
    assert unseen(before, head + new + tail) == []
    # one that never does may not begin to
    stated = before.replace("G0 X9 Y9", "G0 Z5\nG0 X9 Y9")
    assert unseen(stated, head + new + "G0 X9 Y9\n" + tail) != []


def test_a_slanting_rapid_that_stays_is_no_new_way() -> None:
    """Down along it the original goes lower than over any of its places; it has it already."""
    before = HEAD + "G0 X40 Y30 Z2\nG1 Z-2 F90\nG1 X60 F300\n" + TAIL
    pieces = before.replace("G1 X60 F300", "G1 X50 F300\nG1 X60")
    assert failed(before, pieces) == {}
    level = before.replace("G0 X40 Y30 Z2", "G0 X40 Y30\nG0 Z2")
    said = failed(level, pieces)
    assert "a clamp may stand there" in said["air moves"]
