"""Reads the text of a program as one controller or another may; it shares no code with gpre.

After NISTIR 6556, 3.1 to 3.3. Controllers differ in what they make of a comment that is never
closed, of a blank inside a number, of a whole number without a point, of what stands beyond column
256. A `Reading` is one way. Where the standard is strict and programs in use are not, they are read
as common practice has it: `;` and `//` comments, `:` for O, block numbers of any length, a sign
before a bracket, M98 and M99.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from own_values import NotFollowedError, read_formulas

__all__ = ["COORDINATES", "PLAIN", "Block", "NotFollowedError", "Reading", "read_blocks"]

COORDINATES = "XYZIJKRABC"
BLANKS = " \t"  # 3.3: nothing else is passed over
_WORD = re.compile(r"([A-Z])[ \t]*([-+]?)[ \t]*([0-9]+\.?[0-9]*|\.[0-9]+)")
_FLOW = re.compile(
    r"(IF|WHILE|GOTO|THEN|ELSE|ENDIF)|(DO|END)\d|O[<\[#]"
    r"|O\d+(SUB|END|RETURN|CALL|DO|WHILE|IF|ELSE|REPEAT|BREAK|CONTINUE)"
)
_MESSAGE = re.compile(r"\s*M\s*S\s*G\s*,(.*)", re.IGNORECASE)


@dataclass(frozen=True)
class Reading:
    """How a controller reads.

    thousandths: a coordinate without a point counts thousandths of a millimetre, or ten
    thousandths of an inch (some older controllers; memory, no source). open_comment: `line`, the
    rest of the line is comment, or `bracket`, the bracket alone is passed over. nested: a bracket
    inside a comment must be closed as well. columns: how many of a line are read (256 by NISTIR
    6556, 3.3), or None. joined: blanks inside a number are passed over (3.3), else the line is at
    fault. ends_at_number: O and a number in the middle begin another program. deletes: the switch
    for blocks that begin with / is on (2.2.2).
    """

    thousandths: bool = False
    open_comment: str = "line"
    nested: bool = False
    columns: int | None = None
    joined: bool = True
    ends_at_number: bool = False
    deletes: bool = False


PLAIN = Reading()


@dataclass(frozen=True)
class Block:
    """line: from 1. words: letter, value, and whether a point was written. text: its comments.

    message: of `(MSG, ...)`, where that is the last comment (3.3.5). fault: what the controller
    would stop for, or "". formula: words and settings of parameters that are not plain numbers yet,
    without blanks. flow: what steers the run of the program, which is not followed.
    """

    line: int
    words: tuple[tuple[str, float, bool], ...]
    text: str = ""
    fault: str = ""
    formula: str = ""
    flow: str = ""
    message: str = ""

    def all(self, letter: str) -> list[float]:
        return [value for one, value, _ in self.words if one == letter]

    def last(self, letter: str) -> float | None:
        found = self.all(letter)
        return found[-1] if found else None

    def settled(
        self, value_of: Callable[[float], float]
    ) -> tuple[Block, list[tuple[float, float]]]:
        """Return the block with its formulas worked out, and the parameters that it sets."""
        words, settings = read_formulas(self.formula, value_of)
        return Block(self.line, tuple(words), self.text, message=self.message), settings


def read_blocks(text: bytes, reading: Reading = PLAIN) -> list[Block]:
    """Return the blocks that run, silent ones left out."""
    decoded = text.decode("latin-1").removeprefix("\xef\xbb\xbf")
    lines = decoded.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    first, last = _within_marks(lines)
    result: list[Block] = []
    if first < 0:
        first = 0
        result.append(Block(-last, (), flow="words before the first %"))
        last = 0
    for number in range(first, last):
        block = _block(lines[number][: reading.columns], number + 1, reading)
        begun = any(each.words for each in result)
        if reading.ends_at_number and begun and block.all("O"):
            break
        if block.words or block.text or block.fault or block.formula or block.flow:
            result.append(block)
    return result


def _within_marks(lines: list[str]) -> tuple[int, int]:
    """Return the first line and one past the last between the % marks (3.1).

    A second % with nothing between it and the first is one with it (common practice). Words before
    the first %: it ends the program where that has an end, else nobody knows which part is meant;
    then the first is -1, and the last the line of those words below zero.
    """
    marks = [at for at, line in enumerate(lines) if line.strip(BLANKS) == "%"]
    if not marks:
        return 0, len(lines)
    before = [at for at in range(marks[0]) if lines[at].strip(BLANKS)]
    if before:
        ended = any(re.search(r"M *0*(2|30|99)\b", lines[at].upper()) for at in before)
        behind = any(line.strip(BLANKS) not in {"", "%"} for line in lines[marks[0] :])
        return (0, marks[0]) if ended or not behind else (-1, -(before[0] + 1))
    first = marks[0] + 1
    for mark in marks[1:]:
        if any(line.strip(BLANKS) for line in lines[first:mark]):
            return first, mark
        if not any(line.strip(BLANKS) for line in lines[mark + 1 :]):
            return first, mark
        first = mark + 1
    return first, len(lines)


def _block(line: str, number: int, reading: Reading) -> Block:
    if line.strip(BLANKS).startswith("//"):
        return Block(number, (), line.strip(BLANKS)[2:])
    parts = _Parts(line, reading)
    message = _MESSAGE.fullmatch(parts.comments[-1]) if parts.comments else None
    said = message[1].strip() if message else ""
    text, fault = "".join(parts.comments), parts.fault
    code = parts.code.strip(BLANKS).upper()
    if code.startswith("/"):
        if reading.deletes:
            return Block(number, ())
        code = code[1:]
    code = code.strip(BLANKS)
    code = "O" + code[1:] if code.startswith(":") else code
    closed = re.sub(r"[ \t]", "", code)
    if re.match(r"N\d+[ \t]+\d", code):  # by 3.3 one number; a letter may be missing as well
        fault = fault or "a blank within the block number"
    without_number = re.sub(r"^N\d+", "", closed)
    if flow := _FLOW.match(without_number):
        return Block(number, (), text, flow=flow[0])
    if any(sign in code for sign in "#[]="):
        return Block(number, (), text, fault, without_number, message=said)
    words: list[tuple[str, float, bool]] = []
    code = closed if reading.joined else code
    at = 0
    while at < len(code):
        found = _WORD.match(code, at)
        if found is None:
            if code[at] in BLANKS:
                at += 1
                continue
            fault = fault or f"cannot read {code[at:]!r}"
            break
        if found[1] == "N" and words:
            fault = fault or "a block number in the middle (3.3.1)"
        value = float(found[2] + found[3])
        if math.isinf(value):
            fault = fault or "a number that nothing can hold"
        words.append((found[1], value, "." in found[3]))
        at = found.end()
    return Block(number, tuple(words), text, fault, message=said)


class _Parts:
    """Code, comments and fault of a line."""

    def __init__(self, line: str, reading: Reading) -> None:
        self.code, self.fault = "", ""
        self.comments: list[str] = []
        depth = start = 0
        for at, sign in enumerate(line):
            if depth == 0 and sign == ";":
                self.comments.append(line[at + 1 :])
                return
            if sign == "(" and (depth == 0 or reading.nested):
                depth += 1
                start = start if depth > 1 else at
            elif sign == ")" and depth > 0:
                depth -= 1
                if depth == 0:
                    self.comments.append(line[start + 1 : at])
            elif sign == ")":
                self.fault = "a bracket closes what was not opened"
                return
            elif depth == 0:
                self.code += sign
        if depth and reading.open_comment == "bracket":
            self.code += line[start + 1 :]
        elif depth:
            self.comments.append(line[start + 1 :])
