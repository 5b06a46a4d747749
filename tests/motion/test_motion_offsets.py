"""Offsets, machine coordinates, home and probing: NISTIR 6556, 3.5.5 to 3.5.13 and 3.5.18."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_checks import codes, end_state, ends, events, kinds, run

from gpre.motion.events import EventKind


def machine_place(motion, move: int) -> tuple[float, ...]:
    origin = motion.state_of(move).origin
    return tuple(a + b for a, b in zip(motion.end[move].tolist(), origin, strict=True))


def test_g92_example_of_the_standard() -> None:
    # NISTIR 6556, 3.5.18: at X=4 `G92 x7` gives #5211=-3, then `G92 x9` gives -5
    one = end_state("G0 X4\nG92 x7\n#1=#5211")
    assert (one.position[0], one.parameters[1]) == (7, -3)
    two = end_state("G0 X4\nG92 x7\nG92 x9\n#1=#5211")
    assert (two.position[0], two.parameters[1]) == (9, -5)


def test_g92_moves_nothing_and_keeps_the_machine_where_it_is() -> None:
    motion = run("G0 X4 Y1\nG92 X7\nG0 X8")
    assert len(motion) == 2
    assert machine_place(motion, 1) == (5, 1, 0)
    assert motion.start[1].tolist() == [7, 1, 0]
    assert events(motion, EventKind.OFFSET) == [(1, 1, "G92")]


def test_g92_2_forgets_g92_3_brings_back_g92_1_wipes() -> None:
    # NISTIR 6556, 3.5.18
    assert end_state("G0 X4\nG92 X7\nG92.2").position[0] == 4
    assert end_state("G0 X4\nG92 X7\nG92.2\nG92.3").position[0] == 7
    assert end_state("G0 X4\nG92 X7\nG92.1\nG92.3").position[0] == 4
    assert end_state("G0 X4\nG92 X7\nG92.1\n#1=#5211").parameters[1] == 0


def test_g91_has_no_effect_on_g92() -> None:
    assert end_state("G0 X4\nG91 G92 X7").position[0] == 7


def test_g92_holds_in_all_systems() -> None:
    origins = {1: (0.0, 0.0, 0.0), 2: (100.0, 0.0, 0.0)}
    motion = run("G0 X4\nG92 X7\nG55\nG0 Y1", origins=origins)
    assert motion.start[1].tolist() == [7 - 100, 0, 0]
    assert machine_place(motion, 1) == (4, 1, 0)


def test_a_change_of_system_renumbers() -> None:
    # NISTIR 6556, 2.1.2.10 and 3.5.13
    origins = {1: (10.0, 20.0, 30.0), 2: (11.0, 22.0, 33.0), 9: (0.0, 0.0, 0.0)}
    motion = run("G0 X1 Y2 Z3\nG55\nX1\nG59.3\nX5", origins=origins)
    assert codes(motion) == []
    assert motion.start[1].tolist() == [0, 0, 0]
    assert motion.start[2].tolist() == [12, 22, 33]
    assert [motion.state_of(move).system for move in range(3)] == [1, 2, 9]
    assert events(motion, EventKind.OFFSET) == [(1, 1, "G55"), (3, 2, "G59.3")]


def test_unknown_origins_are_zero_with_one_note() -> None:
    motion = run("G0 X1\nG55 X2\nG56 X3\nG54 X4")
    assert codes(motion) == ["INT321"]
    assert [start[0] for start in motion.start.tolist()] == [0, 1, 2, 3]


def test_g10_sets_origins() -> None:
    # NISTIR 6556, 3.5.5
    motion = run("G10 L2 P2 X10 Y20 Z30\nG0 X1\nG55 X0 Y0 Z0\nG10 L2 P2 X11\nX0")
    assert codes(motion) == []
    assert machine_place(motion, 1) == (10, 20, 30)
    assert motion.start[2].tolist() == [-1, 0, 0]
    assert machine_place(motion, 2) == (11, 20, 30)
    assert events(motion, EventKind.OFFSET)[0] == (0, 0, "G10 L2 P2")


def test_g10_l20_names_the_place_where_the_tool_stands() -> None:
    motion = run("G0 X5 Y6\nG10 L20 P1 X0 Y1\nX2", origins={1: (100.0, 0.0, 0.0)})
    assert motion.start[1].tolist() == [0, 1, 0]
    assert motion.state_of(1).origin == (105, 5, 0)
    unknown = run("G28 X0\nG10 L20 P0 X3\nG0 X4")
    assert unknown.start[-1].tolist() == [3, 0, 0]


def test_g10_for_tools_moves_nothing() -> None:
    motion = run("G10 L1 P3 Z50 R2\nG0 X1")
    assert codes(motion) == []
    assert motion.start[0].tolist() == [0, 0, 0]


def test_tool_length_moves_and_renumbers_nothing() -> None:
    motion = run("G0 Z5\nG43 H3\nZ4\nG43 H3 Z3\nG49\nZ2")
    assert ends(motion)[-1] == (0, 0, 2)
    assert [motion.state_of(move).length_offset for move in range(4)] == [0, 3, 3, 0]
    assert [value for *_, value in events(motion, EventKind.OFFSET)] == ["G43 H3", "G49"]


def test_g43_without_h_takes_the_tool() -> None:
    assert end_state("T4 M6\nG43").state.length_offset == 4


def test_g53_goes_to_machine_coordinates_in_either_distance_mode() -> None:
    # NISTIR 6556, 3.5.12
    origins = {1: (100.0, 50.0, 200.0)}
    for distance in ("G90", "G91"):
        motion = run(f"{distance} G53 G0 Z0 X10\nG90 X1", origins=origins)
        assert codes(motion) == []
        assert ends(motion)[0] == (-90, 0, -200)
        assert motion.state_of(1).distance == 90


def test_g53_without_an_origin_is_not_guessed() -> None:
    motion = run("G0 X1 Z5\nG53 G0 Z0\nX2\nG53 Z0\nZ5")
    assert codes(motion) == ["INT320"]
    assert np.isnan(motion.end[:, 2]).tolist() == [False, True, True, True, False]


def test_home_unknown() -> None:
    # NISTIR 6556, 3.5.8: to the point given, then home
    motion = run("G0 X1 Y1 Z5\nG91 G28 Z2\nG90 G0 X3\nZ4")
    assert codes(motion) == ["INT328"]
    assert kinds(motion) == "RRRRR"
    assert motion.end[1].tolist() == [1, 1, 7]
    assert motion.end[2][:2].tolist() == [1, 1]
    assert math.isnan(motion.end[2][2])
    assert math.isnan(motion.end[3][2])
    assert motion.end[4].tolist() == [3, 1, 4]
    assert events(motion, EventKind.HOME) == [(1, 1, "G28")]


def test_home_moves_all_axes_where_the_controller_does() -> None:
    motion = run("G0 X1\nG28 Z2", g28_moves="all")
    assert np.isnan(motion.end[-1]).all()


def test_home_without_axis_words_is_one_move_of_all() -> None:
    # NISTIR 6556, 3.5.8
    motion = run("G0 X1\nG28")
    assert len(motion) == 2
    assert np.isnan(motion.end[1]).all()


def test_home_known() -> None:
    options = {"home": (0.0, 0.0, 300.0), "origins": {1: (10.0, 20.0, 100.0)}}
    motion = run("G0 X1 Z5\nG28 X2 Z9", **options)
    assert codes(motion) == []
    assert ends(motion)[1:] == [(2, 0, 9), (-10, 0, 200)]
    second = run("G30 Z9", second_home=(1.0, 2.0, 3.0), origins={1: (0.0, 0.0, 0.0)})
    assert ends(second) == [(0, 0, 9), (0, 0, 3)]
    third = run("G30 P3 Z9", second_home=(1.0, 2.0, 3.0), origins={1: (0.0, 0.0, 0.0)})
    assert math.isnan(third.end[1][2])


def test_a_modal_motion_is_suspended_beside_codes_that_take_the_axis_words() -> None:
    # NISTIR 6556, 3.4
    motion = run("G1 F9 X1\nG92 X0\nG10 L2 P2 X5\nG28 X3\nG90 X9")
    assert kinds(motion) == "LRRL"


def test_probing_leaves_the_place_unknown() -> None:
    # NISTIR 6556, 3.5.9
    motion = run("F9 G0 X1 Y1 Z5\nG38.2 Z-10\nG0 Z5\n#1=#5063")
    assert codes(motion) == ["INT337"]
    assert events(motion, EventKind.PROBE) == [(1, 1, "G38.2")]
    assert kinds(motion) == "RLR"
    assert motion.end[1][:2].tolist() == [1, 1]
    assert math.isnan(motion.end[1][2])
    assert motion.end[2].tolist() == [1, 1, 5]


def test_setting_an_origin_by_its_parameter_is_not_guessed() -> None:
    motion = run("G0 X1 Y1\n#5221=10\nG0 Y2\nX3", origins={1: (0.0, 0.0, 0.0)})
    assert math.isnan(motion.start[1][0])
    assert motion.end[2].tolist() == [3, 2, 0]
    later = run("#5241=10\nG55 G0 X1", origins={1: (0.0, 0.0, 0.0), 2: (0.0, 0.0, 0.0)})
    assert later.state_of(0).origin == (10, 0, 0)


@pytest.mark.parametrize("code", ["G92 X0", "G92.1", "G92.2", "G92.3", "G10 L2 P1 X5", "G55"])
def test_an_unknown_place_stays_unknown(code: str) -> None:
    motion = run(f"G0 X1 Y1 Z1\nG28 Z1\n{code}\nG0 Y9")
    assert math.isnan(motion.end[-1][2])
    assert not math.isnan(motion.end[-1][0])


def test_an_offset_in_a_block_at_fault_leaves_the_origin_unknown() -> None:
    motion = run("G0 X1 Z1\nG92 X5 X6\nG53 G0 Z0", origins={1: (0.0, 0.0, 0.0)})
    assert codes(motion) == ["INT320"]
    assert math.isnan(motion.end[-1][2])


def test_g10_of_another_system_moves_no_number() -> None:
    motion = run("G0 X1\nG10 L20 P2 X0\nG0 Y1\nG55 Y2")
    assert motion.start[1].tolist() == [1, 0, 0]
    assert motion.start[2].tolist() == [0, 1, 0]
