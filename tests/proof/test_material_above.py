"""What points of new moves meet: slopes, heights, directions; plain geometry of a few moves.

The programs are invented: a slot and its neighbours in a focuser plate.
"""

from __future__ import annotations

from math import inf, sqrt

import numpy as np
import pytest

from gpre.geometry.too_dense import CrowdedError
from gpre.mill.job import Job, Tool
from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof import material_above as module
from gpre.proof.changed_moves import Meeting
from gpre.proof.material_above import Encounters, down_slopes
from gpre.proof.planes import travel_planes
from gpre.proof.side import Pair, Side

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 Z5\nX-20 Y-20\n"


def side_of(text: str) -> Side:
    program = read((HEAD + text + "G0 Z5\nM30\n").encode())
    return Side(program, trace(program, Controller()))


def meeting_of(before: str, after: str, job: Job | None = None) -> Meeting:
    pair = Pair(side_of(before), side_of(after), Mill(), job or Job())
    return Meeting(pair, travel_planes(pair.before, pair.job))


def at(met: Encounters, *place: float) -> int:
    """The row of the point nearest to a place, the last of several."""
    far = np.linalg.norm(met.point - place, axis=1).round(6)
    return int(np.flatnonzero(far == far.min())[-1])


def test_the_slope_of_a_way_down_is_its_sine() -> None:
    side = side_of("G1 X-20 Y-20 Z5 F100\nX-16 Z2\nY-17 Z6\nX-10\nG1 X-10 Y-17 Z-2\n")
    feed = down_slopes(side.motion)[side.motion.at_feed]
    # 3 down on 4 along; 4 up on 3 along; level; straight down; the first one has no length
    assert feed.tolist() == pytest.approx([0.0, 0.6, -0.8, 0.0, 1.0])
    helix = side_of("G0 X10 Y0 Z0\nG3 X10 Y0 Z-5 I-10 F100\n")
    turn = 2.0 * np.pi * 10.0
    assert down_slopes(helix.motion)[-2] == pytest.approx(5.0 / sqrt(turn**2 + 25.0))


SLOT = "G0 X-10 Y5\nG0 Z-2\nG1 X70 F300\nG0 Z5\n"
LEVELS = "G0 X-10 Y20\nG0 Z-1\nG1 X70 F300\nG0 Z5\nG0 X70 Y20\nG0 Z-2\nG1 X-10 F500\nG0 Z5\n"
BEFORE = SLOT + LEVELS
PIECES = SLOT.replace("G1 X70 F300", "G1 X30 F300\nX70")
BACK = "G0 X70 Y5\nG0 Z-2\nG1 X30 F300\nX-10\nG0 Z5\n"
ACROSS = "G0 X40 Y-15\nG0 Z-2\nG1 Y25 F300\nG0 Z5\n"  # 40 mm: a point at each millimetre


def met_by(after: str, before: str = BEFORE) -> Encounters:
    return meeting_of(before, after).encounters


def test_a_slot_in_pieces_meets_what_the_slot_met() -> None:
    met = met_by(PIECES + LEVELS)
    point = at(met, 20.0, 5.0, -2.0)
    assert met.point[point].tolist() == pytest.approx([20.0, 5.0, -2.0], abs=1.0)
    # nobody had been there: full metal, in both
    assert (met.top[point], met.was_top[point], met.cleared[point]) == (inf, inf, inf)
    assert (met.reached[point], met.feed[point]) == (-2.0, 300.0)
    assert met.was_first[point] == met.was_last[point] >= 0
    assert (met.forward[point], met.against[point]) == (True, False)
    assert met.same_slope[point]


def test_the_other_way_round_it_runs_against_it() -> None:
    met = met_by(BACK + LEVELS)
    point = at(met, 20.0, 5.0, -2.0)
    assert (met.forward[point], met.against[point]) == (False, True)


def test_both_ways_are_told_where_the_original_ran_both_ways() -> None:
    there_and_back = SLOT.replace("G0 Z5\n", "X-10\nG0 Z5\n")
    met = met_by(PIECES + LEVELS, there_and_back + LEVELS)
    point = at(met, 20.0, 5.0, -2.0)
    assert (met.forward[point], met.against[point]) == (True, True)
    assert met.was_first[point] == met.was_last[point] - 1


def test_what_only_crosses_a_slot_has_no_metal_there_and_metal_elsewhere() -> None:
    met = met_by(BEFORE + ACROSS)
    crossing, beside = at(met, 40.0, 5.0, -2.0), at(met, 40.0, 12.0, -2.0)
    # over the slot's middle the original's tool had been at Z-2, and ran across
    assert (met.top[crossing], met.reached[crossing]) == (-2.0, -2.0)
    assert (met.forward[crossing], met.against[crossing]) == (False, False)
    # beside it it never was
    assert (met.top[beside], met.was_top[beside], met.reached[beside]) == (inf, -inf, inf)
    assert (met.was_first[beside], met.was_last[beside], met.feed[beside]) == (-1, -1, -inf)
    assert not met.same_slope[beside]


def test_a_second_level_meets_what_the_first_left() -> None:
    pieces = LEVELS.replace("X-10 F500", "X30 F500\nX-10")
    met = met_by(SLOT + pieces)
    point = at(met, 20.0, 20.0, -2.0)
    assert (met.top[point], met.was_top[point], met.feed[point]) == (-1.0, -1.0, 500.0)
    # deeper at once: more above it than the original ever had at that depth
    deep = SLOT + "G0 X70 Y20\nG0 Z-2\nG1 X30 F500\nX-10\nG0 Z5\n"
    met = met_by(deep)
    point = at(met, 20.0, 20.0, -2.0)
    assert (met.top[point], met.was_top[point]) == (inf, -1.0)
    # and no feed of the original's is one for so much metal
    assert met.feed[point] == -inf


def test_a_rapid_of_the_originals_allows_no_feed() -> None:
    met = met_by(BEFORE + "G0 X-10 Y30\nG1 X30 F5000\nG0 X70\n", BEFORE + "G0 X-10 Y30\nX70\n")
    point = at(met, 20.0, 30.0, 5.0)
    assert (met.feed[point], met.was_top[point]) == (-inf, -inf)
    assert not met.forward[point]


def test_coming_down_as_steeply_is_the_same_slope() -> None:
    ramp = "G0 X-10 Y30\nG0 Z0\nG1 X30 Z-4 F300\nG0 Z5\n"
    same = "G0 X-10 Y30\nG0 Z0\nG1 X10 Z-2 F300\nX30 Z-4\nG0 Z5\n"
    met = met_by(BEFORE + same, BEFORE + ramp)
    point = at(met, 0.0, 30.0, -1.0)
    assert (met.same_slope[point], met.was_top[point], met.feed[point]) == (True, inf, 300.0)
    # the same places on the way up
    up = "G0 X30 Y30\nG0 Z-4\nG1 X-10 Z0 F300\nG0 Z5\n"
    met = met_by(BEFORE + same, BEFORE + up)
    point = at(met, 0.0, 30.0, -1.0)
    assert (met.same_slope[point], met.was_top[point], met.feed[point]) == (False, inf, 300.0)


@pytest.mark.parametrize(
    ("other", "room"),
    [
        (Tool(8.0), True),
        (Tool(6.0), True),
        (Tool(5.0), False),
        (Tool(8.0, "ball"), False),
        (Tool(8.0, "bull"), False),
        (None, False),
    ],
)
def test_a_tool_leaves_room_for_another_where_it_is_flat_and_no_smaller(
    other: Tool | None, *, room: bool
) -> None:
    """Tool 2 has cut the slot when tool 1 comes."""
    job = Job({1: Tool(6.0)} | ({} if other is None else {2: other}))
    first = "T2 M6\n" + SLOT + "T1 M6\n"
    met = meeting_of(first + SLOT, first + PIECES, job).encounters
    point = at(met, 20.0, 5.0, -2.0)
    assert met.top[point] == -2.0
    assert met.cleared[point] == (-2.0 if room else inf)


def test_a_feed_that_is_not_set_allows_any() -> None:
    """Both programs have the same fault; it is named elsewhere."""
    met = met_by(PIECES.replace(" F300", ""), SLOT.replace(" F300", ""))
    assert met.feed[at(met, 20.0, 5.0, -2.0)] == inf


def test_of_more_pairs_than_can_be_looked_at_nothing_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    held = met_by(PIECES + LEVELS)
    assert len(held.row) > 10
    # no more than a few moves pass over any point
    monkeypatch.setattr(module, "_MOST_PAIRS", 10 * len(held.row))
    assert len(met_by(PIECES + LEVELS).row) == len(held.row)
    monkeypatch.setattr(module, "_MOST_PAIRS", 10)
    with pytest.raises(CrowdedError):
        meeting_of(BEFORE, PIECES + LEVELS).encounters  # noqa: B018
