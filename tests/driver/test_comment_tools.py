"""Tools from comments: behind job file and options, told with their place, never a guess."""

from math import radians

import pytest

from gpre.driver.comment_tools import with_comment_tools
from gpre.driver.course import Given, rewrite_run
from gpre.driver.rewrite import Options
from gpre.mill.job import Job, Tool
from gpre.mill.job_file import JobOptions, LoadedJob
from gpre.mill.mill import Mill
from gpre.source.text import SourceText

CUT = "S3000 M3\nG0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X20 F300\nG1 Y20\nG0 Z5\nM30\n"


def taken(text, job=None):
    loaded = LoadedJob(job or Job())
    return with_comment_tools(loaded, SourceText.of(text.encode()), Mill())


def test_the_units_are_those_of_the_comment_or_else_of_the_program():
    text = f"G20 G90\nT1 M6 (D=.25)\nT2 M6 (6MM END MILL)\nT3 M6 (D=.5 DRILL 118 DEG)\n{CUT}"
    tools = taken(text).job.tools
    assert tools[1].diameter == pytest.approx(6.35)
    assert tools[2].diameter == pytest.approx(6.0)
    assert tools[3].shape == "drill"
    assert tools[3].point_angle == pytest.approx(radians(118))


def test_without_any_units_only_what_names_its_own_is_taken():
    found = taken(f"G90\nT1 M6 (D=.25)\nT2 M6 (6MM END MILL)\n{CUT}")
    assert list(found.job.tools) == [2]
    (note,) = found.findings
    assert note.code == "JOB607"
    assert note.message == (
        "tool 2 is taken for an end mill 6 mm across, from the comment in line 3: 6MM END MILL"
    )


def test_two_comments_that_disagree_are_no_knowledge():
    found = taken(f"G21\n(T1 D=6)\nT1 M6 (8MM END MILL)\n{CUT}")
    assert not found.job.tools
    assert [each.code for each in found.findings] == ["JOB608"]
    assert "lines 2, 3" in found.findings[0].message
    assert taken(f"G21\n(T1 D=8)\nT1 M6 (8MM END MILL)\n{CUT}").job.tools[1].diameter == 8.0


def test_a_job_file_and_an_option_stand_over_a_comment():
    text = f"G21 G90 G17\nT1 M6 (6MM END MILL)\n{CUT}"
    own = Tool(8.0)
    found = taken(text, Job(tools={1: own}))
    assert found.job.tools == {1: own}
    assert found.findings == ()
    given = Given(Given.find(Mill(), None).mill, LoadedJob(Job()), options=JobOptions(("1=7",)))
    _, after = rewrite_run(SourceText.of(text.encode()), given, Options())
    assert after.job.job.tools[1].diameter == 7.0


def test_what_cannot_be_a_tool_is_not_taken():
    assert not taken(f"G21\nT1 M6 (D=0 MILL)\n{CUT}").job.tools
    assert not taken(f"G21\nT1 M6 (D=6 CR=4 BULL)\n{CUT}").job.tools
    assert not taken(f"G21\nT1 M6 (D=900)\n{CUT}").job.tools


def test_the_proof_looks_at_the_metal_then():
    text = f"G21 G90 G17\nT1 M6 (6MM END MILL)\n{CUT}"
    given = Given.find(Mill(), None)
    done, after = rewrite_run(SourceText.of(text.encode()), given, Options())
    assert after.job.job.tools[1].diameter == 6.0
    assert all(each.looked for each in done.proof.obligations)
