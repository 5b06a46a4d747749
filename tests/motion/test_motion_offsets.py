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


def test_a_system_of_unknown_origin_loses_the_place_with_one_note() -> None:
    motion = run("G0 X1\nG55 X2\nX5\nG56 X3\nG54 X4")
    assert codes(motion) == ["INT321"]
    assert np.isnan(motion.start[:, 0]).tolist() == [False, True, False, True, True]
    assert np.isnan(motion.start[1:, 1]).all()
    assert [end[0] for end in motion.end.tolist()] == [1, 2, 5, 3, 4]
    why = [(each.axis, each.block, each.first, each.last, each.reason) for each in motion.unknown]
    assert (0, 1, 1, 2, "the origins of G54 and G55 are not in the profile") in why
    assert (1, 1, 1, 3, "the origins of G54 and G55 are not in the profile") in why


def test_known_origins_keep_the_place() -> None:
    # machine coordinates stay: 100 + 1 is 130 - 29
    motion = run("G0 X1\nG55 Y2", origins={1: (100.0, 0.0, 0.0), 2: (130.0, 0.0, 0.0)})
    assert motion.start[1].tolist() == [-29, 0, 0]
    assert motion.unknown == ()
    one = run("G0 X1\nG55 Y2", origins={1: (100.0, 0.0, 0.0)})
    assert np.isnan(one.start[1]).all()
    assert one.unknown[0].reason == "the origin of G55 is not in the profile"


def test_a_system_restated_loses_nothing() -> None:
    motion = run("G0 X1\nG54 Y2\nG54 Z3")
    assert motion.end[-1].tolist() == [1, 2, 3]
    assert motion.unknown == ()


def test_a_tool_change_may_move_axes_unless_the_profile_says_otherwise() -> None:
    text = "G0 X1 Y2 Z3\nT2 M6\nG0 X5\nZ6\nY7"
    lost = run(text)
    assert np.isnan(lost.start[1]).all()
    assert {each.reason for each in lost.unknown} == {
        "where the tool change leaves the axes is not in the profile"
    }
    assert lost.end[-1].tolist() == [5, 7, 6]
    only_z = run(text, tool_change_moves="z")
    assert np.isnan(only_z.start[1]).tolist() == [False, False, True]
    # NISTIR 6556, 3.6.3: the axes end where they stood
    assert run(text, tool_change_moves="none").start[1].tolist() == [1, 2, 3]


def test_a_tool_length_renumbers_z_where_both_are_known() -> None:
    # NISTIR 6556, 3.5.11: the length is added to Z; G49 and H0 are a length of zero
    text = "G0 X1 Z5\nG43 H3\nX2\nG43 H4\nX3\nG49\nX4\nG43 H0\nX5"
    known = run(text, lengths={3: 80.0, 4: 50.0})
    assert known.end[:, 2].tolist() == [5, -75, -45, 5, 5]
    lost = run(text, lengths={3: 80.0})
    assert np.isnan(lost.end[:, 2]).tolist() == [False, False, True, True, True]
    assert [(each.block, each.reason) for each in lost.unknown if each.axis == 2] == [
        (3, "the length of H4 is not in the profile"),
        (5, "the length of H4 is not in the profile"),
    ]


def test_machine_coordinates_in_z_count_the_tool_length() -> None:
    options = {"origins": {1: (100.0, 50.0, -120.0)}, "lengths": {3: 80.0}}
    motion = run("G0 Z5\nG43 H3 Z10\nG53 G0 Z0", **options)
    assert motion.end[-1][2] == 0.0 + 120.0 - 80.0
    assert motion.placed.all()
    unknown = run("G0 Z5\nG43 H9 Z10\nG53 G0 Z0 X1", **options)
    assert np.isnan(unknown.end[-1]).tolist() == [False, False, True]
    assert unknown.unknown[-1].reason == "where G53 leads: the length of H9 is not in the profile"


@pytest.mark.parametrize("code", ["G10 L1 P3 Z50", "G10 L10 P3 R2", "G10 L50"])
def test_a_table_set_anew_makes_its_lengths_unknown(code: str) -> None:
    motion = run(f"G43 H3 Z5\n{code}\nX2\nZ9\nG43 H3 X3", lengths={3: 80.0})
    assert np.isnan(motion.end[:, 2]).tolist()[:3] == [False, True, False]
    again = run(f"G49 Z5\n{code}\nG43 H3 X3", lengths={3: 80.0})
    assert np.isnan(again.end[-1][2])


def test_what_an_earlier_program_left_for_g92_3_is_not_known() -> None:
    # NISTIR 6556, 3.5.18: the parameters 5211 and on keep what a program before set
    assert np.isnan(run("G0 X1\nG92.3\nY2").start[1]).all()
    assert run("G0 X1\nG92.1\nG92.3\nY2").end[-1].tolist() == [1, 2, 0]
    # what it left in force may be another offset than the one that it stored (G92.2 keeps it)
    open_ = run("G0 X1 Y1 Z1\nG92.3\nX2 Y2 Z2\nG92.3\nX3 Y3 Z3", start_known=False)
    assert np.isnan(open_.start[1]).all()
    assert open_.start[2].tolist() == [2, 2, 2]  # brought back once, it is the one in force


def test_a_zero_set_for_a_system_that_need_not_be_in_force_tells_no_place() -> None:
    # NISTIR 6556, 3.5.5: G10 sets the origin of the system that P names, whichever is in force
    text = "G0 X1 Y1 Z1\nG10 L20 {} X9\nG0 X5 Y5 Z5"
    assert np.isnan(run(text.format("P1"), start_known=False).start[1][0])
    assert run(text.format("P0"), start_known=False).start[1][0] == 9
    assert run(text.format("P1"), start_known=True).start[1][0] == 9
    assert run("G54\n" + text.format("P1"), start_known=False).start[1][0] == 9


def test_g10_sets_origins() -> None:
    # NISTIR 6556, 3.5.5
    text = "G10 L2 P2 X10 Y20 Z30\nG0 X1\nG55 X0 Y0 Z0\nG10 L2 P2 X11\nX0"
    motion = run(text)
    assert codes(motion) == ["INT321"]
    assert np.isnan(motion.start[1]).all()
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


def test_a_tool_length_moves_nothing() -> None:
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
        assert codes(motion) == ["INT354"] * (distance == "G91")  # some controllers differ
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
    lost = code in {"G92.3", "G10 L2 P1 X5", "G55"}
    assert math.isnan(motion.end[-1][0]) == lost


def test_zeros_set_at_unknown_places_are_never_the_same() -> None:
    motion = run("G28 X0\nG92 X0\nG0 X1 Y1 Z1\nG28 X0\nG92 X0\nG0 X1")
    frames = [motion.state_of(row).frame for row in (2, len(motion) - 1)]
    assert frames[0] != frames[1]
    # from a known place the numbers say how far apart the zeros lie
    known = run("G0 X4\nG92 X7\nG0 X8\nG92 X9\nG0 X10")
    assert [known.state_of(row).frame[1] for row in range(3)] == [0, 0, 0]


def test_an_offset_in_a_block_at_fault_leaves_the_origin_unknown() -> None:
    motion = run("G0 X1 Z1\nG92 X5 X6\nG53 G0 Z0", origins={1: (0.0, 0.0, 0.0)})
    assert codes(motion) == ["INT320"]
    assert math.isnan(motion.end[-1][2])


def test_g10_of_another_system_moves_no_number() -> None:
    text = "G0 X1\nG10 L20 P2 X0\nG0 Y1\nG55 Y2"
    motion = run(text, origins={1: (5.0, 5.0, 5.0), 2: (0.0, 0.0, 0.0)})
    assert motion.start[1].tolist() == [1, 0, 0]
    assert motion.start[2].tolist() == [0, 6, 5]
    assert np.isnan(run(text).start[2]).all()
