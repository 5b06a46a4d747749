"""The job file that a program proposes: read again it says what the comments say, and no more."""

import re
import tomllib

import pytest
from command import call

from gpre.driver.counting import count
from gpre.driver.job_proposal import propose_job
from gpre.mill.job_file import load_job
from gpre.mill.mill import Mill
from gpre.source.text import SourceText

TWO = """G21 G90 G17
(T1 D=6. CR=0.5 BULL)
T1 M6
S3000 M3
G0 X-10 Y-10
G0 Z5
G1 Z-2 F100
G1 X30.4 F300
G1 Y20
G0 Z5
T2 M6
G0 X0 Y0
G1 Z-12.5 F100
G0 Z5
M30
"""
INCH = (
    "G20 G90 G17\nT3 M6 (1/4 EM)\nS3000 M3\nG0 X0 Y0\nG0 Z.2\nG1 Z-.1 F4\nX1.02 F12\nG0 Z.2\nM30\n"
)


def proposed(text):
    mill = Mill().from_its_start()
    return propose_job(count(SourceText.of(text.encode(), "part.nc"), mill), mill)


def read_back(tmp_path, text):
    place = tmp_path / "part.job.toml"
    place.write_text(text, encoding="utf-8")
    return load_job(place)


def test_what_a_comment_tells_is_taken_and_all_else_waits_behind_a_hash(tmp_path):
    found = proposed(TWO)
    assert found.unnamed == (2,)
    job = read_back(tmp_path, found.text())
    assert list(job.tools) == [1]
    assert (job.tools[1].diameter, job.tools[1].shape) == (6.0, "bull")
    assert job.tools[1].corner_radius == 0.5
    assert job.stock is None
    assert "from the comment in line 2: T1 D=6. CR=0.5 BULL" in found.text()


def test_with_the_hashes_away_it_is_a_job_file_too(tmp_path):
    key = r"^# (?=\[|[a-z_]+ = )"
    text = re.sub(key, "", proposed(TWO).text(), flags=re.MULTILINE)
    job = read_back(tmp_path, text)
    assert set(job.tools) == {1, 2}
    # X and Y of the cuts and half of the cutter, out to whole millimetres; Z as it is
    assert job.stock.min == (-13.0, -13.0, -12.5)
    assert job.stock.max == (34.0, 23.0, 0.0)


def test_an_inch_program_has_a_file_in_inches(tmp_path):
    text = proposed(INCH).text()
    assert tomllib.loads(text)["units"] == "inch"
    assert "diameter = 0.25\n" in text
    assert "# min = [-0.15, -0.15, -0.1]" in text
    assert "# max = [1.15, 0.15, 0.0]" in text
    assert read_back(tmp_path, text).tools[3].diameter == pytest.approx(6.35)


def test_a_program_whose_places_are_not_known_proposes_no_box():
    text = proposed("G21 G91\nT1 M6\nS3000 M3\nG53 G0 X0 Y0 Z0\nG1 X5 F100\nM30\n").text()
    assert "where the program cuts is not known" in text


def test_the_command_writes_it_once_and_never_over_a_file(capsys, tmp_path):
    program = tmp_path / "part.nc"
    program.write_text(TWO, encoding="ascii")
    status, out, _ = call(capsys, "job", program)
    assert status == 0
    assert "1 tool from comments" in out
    assert "to be named: T2" in out
    place = tmp_path / "part.job.toml"
    first = place.read_bytes()
    status, out, err = call(capsys, "job", program)
    assert (status, out) == (2, "")
    assert "it may be yours" in err
    assert place.read_bytes() == first
    status, out, _ = call(capsys, "job", program, "--output", "-")
    assert (status, out.encode()) == (0, first)


def test_nothing_is_proposed_for_a_program_with_faults(capsys, tmp_path):
    program = tmp_path / "part.nc"
    program.write_text("G21\nG1 X[1/0] F100\nM30\n", encoding="ascii")
    assert call(capsys, "job", program)[0] == 3
    assert not (tmp_path / "part.job.toml").exists()
