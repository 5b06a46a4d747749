"""The certificate: 80 columns whatever the files are called, and all that it must name."""

import json
import math

import pytest
from known_mill import changed_by_hand
from rich.cells import cell_len

from gpre.driver.proving import prove_programs
from gpre.mill.job import Box, Job, Tool
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill, read_profile
from gpre.report.certificate import (
    NOT_LOOKED_AT,
    Certificate,
    certificate_text,
    stated_keys,
)
from gpre.report.prove import obligation_rows, what_to_name
from gpre.report.records.certificates import certificate_bytes, certificate_record
from gpre.report.records.encode import plain
from gpre.settings.toml_file import SettingsFile
from gpre.source.text import SourceText

SLOT = (
    b"G17 G90\nT1 M6\nS2000 M3\nG0 X-5 Y10\nG0 Z2\nM8\nG1 Z-1 F200\nG1 X65 F300\n"
    b"G3 X65 Y20 I0 J5\nG0 Z2\nG83 X30 Y10 Z-9 R2 Q3 F80\nG80\nM9\nM2\n"
)
RESPELLED = SLOT.lower()
JOB = Job({1: Tool(6.0, flutes=2, max_ramp_angle=0.05)}, Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))
PROFILE = b"""
name = "knee mill"
[x]
travel = [0, 400]
lost_motion = [[0, 0.1], [200, 0.08]]
[controller]
units = "mm"
peck_back_off = 0.5
"""
DATE = "2026-01-02 03:04:05+00:00"


BY_HAND = changed_by_hand(Mill())


def certificate(after=RESPELLED, job=JOB, profile=b"", *, name="a.ngc", other="b.ngc", before=SLOT):
    mill = read_profile(SettingsFile.of(profile, "mill.toml")) if profile else None
    proved = prove_programs(
        SourceText.of(before, name),
        SourceText.of(after, other),
        mill.mill if mill else BY_HAND,
        job,
    )
    loaded = mill or LoadedMill(BY_HAND)
    return Certificate(proved, loaded, LoadedJob(job), DATE, name, other)


def certificate_json(made):
    return plain(certificate_record(made))


def flat(text):
    return " ".join(text.split())


NAMES = [
    "b.ngc",
    "a folder with a long name/" * 6 + "clamp ring, second side.ngc",
    "x" * 300 + ".ngc",
    "鏡筒" * 60 + ".ngc",
    "tab\tand\x1b[31mcolour\n.ngc",
    "bytes\udcff.ngc",
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("after", [RESPELLED, SLOT.replace(b"Z-1", b"Z-1.2")])
def test_no_line_has_more_than_80_columns(name, after):
    after = (
        after + "(ばね座金の溝を仕上げる鏡筒の溝を仕上げる鏡筒の溝を仕上げる鏡筒の溝)\n".encode()
    )
    proved = certificate(after, name=name, other=name).proved
    made = Certificate(proved, LoadedMill(Mill(), name), LoadedJob(JOB, name), DATE, name, name)
    text = certificate_text(made)
    assert all(cell_len(line) <= 80 for line in text.splitlines())
    assert not set(text) & {"\t", "\x1b"}
    assert certificate_bytes(made, "c.txt").decode("utf-8").startswith("CERTIFICATE: ")


def test_it_names_what_the_proof_does_not_look_at_and_the_cautions():
    text = flat(certificate_text(certificate()))
    for each in NOT_LOOKED_AT:
        assert each in text
    for word in ("clamps", "bending", "the controller itself", "true diameter"):
        assert word in text
    for word in ("hand on feed hold", "eye protection", "first run alone", "pull a loose table"):
        assert word in text


def test_it_names_every_obligation_with_its_figure():
    made = certificate()
    text = flat(certificate_text(made))
    for each in made.proved.proof.obligations:
        assert each.name in text
        assert flat(each.figure) in text


def test_without_a_profile_the_values_are_guessed_and_told():
    text = certificate_text(certificate())
    assert "MILL PROFILE\n  none: guessed values\n" in text
    assert "lost motion: X 0.1, Y 0.1, Z 0.1 mm, taken up by: none" in text
    assert "X not known, Y not known, Z not known" in text
    shape = certificate_json(certificate())
    assert shape["mill"] is None
    assert shape["values"]["lost_motion"] == [0.1, 0.1, 0.1]


def test_it_tells_what_the_profile_says_and_what_is_its_default():
    made = certificate(profile=PROFILE)
    assert stated_keys(made.mill) == {"units", "peck_back_off"}
    text = flat(certificate_text(made))
    assert "units before the first G20 or G21: mm (units of the profile)" in text
    assert "back-off of peck drilling: 0.5 mm (peck_back_off of the profile)" in text
    assert "(the default of corner_tolerance; the profile does not say)" in text
    assert "centres of arcs before the first G90.1 or G91.1: from the start (G91.1)" in text
    assert "lost motion: X 0.08 to 0.1 (a table), Y 0.1, Z 0.1 mm" in text
    guessed = flat(certificate_text(certificate()))
    assert "mm, and inch too (the default of units; the profile does not say)" in guessed
    named = {each["key"]: each for each in certificate_json(made)["controller"]}
    assert named["peck_back_off"]["from_profile"] is True
    assert named["corner_tolerance"]["from_profile"] is False


def test_where_nothing_is_left_open_it_says_so():
    stated = b"G21 G17 G90 G94 G61\nG0 X0 Y0 Z5\nT1 M6\nG1 Z-1 F100\nG0 Z5\nM2\n"
    text = certificate_text(certificate(stated.lower(), before=stated))
    assert "WHAT THE CONTROLLER DECIDES\n  nothing that matters to these two programs\n" in text


def test_the_weaker_proof_says_what_would_make_it_stronger():
    made = certificate(job=Job())
    text = certificate_text(made)
    assert text.startswith("CERTIFICATE: PROVED\n")
    assert "PROVED, of the paths alone" in text
    assert "tool 1: not named" in text
    assert "WHAT WOULD MAKE IT STRONGER\n" in text
    assert "--tool 1=DIAMETER" in text
    assert "--stock" in text
    assert certificate_json(made)["weaker"] is True
    assert "STRONGER" not in certificate_text(certificate())


@pytest.mark.parametrize(
    ("tool", "words", "values"),
    [
        (Tool(6.0, "bull"), "bull, 6 mm, corner 0.75 mm (assumed)", (0.75, None)),
        (Tool(6.0, "bull", corner_radius=0.5), "bull, 6 mm, corner 0.5 mm", (0.5, None)),
        (Tool(6.0, "vee"), "vee, 6 mm, point 90 degrees (assumed)", (None, math.radians(90.0))),
        (
            Tool(6.0, "drill", point_angle=math.radians(135.0)),
            "drill, 6 mm, point 135 degrees",
            (None, math.radians(135.0)),
        ),
    ],
)
def test_a_shape_that_the_job_does_not_tell_is_marked_as_assumed(tool, words, values):
    made = certificate(job=Job({1: tool}, JOB.stock))
    assert f"tool 1: {words}\n" in certificate_text(made)
    shown = certificate_json(made)["values"]["tools"]["1"]
    assert (shown["corner"], shown["point"]) == (values[0], pytest.approx(values[1]))


def test_a_proof_that_fails_says_where():
    made = certificate(SLOT.replace(b"Z-1", b"Z-1.2"))
    text = certificate_text(made)
    assert text.startswith("CERTIFICATE: NOT PROVED\n")
    assert "WHERE IT FAILS\n" in text
    assert "b.ngc:7: G1 Z-1.2 F200" in text
    assert made.proved.failed
    assert certificate_json(made)["certificate"] == "not proved"


def test_a_name_that_ends_with_json_gives_the_other_form():
    made = certificate()
    for name in ("c.json", "C.JSON"):
        shape = json.loads(certificate_bytes(made, name))
        assert shape["date"] == DATE
        assert shape["before"]["bytes"] == len(SLOT)
        assert set(shape) == {
            *("certificate", "verdict", "date", "gpre", "before", "after", "mill", "job"),
            *("values", "weaker", "more", "proof", "controller", "not_looked_at", "cautions"),
        }
    assert certificate_bytes(made, "json").startswith(b"CERTIFICATE")


def test_obligations_that_fail_for_the_same_reason_share_a_row():
    made = certificate(SLOT.replace(b"M8\n", b""))
    rows = list(obligation_rows(made.proved))
    failed = [" ".join(lines) for found, lines in rows if found == "failed"]
    assert len(failed) < len(made.proved.failed)
    together = flat(" ".join(failed))
    assert all(each.name in together for each in made.proved.failed)


def test_naming_the_stock_is_advised_only_where_it_could_help():
    no_stock = Job(JOB.tools)
    lost = certificate(SLOT.replace(b"M8\n", b""), no_stock)
    assert what_to_name(lost.proved, no_stock) == ""
    deeper = certificate(SLOT.replace(b"Z-1", b"Z-1.2"), no_stock)
    assert "--stock" in what_to_name(deeper.proved, no_stock)
    assert what_to_name(certificate(job=no_stock).proved, no_stock) == ""
