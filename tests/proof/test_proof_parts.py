"""Parts of the proof one by one: columns, rooms, what must stay, both ways of a switch."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from known_mill import KNOWN
from proof_programs import HOLES, RIM, RIM_JOB, moved_start
from steps import steps

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Mill
from gpre.motion.controller import Controller
from gpre.proof.boxed import clear_of_stock
from gpre.proof.columns import Passes, ToolColumns, chains, flat_lengths, tops
from gpre.proof.proof import Obligation, Proof
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

MILL = KNOWN


def side(text: str) -> Side:
    return Side.of(SourceText.of(text.encode()), MILL)


def proof_of(before: str, after: str, mill: Mill = MILL, job: Job | None = None) -> Proof:
    return prove(SourceText.of(before.encode()), SourceText.of(after.encode()), mill, job)


def failed(before: str, after: str, mill: Mill = MILL, job: Job | None = None) -> set[str]:
    return {each.name for each in proof_of(before, after, mill, job).failed}


@pytest.mark.parametrize("code", [0, 1, 2, 3, 17, 18, 19, 73, *range(80, 90), 90.1, 91.1, 98, 99])
def test_a_new_block_of_motion_may_stand_anywhere(code: float) -> None:
    assert "untouched blocks" not in failed(RIM, RIM.replace("M9\n", f"G{code:g}\nM9\n"))


@pytest.mark.parametrize("words", ["G4 P1", "G10 L2 P1 Z5", "G92 Z5", "G54", "G43 H2", "M0", "S5"])
def test_a_new_block_of_more_than_motion_may_not(words: str) -> None:
    assert "untouched blocks" in failed(RIM, RIM.replace("M9\n", f"{words}\nM9\n"))


# columns


point_of = st.integers(0, 2)
passes_of = st.lists(
    st.tuples(
        point_of,
        st.integers(0, 5),
        st.floats(-9.0, 9.0),
        st.integers(0, 40).map(float),
        st.integers(0, 2),
        st.booleans(),
    ),
    max_size=14,
)


@given(passes_of)
def test_tops_are_the_lowest_of_earlier_visits(
    rows: list[tuple[int, int, float, float, int, bool]],
) -> None:
    rows = sorted(set(rows), key=lambda row: (row[0], row[1], row[3]))
    columns = [np.array(column) for column in zip(*rows, strict=True)] or [np.zeros(0)] * 6
    point, row, height, along, chain, feed = columns
    passes = Passes(
        point.astype(np.intp), row.astype(np.intp), height, along, chain.astype(np.intp),
        feed.astype(bool), height, point.astype(np.intp),
    )  # fmt: skip
    found = tops(passes, 1.5)
    visits: list[tuple[int, int, float, float]] = []  # point, chain, along, lowest
    for at, (p, _, z, s, c, f) in enumerate(rows):
        if not visits or visits[-1][:2] != (p, c) or s - visits[-1][2] > 1.5:
            visits.append((p, c, s, np.inf))
        earlier = [low for q, _, _, low in visits[:-1] if q == p]
        assert found[at] == pytest.approx(min(earlier, default=np.inf), abs=1e-9)
        lowest = min(visits[-1][3], z) if f else visits[-1][3]
        visits[-1] = (p, c, s, lowest)


def test_passes_find_arcs_by_their_own_shape() -> None:
    made = side("G21 G90 F200\nG0 X5 Y0 Z1\nG1 Z-1\nG3 X5 Y0 Z-2 I-5 J0\nG3 X5 Y0 I-5 J0\n")
    columns = ToolColumns(made, made.feeding, 0.002)
    angle = 2.0
    at = np.array([[5 * np.cos(angle), 5 * np.sin(angle)]])
    passes = columns.passes(at)
    share = angle / (2 * np.pi)
    assert sorted(passes.height.tolist()) == pytest.approx([-2.0, -1.0 - share], abs=1e-9)
    both = np.arange(2)
    for height in (-2.0, -1.0 - share):
        through = columns.through(passes, both, np.column_stack((at[[0, 0]], [height] * 2)))
        assert passes.height[through].tolist() == pytest.approx([height])
    assert not len(columns.passes(at * 1.0005).row)


def test_passes_come_in_the_order_of_travel() -> None:
    made = side("G21 G90 F200\nG0 X0 Y0 Z1\nG1 Z-1\nG1 X9\nG1 X0\nG1 X9 Z-2\nG1 Z1\n")
    columns = ToolColumns(made, made.feeding, 0.002)
    passes = columns.passes(np.array([[9.0, 0.0], [3.0, 0.0], [3.0, 5.0]]))
    assert passes.place.tolist() == [0, 0, 0, 0, 1, 1, 1]
    assert np.diff(passes.row).tolist() == [1, 1, 1, -3, 1, 1]
    assert passes.height[4:].tolist() == pytest.approx([-1.0, -1.0, -1.0 - 1 / 3])
    # up out of the metal at X9 the tool passes every height
    point = np.tile([9.0, 0.0, 0.5], (4, 1))
    assert passes.row[columns.through(passes, np.arange(4), point)].tolist() == [passes.row[3]]


def test_how_far_moves_go_in_the_plane_of_the_table() -> None:
    made = side(
        "G21 G90 F200\nG0 X0 Y0 Z0\nG18\nG1 X3 Y4 Z9\nG17\nG1 X6 Y8 Z0\nG3 X26 Y8 Z-5 I10 J0\n"
        "G18 G3 X36 Z-5 I5 K0\nG28 X0\nG1 X10\nG1 Y20\n"
    )
    flat = flat_lengths(made)
    assert flat[1:4].tolist() == pytest.approx([5.0, 5.0, 10.0 * np.pi])
    assert np.isfinite(flat).all()


def test_a_cut_is_a_run_of_moves_at_feed() -> None:
    made = side("G21 G90 F200\nG0 X1\nG1 X2\nG1 X3\nG0 X4\nG1 X5\nM8\nG1 X6\n")
    assert np.diff(chains(made)).tolist() == [1, 0, 1, 1, 1]


# what must stay


MACRO = """G21 G90 G17 F300
G0 Z5
G0 X10
G1 Z-1
G1 X20
G0 Z5
G65 P9010 X1 Y2
G90 G0 Z5
M30
"""


def test_what_is_not_understood_keeps_its_place_and_modes() -> None:
    assert "position at stops" in failed(MACRO, MACRO.replace("G1 X20\nG0 Z5\n", "G1 X20\nG0 Z6\n"))
    # the macro would run at another feed
    slower = MACRO.replace("G1 X20\nG0 Z5\n", "G1 X20\nG0 Z5\nF250\nG0 X20\n")
    assert failed(MACRO, slower)
    assert "untouched blocks" in failed(MACRO, MACRO.replace("X1 Y2", "X1  Y2"))


@pytest.mark.parametrize(
    ("height", "top", "clear"), [(2, 0.0, True), (2, 2.5, False), (5, 9.0, False)]
)
def test_coolant_may_stop_elsewhere_above_the_stock_or_the_travel(
    height: float, top: float, *, clear: bool
) -> None:
    """The program travels at Z5, which says nothing where the stock is higher."""
    job = Job(stock=Box((-6.0, -6.0, -20.0), (46.0, 36.0, top)))
    before = RIM.replace("G0 Z5\nM9", f"G0 Z{height}\nM9")
    elsewhere = before.replace("M9", "G0 X1\nM9")
    assert ("position at stops" not in failed(before, elsewhere, job=job)) == clear
    lower = before.replace(f"G0 Z{height}\nM9", f"G0 Z{height - 0.1:g}\nM9")
    assert "position at stops" in failed(before, lower, job=job)


JUMP = """G21 G90
#1=3
IF [#1 GT 2] GOTO 100
G0 X1
N100 G0 Z5
M30
"""


def test_block_numbers_that_a_jump_may_seek_stay_unique() -> None:
    after = JUMP.replace("G21 G90\n", "G21 G90\nN100 G0 X0\n")
    assert any("stands twice" in each.figure for each in proof_of(JUMP, after).failed)


def test_blocks_that_are_not_followed_stay_as_they_are() -> None:
    assert failed(JUMP, JUMP.replace("G0 X1", "G0 X2")) >= {"readable"}


def test_new_faults_are_named() -> None:
    proof = proof_of(RIM, RIM.replace("G1 X40 F300", "G2 X40 F300"))
    first = next(each for each in proof.failed if each.name == "readable")
    assert "INT" in first.figure
    assert first.after is not None


def test_the_line_of_a_new_fault_is_told_though_others_come_before_it() -> None:
    faulty = RIM.replace("M9\n", "G1 X5 X6\nM9\n")  # one axis twice
    worse = faulty.replace("G1 X40 F300", "G2 X40 F300", 1)  # an arc without its centre
    found = next(each for each in proof_of(faulty, worse).failed if each.name == "readable")
    assert worse.splitlines()[found.after or 0] == "G2 X40 F300"


def test_the_first_block_makes_the_first_move() -> None:
    made = side("G1 X5 F100\nX9\n")
    assert [made.block_of(row) for row in (None, -1, 0, 1, 2)] == [None, None, 0, 1, None]


SWITCHED = RIM.replace("G1 Z-2 F100\n", "/G0 Z5\n/G0 X0 Y0\n/G0 Z-1\nG1 Z-2 F100\n")


def test_it_must_hold_with_the_block_delete_switch_on_and_off() -> None:
    assert failed(SWITCHED, SWITCHED.replace("G1 Y30\n", "G1 Y30 F300\n")) == set()
    # right with the switch off; with it on nothing moves to the start of the second loop
    broken = SWITCHED.replace("G1 X0\nG1 Y0\n/G0 Z5", "G1 X0\nG1 Y0\nG1 X1\n/G0 Z5")
    proof = proof_of(SWITCHED, broken)
    assert any("block delete on" in each.figure for each in proof.failed)


# numbers that no mill has


@pytest.mark.parametrize(
    "odd", ["G1 Z-99999999999999999999", "F9999999999999999999999999", "G9999999999999999999999"]
)
def test_numbers_too_great_for_whole_ones(odd: str) -> None:
    text = f"G21 G90 G17 F200\nG0 X0 Y0 Z5\nG1 Z-1\n{odd}\nG1 X9\nG1 Y5\nG0 Z5\nG0 X3\nM30\n"
    assert failed(text, text.replace("G0 X3", "G91 X3"))
    assert not failed(text, text.replace("M30", "(as it was)\nM30"))


# compensated, rotary and unknown moves


@pytest.mark.parametrize(
    "body",
    [
        "G41 D1\nG1 X10\nG1 Y10\nG40\n",
        "G1 A10\nG1 X10\nG1 Y10\n",
        "G28 Z0\nG1 X10\nG1 Y10\n",
    ],
)
def test_moves_that_may_not_be_touched(body: str) -> None:
    text = f"G21 G90 F300\nT1 M6\nG0 X0 Y0 Z5\n{body}M30\n"
    assert failed(text, text.replace("M30", "(as it was)\nM30")) == set()
    assert failed(text, text.replace("G1 X10\nG1 Y10\n", "G1 X10\nG1 Y5\nG1 Y10\n"))


# a place in one work system is another in the next


TWO_SYSTEMS = """G21 G90 F300
T1 M6
G54
G0 Z30
G0 X5 Y0
G0 Z5
G1 Z-3
G1 X40
G0 Z30
G55
G0 X0 Y0
G0 Z5
G0 X5
G1 Z-3
G1 X40
G0 Z30
M30
"""


def test_what_is_cut_in_one_work_system_makes_no_room_in_another() -> None:
    head, second = TWO_SYSTEMS.split("G55\n")
    fast = head + "G55\n" + second.replace("G1 Z-3", "G0 Z-2.5\nG1 Z-3")
    tool = Job({1: Tool(6.0)})
    assert "air moves" in failed(TWO_SYSTEMS, fast, job=tool)
    # within one system the way down is free
    one = TWO_SYSTEMS.replace("G55\n", "")
    assert "air moves" not in failed(one, fast.replace("G55\n", ""), job=tool)


# travel


def test_new_moves_stay_within_the_travel_of_the_profile() -> None:
    mill = Mill(x=Axis(travel=(-3.0, 100.0)), controller=Controller(origins={1: (0.0, 0.0, 0.0)}))
    approach = RIM.replace("M8\nG0 Z1\n", "M8\nG0 X-1.25\nG0 X0\nG0 Z1\n")
    far = approach.replace("X-1.25", "X-4")
    assert failed(RIM, approach, mill) == set()
    assert failed(RIM, far, mill) == {"travel"}
    assert "profile" in next(iter(proof_of(RIM, far, mill).failed)).figure


def test_the_block_that_runs_farthest_out_of_the_travel_is_told() -> None:
    mill = Mill(x=Axis(travel=(-3.0, 100.0)), controller=Controller(origins={1: (0.0, 0.0, 0.0)}))
    far = RIM.replace("M8\nG0 Z1\n", "M8\nG0 X-4\nG0 X-7\nG0 X-5\nG0 X0\nG0 Z1\n")
    found = next(each for each in proof_of(RIM, far, mill).failed if each.name == "travel")
    assert far.splitlines()[found.after or 0] == "G0 X-7"
    assert found.value == pytest.approx(4.0)


@pytest.mark.parametrize(("more", "holds"), [("1.37", True), ("1.38", False), ("1.48", False)])
def test_without_a_travel_moves_stay_within_an_approach_of_the_originals(
    more: str, *, holds: bool
) -> None:
    """An approach overshoots by 1.25 mm, the profile's default; a tenth of it is for rounding."""
    assert MILL.overshoot(0) == 1.25
    for axis, end in (("X", 40), ("Y", 30)):
        for place in (f"-{more}", f"{end + float(more):g}"):
            way = f"M8\nG0 {axis}{place}\nG0 {axis}0\nG0 Z1\n"
            assert ("travel" not in failed(RIM, RIM.replace("M8\nG0 Z1\n", way))) == holds


def test_a_tool_is_clear_of_the_stock_by_its_radius() -> None:
    """Beside a box that begins at X0: a cutter of 6 mm, and one that is not named."""
    body = "G21 G90 F200\nT1 M6\nG0 X-9 Y5 Z5\nG1 Z-2\nG1 X{}\nG1 Y6\nG0 Z5\nM30\n"
    box = Box((0.0, 0.0, -9.0), (50.0, 50.0, 0.0))
    for x, clear in (("-3.001", True), ("-2.999", False), ("-1.6", False)):
        one = side(body.format(x))
        pair = Pair(one, one, MILL, Job({1: Tool(6.0)}, box))
        assert clear_of_stock(pair, one, one.feeding).tolist() == [True, clear, clear]
        assert not clear_of_stock(pair, one, one.feeding[:0]).size
        unnamed = Pair(one, one, MILL, Job({2: Tool(6.0)}, box))
        assert not clear_of_stock(unnamed, one, one.feeding).any()


@pytest.mark.parametrize(("low", "holds"), [("-1.9", True), ("-2.001", False), ("-3", False)])
def test_without_a_travel_nothing_goes_lower_than_the_original(low: str, *, holds: bool) -> None:
    after = RIM.replace("M8\nG0 Z1\n", f"M8\nG0 Z{low}\nG0 Z1\n")
    assert ("travel" not in failed(RIM, after)) == holds
    higher = RIM.replace("M8\nG0 Z1\n", "M8\nG0 Z6.2\nG0 Z1\n")  # less than an approach
    assert "travel" not in failed(RIM, higher)


def test_what_room_the_moves_keep_to_is_told() -> None:
    """The travel of the profile, or what the original overran of it itself."""
    controller = Controller(origins={1: (0.0, 0.0, 0.0)})
    after = RIM.replace("M8\nG0 Z1\n", "M8\nG0 X1\nG0 X0\nG0 Z1\n")
    for travel, told in (
        ((-3.0, 100.0), ""),
        ((5.0, 100.0), " or where"),
        ((-3.0, 30.0), " or wh"),
    ):
        mill = Mill(x=Axis(travel=travel), controller=controller)
        found = next(
            each for each in proof_of(RIM, after, mill).obligations if each.name == "travel"
        )
        assert found.holds
        assert (f"the travel of the profile{told}" in found.figure, "leaves" in found.figure) == (
            True, told != "",
        )  # fmt: skip


# gates of form


@pytest.mark.parametrize("ends", ["\r\n", "\r", "\n"])
def test_line_ends_are_kept_whatever_they_are(ends: str) -> None:
    before, after = RIM.replace("\n", ends), moved_start().replace("\n", ends)
    assert failed(before, after, job=RIM_JOB) == set()
    assert failed(before, after[: -len(ends)], job=RIM_JOB) == {"line ends and layout"}
    assert "line ends and layout" in failed(before, f"\N{ZERO WIDTH NO-BREAK SPACE}{after}")


def test_figures_are_shown_for_people() -> None:
    proof = proof_of(HOLES, HOLES.replace("X30 Y25", "X30 Y25.01"))
    path = next(each for each in proof.obligations if each.name == "cutting path")
    assert path == Obligation(
        "cutting path",
        holds=False,
        figure=path.figure,
        value=pytest.approx(0.01),
        limit=0.002,
        before=path.before,
        after=path.after,
    )
    assert "0.0100 mm" in path.figure
    assert 6 in {path.before, path.after}


def test_a_heap_of_moves_over_one_place_is_refused_and_not_worked_at_for_ever() -> None:
    square = "G1 X1 F100\nG1 Y1\nG1 X-1\nG1 Y-1\n"

    def prove_heap(squares: int) -> int:
        text = f"G21 G91\nG0 Z5\n{square * squares}G90\nM30\n"
        changed = text.replace("G1 Y1\n", "G1 Y0.5\nY0.5\n")
        proof = proof_of(text, changed)
        assert not proof.holds
        assert any("too many moves" in each.figure for each in proof.failed)
        return steps(lambda: proof_of(text, changed))

    assert prove_heap(3_000) <= 4.5 * prove_heap(750)
