"""The parts of `order`: which holes are alike, which ways are clear, how words are written."""

from decimal import Decimal

import numpy as np
import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, rewrite
from gpre.editing.cycle_words import cycle_table
from gpre.editing.editable import Editable, editable_of
from gpre.mill.job import Box, Job, Tool
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.rewrites.order.clear import Goal, clear_after, clear_ways, way_in
from gpre.rewrites.order.holes import Row, find_rows
from gpre.rewrites.order.words import edits_of, spots_of
from gpre.room.lowest_traverse import LowestTraverse
from gpre.source.edit import EditSet
from gpre.source.text import SourceText

HEAD = "G21 G17 G90 G94\nT3 M6\nS2000 M3\nG0 Z20\nG0 X-9 Y-9\n"
TAIL = "G80\nG0 Z20\nM30\n"
JOB = Job({3: Tool(4.0, "drill")})
ROW = "X60\nX20\nX40\n"


def editable(text: str) -> Editable:
    program = read(text.encode())
    return editable_of(program, trace(program))


def rows(text: str) -> list[Row]:
    at = editable(text)
    return list(find_rows(at, cycle_table(at)))


def changed(text: str, job: Job = JOB) -> str:
    result = rewrite(SourceText.of(text.encode()), known_mill(), job, Options(only=("order",)))
    assert result.proof.holds
    return result.data.decode() if result.changed else ""


@pytest.mark.parametrize(
    ("cycle", "counts"),
    [
        ("G98 G81 X0 Y0 Z-5 R2 F90\n" + ROW, [4]),
        ("G98 G85 X0 Y0 Z-5 R2 F90\n" + ROW, [4]),
        ("G98 G86 X0 Y0 Z-5 R2 P1 F90\n" + ROW, []),  # the spindle stops in each hole
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nX20 Z-6\nX40\nX50\n", [3]),
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nX20\nX40 R3\nX70\nX80 F95\n", [3]),
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nX20\nG99 X40\nX70\nX80\n", [3, 3]),
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nM8\nX20\nX40\n", []),
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nM0\nX20\nX40\n", []),
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nG4 P1\nX20\nX40\n", []),
        ("G98 G81 X0 Y0 Z-5 R2 F90\nX60\nG55\nX20\nX40\n", []),
        ("G98 G81 X0 Y0 Z-5 R2 F90\n/X60\nX20\nX40\n", []),
        ("G18 G98 G81 X0 Z0 Y-5 R2 F90\n" + ROW + "G80 G17\n", []),  # drilled along Y
    ],
)
def test_only_holes_that_are_alike_make_a_row(cycle: str, counts: list[int]) -> None:
    found = [len(each.stations) for each in rows(HEAD + cycle + TAIL)]
    assert found == counts


def test_holes_by_hand_that_lift_over_a_clamp_part_the_row() -> None:
    hole = "G0 X{}\nG1 Z-5 F90\nG0 Z{}\n"
    low = "".join(hole.format(x, 2) for x in (10, 60, 20, 40))
    text = HEAD + "G0 Z2\n" + low + TAIL
    assert [len(each.stations) for each in rows(text)] == [4]
    over = "".join(hole.format(x, z) for x, z in ((10, 2), (60, 20), (20, 2), (40, 2)))
    # down again over the hole, as low
    over = over.replace("G0 X20\n", "G0 X20\nG0 Z2\n")
    assert rows(HEAD + "G0 Z2\n" + over + TAIL) == []


def test_ways_below_the_highest_are_the_programs_own() -> None:
    text = HEAD + "G99 G81 X0 Y0 Z-5 R2 F90\nX60\nX20\nY30\n" + TAIL
    at = editable(text)
    gone = LowestTraverse(at.program, at.motion, 0.5)
    place = np.array([[0.0, 0.0], [60.0, 0.0], [20.0, 0.0], [20.0, 30.0]])
    start = np.array([-5.0, 0.0, 20.0])
    row = len(at.motion) - 2
    ways = clear_ways(gone, place, [0, 1, 2, 3], start=start, level=2.0, row=row)
    assert ways[:4].tolist() == [
        [False, True, True, False],
        [True, False, True, False],
        [True, True, False, True],
        [False, False, True, False],
    ]
    assert ways[4].all()  # the way in is as high as the program goes
    high = clear_ways(gone, place, [0, 1, 2, 3], start=start, level=20.0, row=row)
    assert high.all()
    low = Goal(np.array([0.0, 30.0, 2.0]), free=True)
    assert clear_after(gone, place, low, last=3, row=row).tolist() == [False, False, False, True]
    # along X the program goes as low all the way; slanted from the last hole only it does
    along = Goal(np.array([0.0, 0.0, 2.0]), free=True)
    assert clear_after(gone, place, along, last=0, row=row).tolist() == [True, True, True, False]
    assert clear_after(gone, place, Goal(None, free=True), last=3, row=row).all()


def test_the_way_in_begins_where_the_first_move_aside_does() -> None:
    text = HEAD + "G98 G81 X10 Y0 Z-5 R2 F90\n" + ROW + TAIL
    at = editable(text)
    (row,) = find_rows(at, cycle_table(at))
    assert way_in(LowestTraverse(at.program, at.motion, 0.5), row.stations).tolist() == [
        -9.0,
        -9.0,
        20.0,
    ]


def test_words_in_increments_add_up_to_the_same_end() -> None:
    text = HEAD + "G91 G98 G81 X10.05 Y0 Z-7 R-18 F90\nX50\nX-40.5 Y2\nX20.25\n" + TAIL
    at = editable(text.replace("R-18", "R0"))
    (row,) = find_rows(at, cycle_table(at))
    numbers = [each.number for each in spots_of(at, row.stations)]
    assert numbers[2] == (Decimal("19.55"), Decimal(2))
    data = at.program.source.data
    new = EditSet.of(edits_of(at, row.stations, [0, 2, 3, 1])).apply(data)
    old_motion, new_motion = (trace(read(each)) for each in (data, new))

    def drilled(motion):
        return sorted(motion.end[motion.kind == Kind.LINE].round(6).tolist())

    assert drilled(new_motion) == drilled(old_motion)


@pytest.mark.parametrize("again", ["G81 Z-5", "Z-5", "G81 Y0", "G98 G81 Z-5"])
@pytest.mark.parametrize("order", [[0, 1, 3, 2, 4], [0, 3, 1, 4, 2], [0, 3, 2, 4, 1]])
def test_a_hole_that_names_no_place_gets_that_of_another(again: str, order: list[int]) -> None:
    at = editable(HEAD + f"G98 G81 X10 Y0 Z-5 R2 F90\nX60\n{again}\nX20 Y7\nX40\n" + TAIL)
    (row,) = find_rows(at, cycle_table(at))
    new = EditSet.of(edits_of(at, row.stations, order)).apply(at.program.source.data)
    motion = trace(read(new))
    feeding = motion.kind == Kind.LINE
    places = np.array([(10, 0), (60, 0), (60, 0), (20, 7), (40, 7)], float)
    assert motion.end[feeding, :2].tolist() == places[order].tolist()
    assert set(motion.end[feeding, 2].tolist()) == {-5.0}


def test_a_clamp_may_stand_at_r_and_not_as_high_as_the_program_goes() -> None:
    slanted = "X60 Y30\nX20 Y10\nX40 Y20\nX80 Y40\n"
    start = HEAD + "G99 G81 X0 Y0 Z-5 R{} F100\n" + slanted + TAIL
    stock = Box((-10.0, -10.0, -12.0), (90.0, 80.0, 0.0))
    for job in (JOB, Job(JOB.tools, stock)):  # a clamp is no stock
        assert not changed(start.format(2), job)
        assert changed(start.format(20), job)


def test_the_way_out_stays_clear_too() -> None:
    """Behind the holes the tool goes on at R: from another last hole that would be a new way."""
    text = (
        HEAD
        + "G99 G81 X0 Y0 Z-5 R2 F90\nX60\nX20\nX50\nX40\nG80\nG0 X40 Y50\nG1 Z-1\nG0 Z20\nM30\n"
    )
    at = changed(text)
    assert at
    assert at.split("\n").index("X40") == at.split("\n").index("G80") - 1
