"""The certificate of a proof: plain text of 80 columns to be kept with the job, or JSON.

Two runs on the same files give the same certificate but for the line with the date.
"""

from __future__ import annotations

import hashlib
import math
import textwrap
import tomllib
from dataclasses import dataclass

from rich.cells import cell_len

from gpre import __version__
from gpre.driver.counting import Counted
from gpre.driver.left_to_controller import Decision
from gpre.driver.proving import Proved
from gpre.mill.job import Tool
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Axis
from gpre.mill.profile import LoadedMill
from gpre.motion.offsets import system_name
from gpre.report.not_stated import not_stated_texts
from gpre.report.prove import (
    faulty,
    obligation_rows,
    verdict,
    what_to_name,
)
from gpre.report.rewrite import CAUTIONS
from gpre.report.unknown import unknown_lines
from gpre.report.wording import WIDTH, counted, visible

NOT_LOOKED_AT = (
    "clamps, vise and table: a new move may meet what holds the part",
    "the tool as it is: its true diameter and length, its wear, how far it runs out",
    "bending of tool, part and mill, heat, and chips that stay in the way",
    "the way from where the tool stands before the program to its first position",
    "the controller itself: how it reads these programs, and its own compensation",
    "speeds and feeds as such: only that they are not above the first program's",
    "whether the first program is right: the second is compared with it, not with a drawing",
)
_MARKS = {"ok": "ok", "differs": "differs", "failed": "FAIL", "not looked at": "--"}


@dataclass(frozen=True)
class Certificate:
    """A proof with what it came about from. date: when, as it is printed.

    before, after: the names of the two programs.
    """

    proved: Proved
    mill: LoadedMill
    job: LoadedJob
    date: str
    before: str
    after: str

    @property
    def holds(self) -> bool:
        """True where the proof holds and both programs are without errors."""
        return self.proved.holds and not faulty(self.proved)


def stated_keys(mill: LoadedMill) -> frozenset[str]:
    """Return the keys of [controller] and [limits] that the profile states itself."""
    tables = tomllib.loads(mill.data.decode("utf-8-sig")) if mill.data else {}
    return frozenset((*tables.get("controller", {}), *tables.get("limits", {})))


def certificate_text(certificate: Certificate) -> str:
    """Lay the certificate out; no line has more than 80 columns."""
    proved = certificate.proved
    head = "CERTIFICATE: PROVED" if certificate.holds else "CERTIFICATE: NOT PROVED"
    parts = [
        [head, "=" * len(head), *_filled(verdict(proved), "", "")],
        [f"date  {certificate.date}", f"gpre  {__version__}"],
        [
            "PROGRAMS",
            *_program("before", certificate.before, proved.before),
            *_program("after", certificate.after, proved.after),
        ],
        _not_stated(certificate),
        ["MILL PROFILE", *_file(certificate.mill)],
        ["JOB FILE", *_file(certificate.job)],
        ["VALUES USED", *_values(certificate)],
        ["OBLIGATIONS", *_obligations(proved)],
        _failures(certificate),
        _weaker(certificate),
        _not_known(certificate),
        ["WHAT THE CONTROLLER DECIDES", *_decisions(certificate)],
        ["WHAT THE PROOF DOES NOT LOOK AT", *_items(NOT_LOOKED_AT)],
        ["CAUTIONS", *_filled(CAUTIONS)],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _filled(text: str, first: str = "  ", rest: str = "  ") -> list[str]:
    """Break a text to lines of at most 80 columns; wide characters count twice."""
    lines: list[str] = []
    for line in textwrap.wrap(
        visible(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    ):
        while cell_len(line) > WIDTH:
            room = next(at for at in range(len(line)) if cell_len(line[: at + 1]) > WIDTH)
            lines.append(line[:room])
            line = rest + line[room:]  # noqa: PLW2901
        lines.append(line)
    return lines or [first.rstrip()]


def _items(texts: tuple[str, ...]) -> list[str]:
    return [line for text in texts for line in _filled(text, "  - ", "    ")]


def _program(which: str, name: str, side: Counted) -> list[str]:
    data = side.program.text
    blocks, moves = counted(len(side.program), "block"), counted(len(side.motion), "move")
    return [
        *_filled(name, f"  {which:<8}", " " * 10),
        f"    size    {counted(len(data), 'byte')}, {blocks}, {moves}",
        f"    sha256  {_sha256(data)}",
    ]


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _file(loaded: LoadedMill | LoadedJob) -> list[str]:
    if not loaded.name:
        if isinstance(loaded, LoadedMill):
            return ["  none: guessed values"]
        return ["  none: tools and stock as named below, if any"]
    return [
        *_filled(loaded.name),
        f"    size    {counted(len(loaded.data), 'byte')}",
        f"    sha256  {_sha256(loaded.data)}",
    ]


def _values(certificate: Certificate) -> list[str]:
    """Return what of mill and job the proof looked at."""
    mill, job = certificate.mill.mill, certificate.job.job
    rows = [
        f"a path may leave the other by at most {mill.limits.tolerance:g} mm",
        "travel below "
        + ", ".join(
            f"{name} {axis.resolution:g}" for name, axis in zip("XYZ", mill.axes, strict=True)
        )
        + " mm is none",
        "travel of the axes: "
        + ", ".join(
            f"{name} {axis.travel[0]:g} to {axis.travel[1]:g}" if axis.travel
            else f"{name} not known"
            for name, axis in zip("XYZ", mill.axes, strict=True)
        ) + " mm",
        "lost motion: "
        + ", ".join(
            f"{name} {_backlash(axis)}" for name, axis in zip("XYZ", mill.axes, strict=True)
        )
        + f" mm, taken up by: {mill.compensation.by}",
        f"an approach overshoots by at least {mill.limits.min_overshoot:g} mm",
        f"new rapids keep {mill.limits.rapid_clearance:g} mm from metal",
    ]  # fmt: skip
    rows += [
        f"origin of {system_name(number)}: X{{:g}} Y{{:g}} Z{{:g}} mm".format(*place)
        for number, place in sorted(mill.controller.origins.items())
    ]
    rows += [
        f"length of H{number}: {length:g} mm"
        for number, length in sorted(mill.controller.lengths.items())
    ]
    moves = {"all": "any axis", "z": "Z", "none": "no axis"}[mill.controller.tool_change_moves]
    rows.append(f"a tool change may move {moves}")
    rows += [f"tool {number}: {_tool(tool)}" for number, tool in sorted(job.tools.items())]
    rows += [f"tool {number}: not named" for number in certificate.proved.unnamed]
    if job.stock is None:
        rows.append("stock: not named; metal is taken to be everywhere")
    else:
        low, high = ("X{:g} Y{:g} Z{:g}".format(*each) for each in (
            job.stock.min, job.stock.max,
        ))  # fmt: skip
        rows.append(f"stock: from {low} to {high} mm")
    return _items(tuple(rows))


def _backlash(axis: Axis) -> str:
    if isinstance(axis.lost_motion, tuple):
        values = [value for _, value in axis.lost_motion]
        return f"{min(values):g} to {max(values):g} (a table)"
    return f"{axis.lost_motion:g}"


def _obligations(proved: Proved) -> list[str]:
    return [
        line
        for found, lines in obligation_rows(proved)
        for mark, text in zip((_MARKS[found], *("" for _ in lines[1:])), lines, strict=True)
        for line in _filled_at(f"  {mark:<9}", text)
    ]


def _filled_at(head: str, text: str) -> list[str]:
    """Keep the columns of a line that is laid out already, unless wide characters break it."""
    line = (head + text).rstrip()
    return [line] if cell_len(line) <= WIDTH else _filled(text.strip(), head, " " * len(head))


def _failures(certificate: Certificate) -> list[str]:
    """Return the lines at which obligations fail, in both programs."""
    proved = certificate.proved
    rows = []
    for each in proved.failed:
        for side, name, block in (
            (proved.before, certificate.before, each.before),
            (proved.after, certificate.after, each.after),
        ):
            if block is not None:
                text = side.program.source.line_text(block + 1).strip()
                rows.append(f"{each.name}: {name}:{block + 1}: {text}")
    return ["WHERE IT FAILS", *_items(tuple(rows))] if rows else []


def _weaker(certificate: Certificate) -> list[str]:
    more = what_to_name(certificate.proved, certificate.job.job)
    return ["WHAT WOULD MAKE IT STRONGER", *_filled(more)] if more else []


def _not_known(certificate: Certificate) -> list[str]:
    found = unknown_lines(certificate.proved)
    return (
        ["PLACES NOT KNOWN; THEIR MOVES MUST BE THE SAME WORDS", *_items(tuple(found))]
        if found
        else []
    )


def _not_stated(certificate: Certificate) -> list[str]:
    found = not_stated_texts(certificate.proved.before, certificate.proved.after)
    return ["NOT STATED", *_items(tuple(found))] if found else []


def _decisions(certificate: Certificate) -> list[str]:
    stated = stated_keys(certificate.mill)
    found = certificate.proved.decisions
    if not found:
        return ["  nothing that matters to these two programs"]
    options = certificate.mill.by_option
    return _items(tuple(_decision(each, stated, options) for each in found))


def _decision(each: Decision, stated: frozenset[str], options: frozenset[str]) -> str:
    if each.key in options:
        source = f"--{each.key}"
    elif not each.key:
        source = "the standard's or the trade's habit; the profile has no key for it"
    elif each.key in stated:
        source = f"{each.key} of the profile"
    else:
        source = f"the default of {each.key}; the profile does not say"
    places = " and ".join(
        f"line {block + 1} {which}"
        for block, which in ((each.before, "before"), (each.after, "after"))
        if block is not None
    )
    return f"{each.name}: {each.taken} ({source}). {each.why}; first at {places}"


def _tool(tool: Tool) -> str:
    """Describe a tool; what the job does not tell of its shape is marked as assumed."""
    said = [f"{tool.shape}, {tool.diameter:g} mm"]
    if tool.shape == "bull":
        assumed = "" if tool.corner_radius else " (assumed)"
        said.append(f"corner {tool.corner_in_use:g} mm{assumed}")
    if tool.point_in_use is not None:
        assumed = "" if tool.point_angle else " (assumed)"
        said.append(f"point {math.degrees(tool.point_in_use):g} degrees{assumed}")
    if tool.flutes:
        said.append(counted(tool.flutes, "flute"))
    if tool.max_ramp_angle:
        said.append(f"ramp angle up to {math.degrees(tool.max_ramp_angle):g} degrees")
    return ", ".join(said)
