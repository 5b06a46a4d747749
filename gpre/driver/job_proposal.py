"""A job file that a program proposes for itself: tools from its comments, and where it cuts.

What is only a guess is written behind a #, so that nothing is taken for known before somebody has
looked at it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, degrees, floor
from pathlib import Path

import numpy as np

from gpre.driver.comment_tools import with_comment_tools
from gpre.driver.counting import Counted
from gpre.geometry import path as paths
from gpre.geometry.arc import Floats
from gpre.mill.job import Job, Tool
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Mill
from gpre.motion.state import MM_PER_INCH
from gpre.program.tool_comments import tool_comments

_STEP = 1.0  # mm; corners of the box go out to whole ones
_STEP_INCH = 0.05  # in


@dataclass(frozen=True, slots=True)
class ProposedTool:
    """A tool that cuts. tool: None where no comment tells it; line: that of the comment, from 1."""

    number: int
    tool: Tool | None
    line: int | None
    comment: str


@dataclass(frozen=True)
class JobProposal:
    """What a program says of its job.

    reach: (2, 3) mm, lowest and highest corner of a box around all that the tools sweep at feed;
    None where no place is known. whole: the width of every tool is in it. units: of the program.
    """

    source: str
    units: int
    tools: tuple[ProposedTool, ...]
    reach: Floats | None
    whole: bool

    @property
    def unnamed(self) -> tuple[int, ...]:
        """The numbers of the tools that no comment tells."""
        return tuple(each.number for each in self.tools if each.tool is None)

    def text(self) -> str:
        """Return the job file."""
        return "\n".join(_Page(self).lines()) + "\n"


def propose_job(counted: Counted, mill: Mill) -> JobProposal:
    """Look at a program and its comments."""
    source, motion = counted.program.source, counted.motion
    known = with_comment_tools(LoadedJob(Job()), source, mill).job.tools
    said = {one.number: one for one in reversed(list(tool_comments(source)))}
    of_move = np.array([state.tool for state in motion.states], np.int64)[motion.state]
    tools = []
    for number in np.unique(of_move[motion.at_feed]).tolist():
        one, tool = said.get(number), known.get(number)
        place = None if one is None or tool is None else one.block + 1
        comment = "" if one is None or tool is None else one.text
        tools.append(ProposedTool(number, tool, place, comment))
    width = {each.number: each.tool.diameter for each in tools if each.tool is not None}
    radius = np.array([width.get(each, 0.0) / 2.0 for each in of_move.tolist()])
    reach = _reach(counted, radius)
    whole = len(width) == len(tools)
    return JobProposal(source.name, counted.units, tuple(tools), reach, whole)


def _reach(counted: Counted, radius: Floats) -> Floats | None:
    """Return the box of all that is cut, (2, 3) mm; radius: (n,) mm, of the tool of each move."""
    motion = counted.motion
    feed = np.flatnonzero(motion.at_feed)
    known = feed[motion.known[feed]]
    low, high = paths.bounds(paths.take(motion, known))
    ends = feed[np.isfinite(motion.end[feed]).all(axis=1)]  # also of a move from nobody knows where
    if not len(ends):
        return None
    least, most = np.vstack((low, motion.end[ends])), np.vstack((high, motion.end[ends]))
    wide = np.concatenate((radius[known], radius[ends]))
    aside = np.column_stack((wide, wide, np.zeros(len(wide))))
    result = np.stack(((least - aside).min(axis=0), (most + aside).max(axis=0)))
    result[1, 2] = _top(counted, float(result[0, 2]))
    return result


def _top(counted: Counted, bottom: float) -> float:
    """Return where the top of the stock may be, mm: Z0 where the program cuts below it alone."""
    motion = counted.motion
    aside = np.abs(motion.end - motion.start)[:, :2].max(axis=1, initial=0.0) > 0.0
    along = motion.at_feed & (aside | (motion.sweep != 0.0)) & motion.known
    highest = float(np.minimum(motion.start, motion.end)[along, 2].max(initial=bottom))
    return max(highest, 0.0)


class _Page:
    """Writes the file."""

    def __init__(self, proposal: JobProposal) -> None:
        self.proposal = proposal
        self.inch = proposal.units == 20

    def lines(self) -> Iterator[str]:
        """Yield all lines."""
        name = _plain(Path(self.proposal.source).name)
        yield f"# Job file for {name}, proposed from the program alone."
        yield "# Nobody has measured anything: look at every value. What stands behind a # is not"
        yield "# used before you take the # away."
        yield ""
        yield f'units = "{"inch" if self.inch else "mm"}"'
        for each in self.proposal.tools:
            yield ""
            yield from self._tool(each)
        yield ""
        yield from self._stock()

    def _tool(self, each: ProposedTool) -> Iterator[str]:
        tool = each.tool
        if tool is None:
            yield f"# [tool.{each.number}]  # no comment of the program tells it"
            yield f"# diameter = {self._number(6.35 if self.inch else 6.0)}"
            yield '# shape = "flat"  # "flat", "ball", "bull", "vee" or "drill"'
            yield "# max_ramp_angle = 3.0  # degrees, see the maker of the cutter"
            return
        said = _plain(each.comment)
        yield f"[tool.{each.number}]  # from the comment in line {each.line}: {said}"
        yield f"diameter = {self._number(tool.diameter)}"
        yield f'shape = "{tool.shape}"'
        if tool.corner_radius is not None:
            yield f"corner_radius = {self._number(tool.corner_radius)}"
        if tool.point_angle is not None:
            yield f"point_angle = {degrees(tool.point_angle):.6g}"
        if tool.shape in {"flat", "bull", "ball"}:
            yield "# flutes = 2"
            yield "# max_ramp_angle = 3.0  # degrees, see the maker of the cutter"

    def _stock(self) -> Iterator[str]:
        reach = self.proposal.reach
        if reach is None:
            yield "# [stock]  # where the program cuts is not known"
            return
        yield "# What the tools cut lies in this box; its top is a guess."
        if not self.proposal.whole:
            yield "# The width of the tools that are not named is not in it."
        yield "# Measure the blank and write its corners, in the coordinates of the program."
        yield "# [stock]"
        yield f"# min = {self._corner(reach[0], up=False)}"
        yield f"# max = {self._corner(reach[1], up=True)}"

    def _corner(self, place: Floats, *, up: bool) -> str:
        """Write a corner, X and Y out to whole steps; Z as it is."""
        step = _STEP_INCH * MM_PER_INCH if self.inch else _STEP
        whole = [(ceil(at / step) if up else floor(at / step)) * step for at in place[:2].tolist()]
        return f"[{', '.join(self._number(at) for at in (*whole, float(place[2])))}]"

    def _number(self, value: float) -> str:
        """Write a length in the file's units, as TOML has it."""
        text = f"{value / MM_PER_INCH if self.inch else value:.4f}".rstrip("0")
        text = f"{text}0" if text.endswith(".") else text
        return "0.0" if text == "-0.0" else text


def _plain(text: str) -> str:
    """Return a text that may stand behind a # in TOML: no control characters."""
    return "".join(each if each.isprintable() else "?" for each in text)
