"""What a script makes of mill and job is held to the rules of their files."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest

from gpre.diagnostics.faults import FileFault
from gpre.mill.as_file import _file, checked_job, checked_mill
from gpre.mill.job import Box, Job, Tool
from gpre.mill.job_file import load_job, read_job
from gpre.mill.mill import Axis, Compensation, Limits, Mill, Twist
from gpre.mill.profile import load_mill, read_profile
from gpre.motion.controller import Controller

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
EVERY = Mill(
    name='a "mill"',
    x=Axis(lost_motion=((0.0, 0.08), (200.0, 0.1)), travel=(0.0, 400.0), approach=-1),
    twist=Twist(x=0.0004, pivot=(200.0, 90.0)),
    compensation=Compensation("controller", 90.0, 0.1),
    controller=Controller(
        start=(1.0, 2.0, 3.0),
        units=20,
        plane=18,
        distance=91,
        home=(0.0, 0.0, 0.0),
        origins={1: (1.0, 2.0, 3.0), 7: (0.0, -1.0, 0.0)},
        lengths={3: 82.5},
        tool_change_moves="z",
        accepts=frozenset(("G5.1", "M97")),
        stated=frozenset(("units", "plane", "distance")),
    ),
)


@pytest.mark.parametrize("mill", [Mill(), EVERY, load_mill(SAMPLES / "mill.toml")])
def test_a_mill_comes_back_from_its_file(mill):
    assert read_profile(_file(mill, "mill")).mill == mill
    assert checked_mill(mill).mill is mill
    assert checked_mill(mill).name == ""


@pytest.mark.parametrize("place", sorted(SAMPLES.glob("*.job.toml")), ids=lambda each: each.name)
def test_a_job_comes_back_from_its_file(place):
    job = load_job(place)
    assert checked_job(job).job is job
    again = read_job(_file(job, "job")).job
    assert (again.stock, again.cut, again.origins) == (job.stock, job.cut, job.origins)
    assert again.tools.keys() == job.tools.keys()
    for number, tool in job.tools.items():
        for name, value in dataclasses.asdict(tool).items():
            other = getattr(again.tools[number], name)
            assert other == (pytest.approx(value) if isinstance(value, float) else value)


def test_each_field_has_its_key():
    """A field that is not written, or under another name, would not be checked."""
    for record in (Axis, Twist, Compensation, Limits, Controller):
        for field in dataclasses.fields(record):
            wrong = dataclasses.replace(record(), **{field.name: object()})
            holder = "x" if record is Axis else record.__name__.lower()
            if field.name in {"start_known", "stated"}:
                continue
            if field.name in {"units", "plane", "distance"}:
                wrong = dataclasses.replace(wrong, stated=frozenset((field.name,)))
            with pytest.raises(FileFault) as caught:
                checked_mill(dataclasses.replace(Mill(), **{holder: wrong}))
            (found,) = caught.value.diagnostics
            assert f"{holder}.{field.name}" in found.message
            assert found.span is None


@pytest.mark.parametrize(
    ("mill", "said"),
    [
        (Mill(x=Axis(lost_motion=-0.1)), "x.lost_motion"),
        (Mill(x=Axis(lost_motion=math.nan)), "x.lost_motion"),
        (Mill(y=Axis(lost_motion=((0.0, 0.1),))), "lost-motion table"),
        (Mill(z=Axis(resolution=0.0)), "z.resolution"),
        (Mill(z=Axis(approach=0)), "z.approach"),
        (Mill(x=Axis(travel=(4.0, 1.0))), "travel"),
        (Mill(x=Axis(resolution=None)), "x.resolution"),
        (Mill(x=Twist()), "x must be a table"),
        (Mill(limits=Limits(tolerance=5.0)), "limits.tolerance"),
        (Mill(limits=Limits(rapid_clearance=-1.0)), "limits.rapid_clearance"),
        (Mill(compensation=Compensation("nobody")), "compensation.by"),
        (Mill(controller=Controller(lengths={0: 5.0})), "H0"),
        (Mill(controller=Controller(origins={12: (0.0, 0.0, 0.0)})), "12"),
        (Mill(controller=Controller(peck_back_off=math.inf)), "peck_back_off"),
    ],
)
def test_a_mill_that_no_profile_could_have_is_refused(mill, said):
    with pytest.raises(FileFault, match="the mill cannot be used") as caught:
        checked_mill(mill)
    assert any(said in each.message for each in caught.value.diagnostics)


@pytest.mark.parametrize(
    ("job", "said"),
    [
        (Job(tools={1: Tool(0.0)}), "tool.1.diameter"),
        (Job(tools={1: Tool(-6.0)}), "tool.1.diameter"),
        (Job(tools={1: Tool(6.0, "round")}), "tool.1.shape"),
        (Job(tools={1: Tool(6.0, flutes=2.5)}), "tool.1.flutes"),
        (Job(tools={1: Tool(6.0, max_ramp_angle=3.0)}), "tool.1.max_ramp_angle"),  # 172 degrees
        (Job(tools={1: Tool(6.0, point_angle=1.0)}), "has no point_angle"),
        (Job(tools={"T1": Tool(6.0)}), "T1"),
        (Job(stock=Box((0.0, 0.0, 0.0), (80.0, 60.0, -12.0))), "no room in Z"),
        (Job(stock=Box((0.0, 0.0), (80.0, 60.0, 0.0))), "stock"),
        (Job(cut="down"), "cut"),
    ],
)
def test_a_job_that_no_file_could_have_is_refused(job, said):
    with pytest.raises(FileFault, match="the job cannot be used") as caught:
        checked_job(job)
    assert any(said in each.message for each in caught.value.diagnostics)


def test_what_is_doubtful_is_told():
    found = checked_mill(Mill(x=Axis(lost_motion=1.5)))
    assert [each.code for each in found.findings] == ["MIL509"]
