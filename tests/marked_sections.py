"""Cuts a fixture file into sections, at lines that no program can hold: `==== KIND: TITLE`."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple


class Section(NamedTuple):
    """What stands behind one marker. number: the marker's line, from 1."""

    number: int
    kind: str
    title: str
    body: str


def read_sections(path: Path, kinds: str, *, remarks: str = "") -> list[Section]:
    """Cut a file; `kinds` are parted by |. Raises ValueError, with the place, for other markers.

    remarks: the kind behind whose markers lines that start with # are left out, as they are before
    the first marker; "" where there are no remarks.
    """
    marker = re.compile(rf"^==== ({kinds})(?:: (.*))?$")
    sections: list[tuple[int, str, str, list[str]]] = []
    for number, line in enumerate(path.read_text("utf-8").splitlines(keepends=True), start=1):
        found = marker.match(line.rstrip("\n"))
        remark = bool(remarks) and line.startswith("#")
        if found:
            sections.append((number, found[1], found[2] or "", []))
        elif line.startswith("===="):
            raise ValueError(f"{path.name}:{number}: no marker: {line.strip()}")
        elif sections and not (remark and sections[-1][1] == remarks):
            sections[-1][3].append(line)
        elif line.strip() and not remark:
            raise ValueError(f"{path.name}:{number}: text before the first marker")
    return [Section(number, kind, title, "".join(body)) for number, kind, title, body in sections]
