"""What comments say of tools: `(T3 D=6.35 FLAT END MILL)`, `T3 M6 (6MM BALL)`.

Such comments are for people and every post writes its own, so they are read as common patterns
(common practice, no source), and only where one diameter comes of it. A comment belongs to the
tool that it names; else to the T word in its block; else, alone in its block, to the tool change
in the block behind it, or else in the block before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from gpre.source.text import SourceText

_NOBODY = -2
_MARKS = np.frombuffer(b"Tt(;", np.uint8)  # a block without any of these says nothing of a tool
_COMMENT = re.compile(r"\(([^()]*)\)|;(.*)$")
_T = re.compile(r"T\s*0*(\d{1,7})(?![\d.])")
_CHANGE = re.compile(r"M\s*0*6(?![\d.])")
_NAMED = re.compile(r"\bT(?:OOL)?\s*(?:NO\.?|NUMBER|NR\.?)?\s*[#:=]?\s*0*(\d{1,7})\b(?!\.\d)")
_NUMBER = r"(\d+\s*/\s*\d+|\d+\.?\d*|\.\d+)"
# `4.2 IN T5` is a drill in a place, not 4.2 inches
_PLACE = r"(?:T\s*[#:=]?\s*\d|(?:TOOL|THE|A|HOLDER|COLLET|CHUCK|SPINDLE|POCKET|STATION)\b)"
_A_UNIT = r"(MM\b|INCH(?:ES)?\b|IN\b(?!\s*" + _PLACE + r")|\")"
_UNIT = r"\s*" + _A_UNIT + "?"
_KIND = r"(?:END\s?-?MILL|MILL|EM\b|DRILL|CUTTER|BALL|BULL|FLAT|SLOT|ROUGHER|SPOT|ENGRAV|V-?BIT)"
_OTHER = r"(?:DEEP|DEPTH|LONG|LENGTH|WIDE|WIDTH|HIGH|THICK|STICK|FROM|ABOVE|BELOW|OFF|RAD|STOCK)"
_BETWEEN = r"(?:\s+(?!" + _OTHER + r")\w+){0,3}?\s+"
_DIAMETERS = (
    re.compile(
        r"(?:\bD(?:IA(?:M(?:ETER)?)?)?\b\.?\s*[:=]?\s*|[\u00d8\u2300]\s*)" + _NUMBER + _UNIT
    ),
    re.compile(r"\bD" + _NUMBER + _UNIT),
    re.compile(r"(?<![\d./=])" + _NUMBER + r"\s*" + _A_UNIT + _BETWEEN + _KIND),
    re.compile(r"(?<![\d./=])(\d+/\d+)()" + _BETWEEN + _KIND),
    re.compile(_KIND + r"\s*[-:]?\s*" + _NUMBER + r"\s*" + _A_UNIT + r"(?!\s*" + _OTHER + ")"),
)
_CORNER = re.compile(r"\b(?:CR|CORNER\s*R(?:AD(?:IUS)?)?)\s*[:=]?\s*" + _NUMBER + _UNIT)
_POINT = re.compile(r"\b(\d{2,3})\s*(?:DEG\w*|\u00b0)")
# cutters that are no body of revolution below their shank, or cut beside it: nothing is taken
_FORMS = re.compile(
    r"T-?SLOT|DOVETAIL|WOODRUFF|KEYSEAT|LOLLIPOP|UNDERCUT|SLITTING|\bSAW\b|THREAD|\bTAP\b|FORM\b"
    r"|REAM|BOR(?:ING|E)\s?(?:BAR|HEAD)|PROBE|FLY\s?-?CUT|ROUND\s?OVER|TAPER"
)
_SHAPES = (
    (re.compile(r"\bBALL"), "ball"),
    (re.compile(r"\bBULL|\bTOROID"), "bull"),
    (re.compile(r"CHAMFER|COUNTERSINK|\bVEE?\b|V-?BIT|ENGRAV|SPOT|CENT(?:ER|RE)\s?-?DRILL"), "vee"),
    (re.compile(r"DRILL"), "drill"),
)


@dataclass(frozen=True, slots=True)
class ToolComment:
    """What one comment says of one tool.

    number: of the tool. block: where it stands. text: the comment. diameter, corner: as written,
    corner None where none is told; units: 20 or 21 where the comment says which, else 0, those of
    the program. shape: as a job file has it. point: degrees, None where none is told.
    """

    number: int
    block: int
    text: str
    diameter: float
    units: int
    shape: str
    corner: float | None
    point: float | None


@dataclass(frozen=True, slots=True)
class _Line:
    """A block: its tool (-1 for none), whether it changes it, whether it is a comment alone."""

    block: int
    tool: int
    changes: bool
    texts: tuple[str, ...]
    alone: bool


def tool_comments(source: SourceText) -> Iterator[ToolComment]:
    """Yield what the comments of a program say of the tools that it calls, in order."""
    lines = {line.block: line for line in _lines(source)}
    used = {line.tool for line in lines.values()}
    for line in lines.values():
        for text in line.texts:
            number = _belongs(line, text.upper(), lines)
            found = _said(number, line.block, text) if number in used else None
            if found is not None:
                yield found


def _lines(source: SourceText) -> Iterator[_Line]:
    """Look at the blocks that have a T or a comment."""
    data = np.frombuffer(source.data, np.uint8)
    places = np.flatnonzero(np.isin(data, _MARKS))
    blocks = np.unique(np.searchsorted(source.starts, places, side="right") - 1)
    for block in blocks[blocks >= 0].tolist():
        text = source.line_text(block + 1)
        texts = tuple((one or other).strip() for one, other in _COMMENT.findall(text))
        bare = _COMMENT.sub(" ", text).upper()
        tool = _T.search(bare)
        number = -1 if tool is None else int(tool[1])
        yield _Line(block, number, bool(_CHANGE.search(bare)), texts, not bare.strip())


def _belongs(line: _Line, text: str, lines: dict[int, _Line]) -> int:
    """Return the tool that a comment is about, _NOBODY where that is not clear."""
    named = {int(each) for each in _NAMED.findall(text)}
    if named:
        return named.pop() if len(named) == 1 else _NOBODY
    if line.tool >= 0:
        return line.tool
    if not line.alone:
        return _NOBODY
    for beside in (line.block + 1, line.block - 1):
        near = lines.get(beside)
        if near is not None and near.changes and near.tool >= 0:
            return near.tool
    return _NOBODY


def _said(number: int, block: int, text: str) -> ToolComment | None:
    """Read one comment about a tool; None where it has not one diameter, or is a form cutter."""
    upper = text.upper()
    if _FORMS.search(upper):
        return None
    found = set(_diameters(upper, number))
    if len(found) != 1:
        return None
    diameter, units = found.pop()
    shape = next((shape for pattern, shape in _SHAPES if pattern.search(upper)), "flat")
    corner = _one(_CORNER.findall(upper))
    if corner and shape == "flat":
        shape = "bull"
    point = _one([(each, "") for each in _POINT.findall(upper)])
    return ToolComment(
        number, block, text, diameter, units, shape,
        corner if shape == "bull" and corner else None,
        point if shape in {"vee", "drill"} else None,
    )  # fmt: skip


def _diameters(text: str, number: int) -> Iterator[tuple[float, int]]:
    """Yield the diameters in a comment, each with its units."""
    for pattern in _DIAMETERS:
        for each in pattern.finditer(text):
            unit = each[2] or ""
            bare = each[0].startswith("D") and each[1].isdigit() and "=" not in each[0]
            if bare and not unit and int(each[1]) == number:
                continue  # D3 of T3 is the number of its offset, as a rule
            inches = unit[:2] == "IN" or unit == '"' or (not unit and "/" in each[1])
            yield _value(each[1]), 20 if inches else 21 if unit == "MM" else 0


def _one(found: Sequence[tuple[str, str]]) -> float | None:
    values = {_value(each) for each, _ in found}
    return values.pop() if len(values) == 1 else None


def _value(text: str) -> float:
    over, slash, under = text.partition("/")
    return float(over) / float(under) if slash and float(under) else float(over)
