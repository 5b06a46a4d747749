"""Tools that neither a job file nor an option names, from what the program's comments say."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from math import radians

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.driver.counting import count
from gpre.mill.job import DIAMETER, Tool
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Mill
from gpre.motion.state import MM_PER_INCH
from gpre.program.tool_comments import ToolComment, tool_comments
from gpre.source.text import SourceText

_NAMES = {
    "flat": "an end mill",
    "ball": "a ball-nose cutter",
    "bull": "a bull-nose cutter",
    "vee": "a V tool",
    "drill": "a drill",
}


def with_comment_tools(loaded: LoadedJob, source: SourceText, mill: Mill) -> LoadedJob:
    """Add the tools that the comments of a program tell, each with a note that says so.

    Two comments that disagree are no knowledge. Lengths without a unit are in the program's; where
    nothing states that they are no knowledge either.
    """
    said = [one for one in tool_comments(source) if one.number not in loaded.job.tools]
    if not said:
        return loaded
    units = count(source, mill).known_units if any(not one.units for one in said) else None
    tools: dict[int, Tool] = {}
    notes: list[Diagnostic] = []
    said.sort(key=lambda one: (one.number, one.block))
    for number, group in groupby(said, key=lambda one: one.number):
        comments = list(group)
        found = [_tool(one, one.units or units) for one in comments]
        first = found[0]
        if first is None or first != found[-1] or any(each != first for each in found):
            if None not in found:
                notes.append(_disagree(number, comments))
            continue
        tools[number] = first
        notes.append(_taken(number, first, comments[0]))
    job = replace(loaded.job, tools={**tools, **loaded.job.tools})
    return replace(loaded, job=job, findings=(*loaded.findings, *notes))


def _tool(said: ToolComment, units: int | None) -> Tool | None:
    """Return the tool that a comment tells, None where its unit is not known or it cannot be."""
    if units is None:
        return None
    scale = MM_PER_INCH if units == 20 else 1.0
    diameter = said.diameter * scale
    if not DIAMETER.holds(diameter):
        return None
    corner = None if said.corner is None else said.corner * scale
    if corner is not None and corner > diameter / 2.0:
        return None
    point = None if said.point is None else radians(said.point)
    return Tool(diameter, shape=said.shape, corner_radius=corner, point_angle=point)


def _taken(number: int, tool: Tool, said: ToolComment) -> Diagnostic:
    message = (
        f"tool {number} is taken for {_NAMES[tool.shape]} {tool.diameter:.4g} mm across, from "
        f"the comment in line {said.block + 1}: {said.text}"
    )
    return Diagnostic("JOB607", message)


def _disagree(number: int, said: list[ToolComment]) -> Diagnostic:
    lines = ", ".join(str(one.block + 1) for one in said[:4])
    return Diagnostic("JOB608", f"the comments in lines {lines} disagree about tool {number}")
