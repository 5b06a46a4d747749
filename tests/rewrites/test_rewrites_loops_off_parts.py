"""Places where axes turn, ways off and on, and room: the parts of loops off the part."""

from collections.abc import Callable

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.find_cuts import find_cuts
from gpre.driver.counting import count
from gpre.editing.context import Context
from gpre.editing.skip import Skip
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation, Mill
from gpre.reversals.reversals import ReversalKind
from gpre.rewrites.loops_off.cleared import Setups
from gpre.rewrites.loops_off.places import TurnInCut, travels_between, turns_in
from gpre.rewrites.loops_off.room import MORE, LoopWay, Room
from gpre.source.text import SourceText

HEAD = "G21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 Z5\n"
EVERY = frozenset(ReversalKind)
BACKLASH = {"x": Axis(lost_motion=0.09), "y": Axis(lost_motion=0.06)}
MILL = known_mill(**BACKLASH, compensation=Compensation("controller"))


def context_of(text: str, job: Job | None = None, mill: Mill = MILL) -> Context:
    told = count(SourceText.of((HEAD + text + "G0 Z5\nM5\nM30\n").encode()), mill)
    job = job or Job({1: Tool(6.0)})
    cuts = find_cuts(told.motion)
    return Context(told.program, told.motion, told.reversals, cuts, mill, job)


def turns_of(context: Context) -> list[TurnInCut]:
    return [
        turn for cut in context.cuts for turns in turns_in(context, cut, EVERY) for turn in turns
    ]


CIRCLE = "G0 X0 Y-20\nG1 Z-2 F100\nG1 Y-10\nG2 X0 Y-10 I0 J10 F300\n"


def test_a_circle_turns_at_its_quadrants_and_goes_on_the_other_way() -> None:
    turns = turns_of(context_of(CIRCLE))
    # left, top, right; the bottom is where the circle starts
    assert [turn.point[:2].round(6).tolist() for turn in turns] == [[-10, 0], [0, 10], [10, 0]]
    assert [turn.axes for turn in turns] == [(0,), (1,), (0,)]
    assert [turn.before.round(6).tolist() for turn in turns] == [[0, 1], [1, 0], [0, -1]]
    assert [turn.wanted.tolist() for turn in turns] == [[1, 1, 0], [1, -1, 0], [-1, -1, 0]]
    assert {turn.bend for turn in turns} == {-1}


def test_an_axis_whose_backlash_does_not_matter_is_left_out() -> None:
    mill = known_mill(x=Axis(lost_motion=0.001), y=Axis(lost_motion=0.06))
    assert {turn.axes for turn in turns_of(context_of(CIRCLE, mill=mill))} == {(1,)}


def test_a_corner_where_both_axes_turn_is_one_place() -> None:
    turns = turns_of(context_of("G0 X0 Y0\nG1 Z-2 F100\nG1 X10 Y10 F300\nG1 X5 Y5\n"))
    assert [(turn.axes, turn.along, turn.bend) for turn in turns] == [((0, 1), 0.0, 0)]
    assert turns[0].wanted.tolist() == [-1, -1, 0]


def test_a_turn_behind_a_plunge_is_another_matter() -> None:
    assert not turns_of(context_of("G0 X0 Y0\nG1 Z-2 F100\nG1 X-10 F300\n"))


def test_between_turns_an_axis_travels_or_stands() -> None:
    context = context_of("G0 X9 Y0\nG1 Z-2 F100\nG1 X0 Y9 F300\nG1 Y0\nG1 X9\nG1 Y9\n")
    first, *_, last = turns_of(context)
    assert travels_between(context, first, last, 1)
    alike = context_of("G0 X9 Y0\nG1 Z-2 F100\nG1 X0 Y9 F300\nG1 X9\nG1 Y0\n")
    x, y = turns_of(alike)
    assert not travels_between(alike, x, y, 1)
    assert travels_between(alike, x, y, 0)


def room_of(text: str, job: Job | None = None) -> tuple[Room, list[TurnInCut]]:
    context = context_of(text, job)
    return Room(context, context.cuts[-1], Setups(context.motion)), turns_of(context)


RINGS = "G0 X0 Y-24\nG1 Z-2 F100\nG2 X0 Y-24 I0 J24 F300\nG1 Y-23\nG2 X0 Y-23 I0 J23\n"


def test_a_straight_way_stands_clear_by_its_sagitta() -> None:
    room, turns = room_of(RINGS)
    way = room.way(turns[-1], at_once=False)
    assert way.centre is None
    # Pythagoras: s along the tangent of a radius of 23 - 3 mm is s²/2R off it, at least a tenth
    assert way.far == 3.0
    assert np.hypot(23.0, 3.0) - 3.0 >= 20.1 > np.hypot(23.0, 2.0) - 3.0
    off, on = way.lines(turns[-1].point[:2])
    assert off[-1].tolist() == pytest.approx(
        (turns[-1].point[:2] + 3.0 * turns[-1].before).tolist()
    )
    assert on[0].tolist() == pytest.approx((turns[-1].point[:2] - 3.0 * turns[-1].after).tolist())


def test_a_bent_way_leaves_on_the_tangent_and_ends_aside() -> None:
    outline = (
        "G0 X-15 Y-23\nG1 Z-2 F100\nG1 X0 F300\nG1 X-15\nG2 X-23 Y-15 R8\nG1 Y15\nG2 X-15 Y23 R8\n"
    )
    job = Job({1: Tool(6.0)}, Box((-20.0, -20.0, -9.0), (20.0, 20.0, 0.0)))
    room, turns = room_of(outline, job)
    turn = turns[-1]
    assert turn.point[:2].tolist() == [-23.0, 15.0]
    way = room.way(turn, at_once=False)
    assert way.open
    off, on = way.lines(turn.point[:2])
    for line, near in ((off, 0), (on, -1)):
        assert line[near].tolist() == pytest.approx([-23.0, 15.0])
        # so far off the wall that the tool may come down there at rapid: 0.5, and a little more
        assert line[-1 - near][0] == pytest.approx(-23.0 - 0.5 - MORE)
        step = np.diff(line, axis=0)[near]
        assert abs(step[0]) <= 0.01 * abs(step[1])  # on the tangent


def test_what_has_not_been_cut_as_deep_is_no_room() -> None:
    room, turns = room_of(RINGS.replace("G1 Y-23\n", "G1 Z-3\nG1 Y-23\n"))
    with pytest.raises(Skip, match="nothing shows"):
        room.way(turns[-1], at_once=False)


def test_where_the_rest_is_taken_off_later_there_is_no_wall() -> None:
    room, turns = room_of(f"{RINGS}G1 Y-20\nG2 X0 Y-20 I0 J20\n")
    inner = [turn for turn in turns if abs(np.hypot(*turn.point[:2]) - 23.0) < 1e-6]
    with pytest.raises(Skip, match="leaves no mark"):
        room.way(inner[1], at_once=False)


@pytest.mark.parametrize(
    ("job", "needs"),
    [
        (Job(), ("tool 1", "stock")),
        (Job({}, Box((0.0, 0.0, -1.0), (1.0, 1.0, 0.0))), ("tool 1",)),
        (Job({1: Tool(6.0, "ball")}), ()),
    ],
)
def test_a_tool_must_be_known_and_flat(job: Job, needs: tuple[str, ...]) -> None:
    with pytest.raises(Skip) as caught:
        room_of(RINGS, job)
    assert caught.value.needs == needs


def test_the_same_turn_deeper_down_a_helix_is_looked_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # a rough ring has been cut to the depth of the twentieth turn of the helix within it
    rough = "G0 X0 Y-24\nG1 Z-2 F100\nG2 X0 Y-24 I0 J24 F300\nG0 Z5\nG0 X0 Y-23\nG1 Z0 F100\n"
    text = rough + "G2 X0 Y-23 Z-4 I0 J23 P40 F300\nG2 X0 Y-23 I0 J23\n"
    room, turns = room_of(text)
    made: list[TurnInCut] = []
    plain = Room._way

    def counted(room: Room, turn: TurnInCut, *, at_once: bool) -> LoopWay:
        made.append(turn)
        return plain(room, turn, at_once=at_once)

    def told(look: Callable[..., LoopWay], room: Room, turn: TurnInCut) -> object:
        try:
            way = look(room, turn, at_once=False)
        except Skip as why:
            return why.reason, why.needs
        return way.off.round(6).tolist(), way.on.round(6).tolist(), round(way.far, 6)

    monkeypatch.setattr(Room, "_way", counted)
    falling = [turn for turn in turns if turn.along]
    found = [told(Room.way, room, turn) for turn in falling]
    assert found == [told(plain, room, turn) for turn in falling]
    assert len(falling) > 150
    assert len(made) <= 20
    assert len(set(map(str, found))) > 1


def test_each_setup_is_looked_at_by_itself() -> None:
    cut = "X{0}\nG1 Z-1 F100\nX{1}\nG0 Z5\n"
    parts = [cut.format(10 * at, 10 * at + 5) for at in range(4)]
    motion = context_of("M0\n".join(parts)).motion
    setups = Setups(motion)
    feeding = np.flatnonzero(motion.at_feed)
    for row in feeding.tolist():
        same = [one for one in feeding.tolist() if abs(one - row) <= 1]
        same = [one for one in same if motion.end[one, 0] // 10 == motion.end[row, 0] // 10]
        assert setups.of(row).rows.tolist() == same


@pytest.mark.parametrize(
    ("arc", "onward", "bend"), [("G2 X-30", -29.995, -1), ("G3 X-10", -10.005, 1)]
)
def test_a_path_bends_as_the_arc_that_leads_to_a_straight(arc: str, onward: float, bend: int):
    """X turns where a quarter ends upright and the line behind it leans back a little."""
    quarter = f"G0 X-20 Y-10\nG1 Z-2 F100\n{arc} Y0 I0 J10 F300\n"
    (turn,) = turns_of(context_of(f"{quarter}G1 X{onward} Y10\n"))
    assert (turn.along, turn.axes, turn.bend) == (0.0, (0,), bend)


def test_what_is_cut_later_is_no_part_of_the_room() -> None:
    context = context_of(f"{RINGS}G0 Z5\nX60\nG1 Z-1 F40\nX70\n")
    room = Room(context, context.cuts[0], Setups(context.motion))
    assert room.rows.max() < context.cuts[0].last
    assert set(room.rows) >= set(range(context.cuts[0].first, context.cuts[0].last))


def test_a_fin_within_the_clearance_is_a_wall() -> None:
    """What stands between the part and its clearance counts, also where nothing is behind it."""

    class Fin:
        def touches(self, place: np.ndarray, off: float) -> bool:
            return abs(off - 0.25) < 0.02

    room, turns = room_of(RINGS)
    assert room._near_wall(Fin(), turns[-1].point[:2])


def test_a_move_from_where_nobody_knows_makes_no_room() -> None:
    """Behind G28 no axis is known until it is named: X5, Y5 and the way to Z-2 are left out."""
    context = context_of("G28\nG1 X5 F100\nY5\nX0 Y0 Z-2\nX10\n")
    motion = context.motion
    (row,) = np.flatnonzero(motion.at_feed & (motion.end[:, 0] == 10.0))
    assert Setups(motion).of(int(row)).rows.tolist() == [row]
