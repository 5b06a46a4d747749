"""Lifting over a turn: what it does to a boss, and that a bore is left alone with its reason."""

import numpy as np
import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation, Mill
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

HEAD = "G21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 Z5\n"
BACKLASH = {"x": Axis(lost_motion=0.09), "y": Axis(lost_motion=0.06)}
MILL = known_mill(**BACKLASH, compensation=Compensation("controller"))
JOB = Job({1: Tool(6.0)})


def boss(radius: float, room: float, *, code: str = "G2") -> str:
    rough = radius + room
    return (
        f"{HEAD}G0 X0 Y{-rough:g}\nG0 Z1\nG1 Z-2 F100\n{code} X0 Y{-rough:g} I0 J{rough:g} F300\n"
        f"G1 Y{-radius:g}\n{code} X0 Y{-radius:g} I0 J{radius:g}\nG0 Z5\nM5\nM30\n"
    )


def done(text: str, job: Job = JOB, mill: Mill = MILL, only: str = "lift-over") -> Rewritten:
    return rewrite(SourceText.of(text.encode()), mill, job, Options(only=(only,) if only else ()))


@pytest.mark.parametrize("code", ["G2", "G3"])
@pytest.mark.parametrize("radius", [8.0, 15.0, 40.0])
def test_no_turn_is_left_on_the_wall_of_a_boss(radius: float, code: str) -> None:
    result = done(boss(radius, 1.0, code=code))
    assert result.proof.holds
    motion, found = result.after.motion, result.after.reversals
    on_wall = found.in_cut & (np.abs(np.hypot(*found.position[:, :2].T) - radius) < 0.05)
    # the first place of the circle is the way in: that is for another rewrite
    assert [int(row) for row in found.move[on_wall] if found.position[row, 1] > -radius + 0.1] == []
    wall = [row for row in range(len(motion)) if motion.kind[row] == Kind.ARC]
    turned = sum(abs(motion.sweep[row]) for row in wall)
    assert turned == pytest.approx(4.0 * np.pi)  # each circle once round, no more and no less


# the rough cut is 6 wide; a ring of one more pass makes room enough for a rapid beside the wall
WIDER = "G1 Y-26\nG2 X0 Y-26 I0 J26\nG1 Y-23\n"
BLOCK = Box((-40.0, -40.0, -9.0), (40.0, 40.0, 0.0))


@pytest.mark.parametrize(
    ("wider", "stock", "begins", "off"),
    [
        (False, None, 5.0, 0.1),  # the walls may stand as high as the program travels
        (False, BLOCK, 1.0, 0.1),  # the wall ends at Z0
        (True, None, -1.0, 0.5),
        (True, BLOCK, -1.0, 0.5),
    ],
)
def test_the_tool_comes_down_clear_of_the_wall_and_slow(
    *, wider: bool, stock: Box | None, begins: float, off: float
) -> None:
    text = boss(23.0, 1.0).replace("G1 Y-23\n", WIDER if wider else "G1 Y-23\n")
    result = done(text, Job({1: Tool(6.0)}, stock))
    assert result.proof.holds
    motion = result.after.motion
    down = [
        row
        for row in range(6, len(motion))
        if motion.kind[row] == Kind.LINE and motion.end[row, 2] < motion.start[row, 2]
    ]
    assert len(down) == 3
    for row in down:
        # a tool of radius 3 leaves the wall, 20 mm from the centre, by at least so much
        assert np.hypot(*motion.end[row, :2]) - 3.0 >= 20.0 + off
        assert motion.feed[row] == 100.0
        assert motion.start[row, 2] == begins


def test_the_top_of_the_stock_counts_only_where_all_is_cut_from_one_zero() -> None:
    """From another zero the stock stands elsewhere: down at feed from where the tool travels."""
    other = "G55\nG0 Z5\nX0 Y0\nG1 Z-1 F100\nX5\nG0 Z5\n"
    text = boss(23.0, 1.0).replace("M5\n", f"{other}M5\n").replace("G94\n", "G94 G54\n")
    zeros = {1: (100.0, 100.0, -50.0), 2: (300.0, 100.0, -60.0)}
    result = done(text, Job({1: Tool(6.0)}, BLOCK, origins=zeros))
    motion = result.after.motion
    down = (motion.kind == Kind.LINE) & (motion.end[:, 2] < motion.start[:, 2])
    assert down.sum() > 2
    assert (motion.start[down, 2][1:] == 5.0).all()


def test_all_backlash_is_taken_up_before_the_wall_is_met_again() -> None:
    motion = done(boss(23.0, 1.0)).after.motion
    arcs = [row for row in range(len(motion)) if motion.kind[row] == Kind.ARC][2:]
    for row in arcs:
        ways = np.sign(motion.end[row, :2] - motion.start[row, :2])
        before = motion.end[row - 6 : row, :2] - motion.start[row - 6 : row, :2]
        for axis in range(2):
            moving = before[np.abs(before[:, axis]) > 0, axis]
            assert np.sign(moving[-1]) == ways[axis]
            # as far as the approach distance, 1.25 mm, from a turn in the air
            run = 0.0
            for each in moving[::-1]:
                if np.sign(each) != ways[axis]:
                    break
                run += abs(each)
            assert run >= 1.25 - 1e-9


def test_a_bore_is_left_to_other_means() -> None:
    turns = "".join(f"G3 X9 Y0 Z{-(each + 1) * 0.5:g} I-9 J0 F300\n" for each in range(12))
    text = f"{HEAD}X9 Y0\nG0 Z1\nG1 Z0 F80\n{turns}G3 X9 Y0 I-9 J0\nG1 X0\nG0 Z5\nM5\nM30\n"
    job = Job({1: Tool(10.0)}, Box((-30.0, -30.0, -10.0), (30.0, 30.0, 0.0)))
    result = done(text, job)
    assert result.data == text.encode()
    assert any("without turning at it" in each.reason for each in result.plan.refused)


@pytest.mark.parametrize("by", ["none", "program"])
def test_only_a_controller_that_stops_is_helped(by: str) -> None:
    text = boss(23.0, 1.0)
    result = done(text, mill=known_mill(**BACKLASH, compensation=Compensation(by)))
    assert result.data == text.encode()
    assert not result.plan.refused


def test_where_the_room_is_too_narrow_it_stays() -> None:
    # clear by a tenth needs more than a tenth of room
    text = boss(23.0, 0.05)
    assert done(text).data == text.encode()


def test_all_rewrites_together_come_to_rest() -> None:
    text = boss(23.0, 1.0)
    first = done(text, only="")
    assert first.proof.holds
    assert first.after.in_cut < first.before.in_cut - 2
    again = done(first.data.decode(), only="")
    assert again.data == first.data


def test_a_turn_where_a_slot_has_taken_the_wall_stays() -> None:
    """A slot as wide as the tool runs out through the wall where X turns: no mark can be left.

    3.3 mm to either side the tool touches the wall again, so it is not in the air for long.
    """
    text = boss(100.0, 2.0)
    slot = (
        "G0 Z5\nG0 X-110 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X-85 F300\n"
        "G0 Z5\nG0 X0 Y-102\nG0 Z1\nG1 Z-2 F100\n"
    )
    assert done(text).data.count(b"(lift over)") == 3
    result = done(text.replace("G1 Y-100\n", f"{slot}G1 Y-100\n"))
    assert result.data.count(b"(lift over)") == 2
    motion = result.after.motion
    aside = np.abs(motion.end[:, :2] - (-100.0, 0.0)).max(axis=1) < 5.0
    assert not aside.any()  # the half circle runs on past the slot in one move


def test_what_a_subprogram_cuts_twice_stays() -> None:
    """Lifts written into it would be made in the second run too, where nothing is known of them."""
    ring = boss(23.0, 1.0).removeprefix(HEAD).removesuffix("M5\nM30\n")
    once = f"{HEAD}M98 P7\nM5\nM30\nO7\n{ring}M99\n"
    assert b"(lift over)" in done(once).data
    twice = once.replace("M98 P7\n", "M98 P7\nM98 P7\n")
    result = done(twice)
    assert result.data == twice.encode()
    assert {each.reason for each in result.plan.refused} == {
        "the block belongs to a subprogram that runs more than once"
    }
