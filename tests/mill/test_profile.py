"""The mill profile: what is read, and how each fault is named at its place."""

from pathlib import Path

import pytest

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.faults import FileFault
from gpre.mill.mill import Mill
from gpre.mill.profile import default_place, find_mill, load_mill, read_profile
from gpre.settings.toml_file import SettingsFile
from gpre.source.text import SourceText

SAMPLES = Path(__file__).parents[2] / "samples"


def read(text):
    return read_profile(SettingsFile.of(text.encode(), "mill.toml"))


def faults(text):
    """Return (code, line, the bytes under the carets, message, label, help) of each finding."""
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(FileFault) as caught:
        read_profile(SettingsFile.of(data, "mill.toml"))
    fault = caught.value
    source = SourceText.of(fault.data, fault.name)
    return [
        (
            each.code,
            source.place(each.span.start).line if each.span else None,
            fault.data[each.span.start : each.span.end].decode() if each.span else "",
            each.message,
            each.label,
            each.help,
        )
        for each in fault.diagnostics
    ]


def test_the_sample_profile_is_read_whole():
    mill = load_mill(SAMPLES / "mill.toml")
    assert mill.name == "knee mill"
    assert [axis.lost_motion for axis in mill.axes] == [0.09, 0.06, 0.05]
    assert [axis.approach for axis in mill.axes] == [1, 1, -1]
    assert mill.z.gravity_loaded
    assert not mill.x.gravity_loaded
    assert mill.x.travel == (0.0, 400.0)
    assert mill.z.top_speed == 800.0
    assert mill.twist.x == 0.0004
    assert mill.twist.pivot == (200.0, 90.0)
    assert (mill.compensation.by, mill.compensation.pause) == ("controller", 0.08)
    assert mill.limits.tolerance == 0.002
    assert (mill.weights.dwell_mark, mill.weights.error) == (60.0, 60.0)
    assert mill.controller.origins == {1: (150.0, 60.0, -120.0)}
    assert mill.controller.units == 21
    assert (mill.controller.plane, mill.controller.distance) == (17, 90)


def test_the_modes_at_the_start_are_read():
    controller = read('[controller]\nplane = "YZ"\ndistance = "incremental"\n').mill.controller
    assert (controller.plane, controller.distance) == (19, 91)
    assert read('[controller]\nplane = "ZX"\n').mill.controller.plane == 18
    with pytest.raises(FileFault):
        read('[controller]\nplane = "XZ"\n')
    with pytest.raises(FileFault):
        read('[controller]\ndistance = "g91"\n')


def test_an_empty_profile_is_the_cautious_guess():
    assert read("").mill == Mill()


def test_lost_motion_may_be_a_table_over_position():
    mill = read("[x]\nlost_motion = [[0, 0.11], [200.0, 0.08], [400, 0.1]]\n").mill
    assert mill.x.lost_motion == ((0.0, 0.11), (200.0, 0.08), (400.0, 0.1))
    assert mill.x.greatest_lost_motion == 0.11


def test_the_weights_are_read_each_by_itself():
    weights = read("[weights]\ndwell_mark = 5\n").mill.weights
    assert (weights.dwell_mark, weights.error) == (5.0, Mill().weights.error)
    weights = read("[weights]\nerror = 0\n").mill.weights
    assert (weights.dwell_mark, weights.error) == (Mill().weights.dwell_mark, 0.0)


def test_every_key_of_the_controller_is_read():
    controller = read(
        "[controller]\narc_radius_tolerance = 0.05\nstart = [1, 2, 3]\nunits = 'inch'\n"
        "g28_moves = 'all'\nhome = [0, 0, -5]\nsecond_home = [1, 1, 1]\nblock_delete = true\n"
        "peck_back_off = 0.5\ndecimal_point_optional = true\n"
        "accepts = ['m097', 'G05.10', ' g64 ']\n"
        "[controller.origins]\nG55 = [1, 2, 3]\n'G59.3' = [4, 5, 6]\n"
    ).mill.controller
    assert controller.arc_radius_tolerance == 0.05
    assert controller.start == (1.0, 2.0, 3.0)
    assert controller.units == 20
    assert controller.g28_moves == "all"
    assert controller.home == (0.0, 0.0, -5.0)
    assert controller.second_home == (1.0, 1.0, 1.0)
    assert controller.block_delete
    assert controller.peck_back_off == 0.5
    assert controller.decimal_point_optional
    assert controller.accepts == {"M97", "G5.1", "G64"}
    assert controller.origins == {2: (1.0, 2.0, 3.0), 9: (4.0, 5.0, 6.0)}


def test_a_misspelt_key_is_named_with_the_nearest_known_one():
    found = faults("[x]\nlostmotion = 0.09\n")
    assert found == [
        (
            "MIL502",
            2,
            "lostmotion",
            "[x] has no key lostmotion",
            "not known",
            "did you mean lost_motion?",
        )
    ]


def test_a_misspelt_table_is_named_too():
    ((code, line, marked, _, _, advice),) = faults("\n[compensatoin]\nby = 'none'\n")
    assert (code, line, marked) == ("MIL502", 2, "[compensatoin]")
    assert advice == "did you mean compensation?"


def test_a_key_like_no_other_gets_the_list_of_known_ones():
    ((code, _, marked, _, _, advice),) = faults("[twist]\nqqqq = 1\n")
    assert (code, marked) == ("MIL502", "qqqq")
    assert advice == "known here: pivot, x, y"


@pytest.mark.parametrize(
    ("text", "code", "line", "marked"),
    [
        ('[x]\nlost_motion = "0.09"', "MIL503", 2, '"0.09"'),
        ("[x]\nlost_motion = true", "MIL503", 2, "true"),
        ("[x]\nlost_motion = -0.1", "MIL504", 2, "-0.1"),
        ("[x]\nlost_motion = 90 # micrometres", "MIL504", 2, "90"),
        ("[x]\nlost_motion = nan", "MIL504", 2, "nan"),
        ("[x]\nlost_motion = inf", "MIL504", 2, "inf"),
        (f"[x]\nlost_motion = 1{'0' * 400}", "MIL504", 2, f"1{'0' * 400}"),
        ("[x]\nresolution = 0", "MIL504", 2, "0"),
        ("[x]\nlost_motion = [[0, 0.1], [0, 0.2]]", "MIL506", 2, "0"),
        ("[x]\nlost_motion = [[200, 0.1], [100, 0.2]]", "MIL506", 2, "100"),
        ("[x]\nlost_motion = [[0, 0.1]]", "MIL506", 2, "[[0, 0.1]]"),
        ("[x]\nlost_motion = []", "MIL506", 2, "[]"),
        ("[x]\nlost_motion = [[0, 0.1],\n [1]]", "MIL503", 3, "[1]"),
        ("[x]\nlost_motion = [[0, 0.1],\n [1, 'a']]", "MIL503", 3, "'a'"),
        ("[x]\nlost_motion = [[0, 0.1],\n [1, -2]]", "MIL504", 3, "-2"),
        ("[x]\ntravel = [400.0, 0.0]", "MIL507", 2, "[400.0, 0.0]"),
        ("[x]\ntravel = [400.0]", "MIL503", 2, "[400.0]"),
        ("[x]\ntravel = 400.0", "MIL503", 2, "400.0"),
        ("[x]\ntravel = [0.0, 'a']", "MIL503", 2, "'a'"),
        ("[x]\napproach = 'up'", "MIL505", 2, "'up'"),
        ("[x]\napproach = 1", "MIL503", 2, "1"),
        ("[z]\ngravity_loaded = 1", "MIL503", 2, "1"),
        ("name = 4", "MIL503", 1, "4"),
        ("name = 1979-05-27", "MIL503", 1, "1979-05-27"),
        ("name = {}", "MIL503", 1, "{}"),
        ("name = []", "MIL503", 1, "[]"),
        ("name = true", "MIL503", 1, "true"),
        ("x = 4", "MIL503", 1, "4"),
        ("[[x]]\nlost_motion = 1", "MIL503", 1, "[[x]]"),
        ("[compensation]\nby = 'Controler'", "MIL505", 2, "'Controler'"),
        ("[compensation]\npause = -1", "MIL504", 2, "-1"),
        ("[limits]\ntolerance = 0", "MIL504", 2, "0"),
        ("[weights]\ndwell_mark = -1", "MIL504", 2, "-1"),
        ("[weights]\nerror = 1e9", "MIL504", 2, "1e9"),
        ("[weights]\nerror = 'much'", "MIL503", 2, "'much'"),
        ("[weights]\nseconds = 1", "MIL502", 2, "seconds"),
        ("weights = 60.0", "MIL503", 1, "60.0"),
        ("[controller]\nunits = 'cm'", "MIL505", 2, "'cm'"),
        ("[controller]\nstart = [0, 0]", "MIL503", 2, "[0, 0]"),
        ("[controller]\naccepts = 'M97'", "MIL503", 2, "'M97'"),
        ("[controller]\naccepts = ['M97', 'SPIN']", "MIL503", 2, "'SPIN'"),
        ("[controller]\naccepts = [97]", "MIL503", 2, "97"),
        ("[controller]\norigins = { G60 = [0, 0, 0] }", "MIL502", 2, "G60"),
        ("[controller]\norigins = { G54 = [0, 0] }", "MIL503", 2, "[0, 0]"),
        ("x.lost_motion = -1", "MIL504", 1, "-1"),
    ],
)
def test_a_faulty_value_is_named_at_its_place(text, code, line, marked):
    ((found_code, found_line, found_marked, message, _, _),) = faults(text)
    assert (found_code, found_line, found_marked) == (code, line, marked)
    assert message
    assert code in TABLE


def test_a_fault_whose_place_is_lost_stands_at_what_holds_it():
    deep = "[" * 400 + "1" + "]" * 400
    ((code, line, *_),) = faults(f"[x]\nlost_motion = [[0, 0.1], [1, {deep}]]\n")
    assert (code, line) == ("MIL503", 2)


def test_the_range_and_its_unit_are_given():
    ((*_, label, _),) = faults("[x]\nlost_motion = 90\n")
    assert label == "must be from 0 to 5 mm"
    ((*_, label, _),) = faults("[x]\ntop_speed = 0\n")
    assert label == "must be more than 0, at most 1,000,000 mm/min"


def test_all_faults_of_a_file_come_at_once_in_order():
    found = faults("nam = 1\n[x]\nlost_motion = 'a'\ntravel = [1, 0]\n[q]\n")
    assert [(code, line) for code, line, *_ in found] == [
        ("MIL502", 1),
        ("MIL503", 3),
        ("MIL507", 4),
        ("MIL502", 5),
    ]


@pytest.mark.parametrize(
    ("text", "line", "advice"),
    [
        ("[x]\nlost_motion = 0,09\n", 2, "numbers take a point, not a comma: 0.09"),
        ("[x]\nlost_motion = .09\n", 2, "TOML wants a digit before and after the point: 0.5, 2.0"),
        ("[x]\nlost_motion = 2.\n", 2, "TOML wants a digit before and after the point: 0.5, 2.0"),
        ("a = 'b'\ncut = climb\n", 2, 'texts stand in quotes: "climb", "+"'),
        ("[x]\napproach = +\n", 2, 'texts stand in quotes: "climb", "+"'),
        ("[x\n", 1, ""),
        ("a = 1\r\nb = \r\n", 2, ""),
        ("a = [1,\n", 1, ""),
        ("a = 1\na = 2\n", 2, ""),
        ("a = 'x\x00'\n", 1, ""),
    ],
)
def test_what_is_no_toml_is_named_at_its_line(text, line, advice):
    ((code, found_line, _, _, _, found_advice),) = faults(text)
    assert (code, found_line, found_advice) == ("MIL501", line, advice)


def test_a_byte_that_is_no_utf8_is_named():
    ((code, line, *_),) = faults_of_bytes(b'# ok\nname = "m\xfchle"\n')
    assert (code, line) == ("MIL501", 2)


def faults_of_bytes(data):
    with pytest.raises(FileFault) as caught:
        SettingsFile.of(data, "mill.toml")
    source = SourceText.of(data)
    return [(each.code, source.place(each.span.start).line) for each in caught.value.diagnostics]


def test_a_byte_order_mark_is_allowed_and_shifts_no_place():
    text = '\ufeffname = "mühle"\n[x]\nlost_motion = 90\n'
    ((code, line, marked, *_),) = faults(text)
    assert (code, line, marked) == ("MIL504", 3, "90")
    assert read('\ufeffname = "mühle"\n').mill.name == "mühle"


def test_characters_of_several_bytes_shift_no_place():
    ((_, line, marked, *_),) = faults('name = "äöü€" # ÄÖÜ\nx = { lost_motion = 90 }\n')
    assert (line, marked) == (2, "90")


def test_brackets_nested_deep_are_a_fault_and_no_crash():
    with pytest.raises(FileFault) as caught:
        SettingsFile.of(b"a = " + b"[" * 100_000, "mill.toml")
    assert caught.value.diagnostics[0].code == "MIL501"


def test_a_huge_file_is_no_profile():
    with pytest.raises(FileFault, match="cannot be used"):
        SettingsFile.of(b"#" * 2_000_000, "mill.toml")


def test_a_number_of_many_digits_is_a_fault_and_no_crash():
    with pytest.raises(FileFault):
        read(f"[x]\nlost_motion = {'9' * 10_000}\n")


def test_much_lost_motion_is_doubted_but_taken():
    loaded = read("[x]\nlost_motion = 3.5\n")
    assert [each.code for each in loaded.findings] == ["MIL509"]
    assert loaded.mill.x.lost_motion == 3.5


def test_a_missing_profile_that_was_named_is_a_fault(tmp_path):
    with pytest.raises(FileFault, match="no such file"):
        load_mill(tmp_path / "none.toml")
    with pytest.raises(FileFault, match="folder"):
        load_mill(tmp_path)


def test_the_default_place_is_used_where_it_is_there_else_a_guess_with_a_note(
    monkeypatch, tmp_path
):
    monkeypatch.setattr("gpre.mill.profile.user_config_path", lambda _: tmp_path)
    assert default_place() == tmp_path / "mill.toml"
    guess = find_mill()
    assert guess.mill == Mill()
    assert [each.code for each in guess.findings] == ["MIL508"]
    (tmp_path / "mill.toml").write_text("[y]\nlost_motion = 0.03\n")
    own = find_mill()
    assert own.mill.y.lost_motion == 0.03
    assert own.name == str(tmp_path / "mill.toml")
    assert own.findings == ()
