"""Reads the text of a program as one controller or another may; it shares no code with gpre.

Controllers differ in what they make of a comment that is never closed, of a blank inside a number,
of a whole number without a point, of what stands beyond column 256. A `Reading` is one way.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

COORDINATES = "XYZIJKRABC"
_WORD = re.compile(r"([A-Z])\s*([-+]?)\s*(\d+\.?\d*|\.\d+)")


class NotFollowedError(Exception):
    """A program holds what this reader or the machine does not know."""


@dataclass(frozen=True)
class Reading:
    """How a controller reads.

    thousandths: a coordinate without a point counts thousandths of a millimetre, or ten
    thousandths of an inch (some older controllers; memory, no source). open_comment: `line`, the
    rest of the line is comment, or `bracket`, the bracket alone is passed over. nested: a bracket
    inside a comment must be closed as well. columns: how many of a line are read (256 by NISTIR
    6556, 3.3), or None. joined: blanks inside a number are passed over (3.3), else the line is at
    fault. ends_at_number: O and a number in the middle begin another program.
    """

    thousandths: bool = False
    open_comment: str = "line"
    nested: bool = False
    columns: int | None = None
    joined: bool = True
    ends_at_number: bool = False


PLAIN = Reading()


@dataclass(frozen=True)
class Block:
    """line: from 1. words: letter, value, and whether a point was written. text: its comments.

    fault: what the controller would stop for, or "".
    """

    line: int
    words: tuple[tuple[str, float, bool], ...]
    text: str = ""
    fault: str = ""

    def all(self, letter: str) -> list[float]:
        return [value for one, value, _ in self.words if one == letter]

    def last(self, letter: str) -> float | None:
        found = self.all(letter)
        return found[-1] if found else None


def read_blocks(text: bytes, reading: Reading = PLAIN) -> list[Block]:
    """Give the blocks that run, silent ones left out."""
    lines = text.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    marks = [at for at, line in enumerate(lines) if line.strip() == "%"]
    first = marks[0] + 1 if marks and not any(map(str.strip, lines[: marks[0]])) else 0
    last = next((mark for mark in marks if mark >= first), len(lines))
    result: list[Block] = []
    for number in range(first, last):
        block = _block(lines[number][: reading.columns], number + 1, reading)
        begun = any(each.words for each in result)
        if reading.ends_at_number and begun and block.all("O"):
            break
        if block.words or block.text or block.fault:
            result.append(block)
    return result


def _block(line: str, number: int, reading: Reading) -> Block:
    code, text, fault = _parted(line, reading)
    code = code.strip().upper()
    code = code.removeprefix("/")
    if any(sign in code for sign in "#[]="):
        raise NotFollowedError(f"line {number}: {line}")
    if reading.joined:
        code = re.sub(r"\s", "", code)
    words: list[tuple[str, float, bool]] = []
    at = 0
    while at < len(code):
        found = _WORD.match(code, at)
        if found is None:
            if code[at].isspace():
                at += 1
                continue
            return Block(number, tuple(words), text, fault or f"cannot read {code[at:]!r}")
        words.append((found[1], float(found[2] + found[3]), "." in found[3]))
        at = found.end()
    return Block(number, tuple(words), text, fault)


def _parted(line: str, reading: Reading) -> tuple[str, str, str]:
    """Give code, comments and fault of a line."""
    code, text, depth = "", "", 0
    start = 0
    for at, sign in enumerate(line):
        if depth == 0 and sign == ";":
            return code, text + line[at + 1 :], ""
        if sign == "(" and (depth == 0 or reading.nested):
            depth += 1
            start = start if depth > 1 else at
        elif sign == ")" and depth > 0:
            depth -= 1
            if depth == 0:
                text += line[start + 1 : at]
        elif sign == ")":
            return code, text, "a bracket closes what was not opened"
        elif depth == 0:
            code += sign
    if depth and reading.open_comment == "bracket":
        return code + line[start + 1 :], text, ""
    return code, text + (line[start + 1 :] if depth else ""), ""
