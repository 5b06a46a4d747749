"""Reads and writes fixture files: programs before and after one rewrite.

Markers are lines that no program can hold::

    ==== mill                 TOML of a profile, for all cases of the file (before the first case)
    ==== job                  TOML of a job file, likewise
    ==== case: a name         each case may have a mill and a job of its own
    ==== options: no comments     or `modes not stated`: the mill does not know them either
    ==== before
    ==== after                or `==== after: same`
    ==== findings             what was done and what was left alone, a line each
    ==== summary              reversals while cutting, before and after
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from marked_sections import read_sections

_KINDS = "mill|job|case|options|before|after|findings|summary"


@dataclass(frozen=True)
class Case:
    name: str
    mill: str = ""
    job: str = ""
    options: str = ""
    before: str = ""
    after: str | None = None  # None: the same
    findings: str = ""
    summary: str = ""
    own_mill: bool = False
    own_job: bool = False


@dataclass(frozen=True)
class CaseFile:
    path: Path
    mill: str
    job: str
    cases: tuple[Case, ...]

    @property
    def rewrite(self) -> str:
        """The command-line name is that of the folder."""
        return self.path.parent.name


def read_case_file(path: Path) -> CaseFile:
    shared = {"mill": "", "job": ""}
    cases: list[Case] = []
    for _, kind, title, body in read_sections(path, _KINDS):
        if kind == "case":
            cases.append(Case(title, shared["mill"], shared["job"]))
        elif not cases:
            if kind not in shared:
                raise ValueError(f"{path.name}: {kind} before the first case")
            shared[kind] = body
        else:
            cases[-1] = _with(cases[-1], kind, title, body)
    return CaseFile(path, shared["mill"], shared["job"], tuple(cases))


def _with(case: Case, kind: str, title: str, body: str) -> Case:
    if kind == "mill":
        return replace(case, mill=body, own_mill=True)
    if kind == "job":
        return replace(case, job=body, own_job=True)
    if kind == "options":
        return replace(case, options=title)
    if kind == "after" and title == "same":
        return replace(case, after=None)
    return replace(case, **{kind: body})


def render_case_file(file: CaseFile, cases: list[Case]) -> str:
    """Return the text of a file with its cases as they are now."""
    parts = []
    if file.mill:
        parts.append("==== mill\n" + file.mill)
    if file.job:
        parts.append("==== job\n" + file.job)
    for case in cases:
        parts.append(f"==== case: {case.name}\n")
        if case.own_mill:
            parts.append("==== mill\n" + case.mill)
        if case.own_job:
            parts.append("==== job\n" + case.job)
        if case.options:
            parts.append(f"==== options: {case.options}\n")
        parts.append("==== before\n" + case.before)
        after = "==== after: same\n" if case.after is None else "==== after\n" + case.after
        parts.append(after)
        if case.findings:
            parts.append("==== findings\n" + case.findings)
        parts.append("==== summary\n" + case.summary)
    return "".join(parts)
