"""What the cutter suffers: feeds that stop it, climb that nobody asked for, ramps.

The programs are invented: a clamp ring's plate, its outline, slots, pockets and bores.
"""

from __future__ import annotations

from math import atan, cos, degrees, pi, radians, sin

import pytest

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.proof.proof import Obligation, Proof
from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 Z5\nX-20 Y-20\n"
END = "G0 Z5\nM30\n"
TOOLS = {1: Tool(6.0, flutes=2)}
STOCK = Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0))
ALL = Job(TOOLS, STOCK)
NO_STOCK = Job(TOOLS)
NOTHING = Job()
CLIMB, CONVENTIONAL = Job(TOOLS, STOCK, "climb"), Job(TOOLS, STOCK, "conventional")


def proof_of(before: str, after: str, job: Job = ALL, head: str = HEAD) -> Proof:
    texts = (SourceText.of((head + text + END).encode()) for text in (before, after))
    return prove(*texts, Mill(), job)


def failed(before: str, after: str, job: Job = ALL, head: str = HEAD) -> set[str]:
    return {each.name for each in proof_of(before, after, job, head).failed}


def named(proof: Proof, name: str) -> Obligation:
    return next(each for each in proof.obligations if each.name == name)


def line_of(after: str, block: int | None) -> str:
    assert block is not None
    return (HEAD + after).split("\n")[block]


def run(*places: tuple[float, float], z: float = -2.0, feed: int = 300) -> str:
    """Come down at the first place, cut to the others, lift."""
    (x, y), *others = places
    moves = "".join(f"G1 X{x:g} Y{y:g} F{feed}\n" for x, y in others)
    return f"G0 X{x:g} Y{y:g}\nG0 Z1\nG1 Z{z:g} F100\n{moves}G0 Z5\n"


def outline(off: float, z: float = -2.0) -> str:
    """Against the clock round the stock: with M3 the part is on the left, conventional."""
    return run(*corners(off), z=z)


def corners(off: float) -> list[tuple[float, float]]:
    x, y = 60.0 + off, 40.0 + off
    return [(-off, -off), (x, -off), (x, y), (-off, y), (-off, -off)]


def turned(off: float, z: float = -2.0) -> str:
    return run(*corners(off)[::-1], z=z)


# --- feeds -----------------------------------------------------------------------------------

PASS = "G0 X-10 Y5\nG0 Z-2\nG1 X70 F300\nG0 Z5\nG0 X-10 Y20\nG0 Z-2\nG1 X70\nX75 F600\n"
STALLS = {
    "a feed of nothing": (PASS.replace("F300", "F0"), "G1 X70 F0"),
    "a digit lost twice": (PASS.replace("F300", "F2.9"), "G1 X70 F2.9"),
    "inches for millimetres, twice": (PASS.replace("F300", "F0.46"), "G1 X70 F0.46"),
    "a point too far left on one part of the way": (
        PASS.replace("G1 X70 F300", "G1 X30 F300\nX50 F2\nX70 F300"),
        "X50 F2",
    ),
    "a feed per minute written in G93": (PASS.replace("G1 X70 F300", "G1 X70 F0.01"), "F0.01"),
}


@pytest.mark.parametrize("job", [ALL, NO_STOCK, NOTHING])
@pytest.mark.parametrize("name", STALLS)
def test_a_feed_that_stops_the_tool_is_found_with_its_place(name: str, job: Job) -> None:
    after, block = STALLS[name]
    proof = proof_of(PASS, after, job)
    feed = named(proof, "feed")
    assert not feed.holds
    assert "300 mm/min" in feed.figure
    assert "X-10" in feed.figure or "X30" in feed.figure
    assert block in line_of(after, feed.after)
    assert feed.limit == pytest.approx(3.0)
    assert named(proof, "readable").holds == ("F0" not in after.replace("F0.", ""))


@pytest.mark.parametrize("job", [ALL, NO_STOCK, NOTHING])
@pytest.mark.parametrize("feed", ["F150", "F3.01", "F300"])
def test_a_lower_feed_that_still_cuts_passes(feed: str, job: Job) -> None:
    assert failed(PASS, PASS.replace("F300", feed), job) == set()


def test_a_slow_move_clear_of_the_stock_stops_nothing() -> None:
    slow = PASS.replace("F600", "F5")
    assert failed(PASS, slow) == set()
    assert failed(PASS, slow, NO_STOCK) == {"feed"}
    above = PASS.replace("G0 Z-2\nG1 X70 F300", "G1 Z1 F2000\nG1 Z-2 F300\nG1 X70")
    assert failed(above, above.replace("F2000", "F15")) == set()
    assert failed(above, above.replace("F2000", "F15"), NOTHING) == {"feed"}
    # at a feed of nothing the controller stops wherever it is
    assert "feed" in failed(PASS, PASS.replace("F600", "F0"))


def test_a_feed_of_nothing_before_another_harms_nothing() -> None:
    assert failed(PASS, PASS.replace("G0 Z-2\nG1 X70 F300", "G0 Z-2 F0\nG1 X70 F300")) == set()


def test_where_the_original_stood_the_new_one_may_stand() -> None:
    stood = PASS.replace("F600", "F0")
    assert failed(stood, stood.replace("F300", "F200")) == set()
    assert "feed" in failed(stood, stood.replace("X75 F0", "X75 F50"))


# --- climb -----------------------------------------------------------------------------------

RINGS = [2.0, 1.0, -0.0]
ROUND = "".join(outline(off, z) for z in (-2.0, -4.0, -6.0) for off in RINGS)
ONE_OF_NINE = ROUND.replace(outline(1.0, -4.0), turned(1.0, -4.0))
SKIN = outline(0.0) + outline(-0.05)
ROWS = [run((-5, y), (65, y)) for y in (-1, 2, 5, 8)]
TO_AND_FRO = [run((-5, y), (65, y)) if y != 2 else run((65, y), (-5, y)) for y in (-1, 2, 5, 8)]
FACET = [(30 + 32 * cos(a * pi / 40), 20 + 32 * sin(a * pi / 40)) for a in range(81)]
# along the edge of a pocket, and on as a slot
POCKET = "".join(run((28.0, y), (52, y)) for y in (24.0, 20.0, 16.0))
LONG = POCKET + run((52, 13.0), (3, 13.0))
LONG_BACK = POCKET + run((3, 13.0), (52, 13.0))


TURNED = {
    "one ring of nine": (ROUND, ONE_OF_NINE, ALL, "climb share"),
    "one ring of nine, conventional asked": (ROUND, ONE_OF_NINE, CONVENTIONAL, "climb share"),
    "one ring of nine, no stock": (ROUND, ONE_OF_NINE, NO_STOCK, "climb share"),
    "one ring of nine, nothing known": (ROUND, ONE_OF_NINE, NOTHING, "cutting direction"),
    "all of an outline": (outline(0.0), turned(0.0), ALL, "climb share"),
    "a finishing pass thinner than a cell": (
        SKIN, outline(0.0) + turned(-0.05), ALL, "climb share",
    ),
    "short chords round": (run(*FACET), run(*FACET[::-1]), ALL, "climb share"),
    "passes from the other side": (
        "".join(ROWS), "".join(ROWS[::-1]), ALL, "climb share",
    ),
    "one pass of four": (
        "".join(ROWS), "".join([*ROWS[:2], run((65, 5), (-5, 5)), ROWS[3]]), ALL, "climb share",
    ),
    "one level to climb, another from it": (
        outline(0.0, -2) + turned(0.0, -4), turned(0.0, -2) + outline(0.0, -4), ALL, "climb share",
    ),
    "half of a long move, the rest a slot": (LONG, LONG_BACK, ALL, "climb share"),
}  # fmt: skip


@pytest.mark.parametrize("name", TURNED)
def test_climb_that_nobody_asked_for_is_found_with_its_place(name: str) -> None:
    before, after, job, obligation = TURNED[name]
    proof = proof_of(before, after, job)
    fault = named(proof, obligation)
    assert not fault.holds
    assert "climb" in fault.figure
    assert "nobody asked for" in fault.figure
    block = line_of(after, fault.after)
    assert block.startswith("G1 X")
    assert fault.before is not None
    # the block is one that was not where it stands now, or not in that direction
    assert block in after
    asked = Job(job.tools, job.stock, "climb")
    assert named(proof_of(before, after, asked), obligation).holds


def test_the_place_is_in_the_ring_that_was_turned() -> None:
    fault = named(proof_of(ROUND, ONE_OF_NINE), "climb share")
    first = (HEAD + ONE_OF_NINE[: ONE_OF_NINE.index(turned(1.0, -4.0))]).count("\n")
    assert fault.after is not None
    assert first <= fault.after < first + turned(1.0, -4.0).count("\n")
    # 1 mm wide, 2 deep, round 60 by 40 mm and its corners (definition), and the cells' rounding
    assert fault.value == pytest.approx(2 * (2 * 62 + 2 * 42), rel=0.25)


def test_with_the_spindle_the_other_way_round_the_sides_change_places() -> None:
    head = HEAD.replace("M3", "M4")
    assert failed(outline(0.0), turned(0.0), head=head) == set()
    assert failed(turned(0.0), outline(0.0), head=head) == {"climb share"}


def test_without_a_spindle_direction_nothing_may_run_the_other_way() -> None:
    head = HEAD.replace(" M3", "")
    assert failed(turned(0.0), outline(0.0), head=head) == {"cutting direction"}


LOADS = {"feed", "cutting direction", "climb share", "ramps", "ramp load", "metal removed"}
SLOT = run((-5, 20), (65, 20))
SOUND = {
    "from climb to conventional": (turned(0.0), outline(0.0), ALL),
    "the same, asked for": (turned(0.0), outline(0.0), CONVENTIONAL),
    "to climb, asked for": (outline(0.0), turned(0.0), CLIMB),
    "a slot the other way": (SLOT, run((65, 20), (-5, 20)), ALL),
    "a finishing pass from climb": (outline(0.0) + turned(-0.05), SKIN, ALL),
    "a pass to and fro, now all conventional": (
        "".join(TO_AND_FRO), "".join([ROWS[0], run((-5, 2), (65, 2)), *ROWS[2:]]), ALL,
    ),
    "begun at another corner": (
        run(*corners(0.0)), run(*corners(0.0)[1:], corners(0.0)[1]), ALL,
    ),
    "begun at another corner, no stock": (
        run(*corners(0.0)), run(*corners(0.0)[1:], corners(0.0)[1]), NO_STOCK,
    ),
    "begun at another corner, nothing known": (
        run(*corners(0.0)), run(*corners(0.0)[1:], corners(0.0)[1]), NOTHING,
    ),
    "in more pieces": (
        run((-5, 2), (65, 2)), run((-5, 2), (20, 2), (20.5, 2), (65, 2)), ALL,
    ),
    "in the air": (
        run((0, 0), (60, 0), z=1.0) + SLOT, run((60, 0), (0, 0), z=1.0) + SLOT, ALL,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SOUND)
def test_what_climbs_no_more_than_before_passes(name: str) -> None:
    before, after, job = SOUND[name]
    assert before != after
    # how many reversals there are, and where rapids may run, is for others
    assert failed(before, after, job) & LOADS == set()


def test_volumes_are_told_of_both_programs() -> None:
    # 60 mm long, 2 deep; 3 mm wide along the edge, 6 in the slot: 360 and 720 mm³ (definition);
    # the original with its tool greater by the tolerance
    edge = "G0 X65 Y0\nG0 Z-2\nG1 X-5 F300\nG0 Z5\n"
    back = "G0 X-5 Y0\nG0 Z-2\nG1 X65 F300\nG0 Z5\n"
    figure = named(proof_of(edge + SLOT, back + SLOT), "climb share").figure
    assert figure.startswith("67 % of the metal cut climbing before, 33 % after: ")
    assert "climb 360 to 0, conventional 0 to 360, on both sides 721 to 720 mm³" in figure


# --- ramps -----------------------------------------------------------------------------------

RADIUS = 9.0
RAMPED = Job({1: Tool(6.0, flutes=2, max_ramp_angle=radians(3.0))}, STOCK)


def helix(*depths: float) -> str:
    """A helix against the clock, its circle at depth, and out to the middle."""
    turns = "".join(f"G3 X39 Y20 Z{z:g} I-9 J0 F200\n" for z in depths)
    floor = "G3 X39 Y20 I-9 J0\nG1 X30 Y20\nG0 Z5\n"
    return "G0 X30 Y20\nG0 Z0.5\nG1 Z0 F100\nX39 F200\n" + turns + floor


def ramp(*, along: float, z: float) -> str:
    """Down a slope, back level, so that the floor is flat."""
    return f"G0 X10 Y20\nG0 Z0.5\nG1 Z0 F100\nX{10 + along:g} Z{z:g} F200\nX10 F300\nX50\nG0 Z5\n"


EIGHT = helix(*(-0.5 * turn for turn in range(1, 9)))
STEEP = {
    "fewer turns and no ramp angle": (EIGHT, helix(-2, -4), ALL, "helix"),
    "fewer turns and no tool": (EIGHT, helix(-2, -4), NOTHING, "helix"),
    "steeper than the ramp angle": (EIGHT, helix(-4), RAMPED, "helix"),
    "one turn deeper than the rest": (
        helix(-1, -2, -3, -4), helix(-0.5, -1, -1.5, -4), ALL, "helix",
    ),
    "a straight ramp half as long": (
        ramp(along=40, z=-2), ramp(along=20, z=-2), ALL, "ramp",
    ),
    "a straight ramp half as long, nothing known": (
        ramp(along=40, z=-2), ramp(along=20, z=-2), NOTHING, "ramp",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", STEEP)
def test_a_ramp_too_steep_is_found_with_its_place(name: str) -> None:
    before, after, job, what = STEEP[name]
    fault = named(proof_of(before, after, job), "ramps")
    assert not fault.holds
    assert fault.value is not None
    assert fault.limit is not None
    assert fault.value > fault.limit
    assert line_of(after, fault.after).startswith("G3 X39" if what == "helix" else "X30 Z")
    assert ("ramp angle is 3 degrees" in fault.figure) == (job is RAMPED)
    assert ("names no ramp angle" in fault.figure) == (job is not RAMPED)


def test_the_angle_of_a_helix_is_that_of_its_centre() -> None:
    # atan(pitch / (2 pi r)): 0.5 and 2 mm per turn at r = 9 mm
    fault = named(proof_of(EIGHT, helix(-2, -4), ALL), "ramps")
    was, now = (degrees(atan(pitch / (2.0 * pi * RADIUS))) for pitch in (0.5, 2.0))
    assert fault.value == pytest.approx(now, abs=1e-6)
    assert fault.limit == pytest.approx(was, abs=1e-6)


def test_fewer_turns_within_the_ramp_angle_pass_and_the_job_is_named() -> None:
    proof = proof_of(EIGHT, helix(-2, -4), RAMPED)
    assert proof.holds
    figure = named(proof, "ramps").figure
    assert "T1 0.51 to 2.03 degrees, helices 0.500 to 2.000 mm per turn" in figure
    assert "the job's ramp angle of 3 degrees allows" in figure
    # v_f a_p a_e / (z n): 200 mm/min, 6 mm wide, 2 teeth, 3000 per minute; the cells are 0.375 mm
    load = named(proof, "ramp load").figure
    was, now = (200.0 * deep * 6.0 / (2 * 3000) for deep in (0.5, 2.0))
    told = [float(word) for word in load.split() if word.replace(".", "").isdigit()][:2]
    assert told == pytest.approx([was, now], rel=0.08)


def test_the_same_ramps_pass() -> None:
    for text in (EIGHT, helix(-2, -4), ramp(along=40, z=-2)):
        for job in (ALL, NO_STOCK, NOTHING):
            proof = proof_of(text, text.replace("F200", "F150"), job)
            assert proof.holds
            assert named(proof, "ramps").figure.startswith("T1 ")


def test_a_ramp_where_more_metal_stands_is_a_greater_load() -> None:
    # the slot that made room for the ramp comes after it
    slot = run((5, 20), (55, 20), z=-1.0)
    lower = "G0 X10 Y20\nG0 Z0\nG1 Z-1 F100\nX50 Z-2 F200\nX10\nG0 Z5\n"
    found = {
        each.name: each
        for each in proof_of(slot + lower, lower + slot).failed
    }  # fmt: skip
    assert not found["ramp load"].holds
    assert "X50 Z-2" in line_of(lower + slot, found["ramp load"].after)


def test_a_deeper_helix_is_told_of_beside_the_depth_of_cut() -> None:
    job = Job({1: Tool(6.0, flutes=2, max_ramp_angle=radians(3.0))}, STOCK)
    # out at the height of the floor is left away: then no move takes as much as the helix
    before, after = (text.replace("G1 X30 Y20\n", "") for text in (EIGHT, helix(-2, -4)))
    proof = proof_of(before, after, job)
    depth = named(proof, "depth of cut")
    assert depth.holds
    assert "in a helix of fewer turns: see ramp load" in depth.figure
    assert "ramp angle of 3 degrees allows" in named(proof, "ramp load").figure
