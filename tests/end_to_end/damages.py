"""Damage that a fault of the rewriter, or a slip of an editor, might do to a program.

Each takes the lines of a program, the line to damage and a source of chance, and gives the lines
anew; None where it has nothing to do with that line.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

WORD = re.compile(rb"([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))", re.IGNORECASE)
Lines = list[bytes]
Damage = Callable[[Lines, int, Random], Lines | None]


def words_of(line: bytes) -> list[tuple[int, int, str, float]]:
    """Return the words of a line outside comments: start, end, letter, value."""
    bare = re.sub(rb"\([^)]*\)", lambda found: b" " * len(found[0]), line.split(b";")[0])
    return [
        (each.start(), each.end(), each[1].decode().upper(), float(each[2]))
        for each in WORD.finditer(bare)
    ]


def word_of(
    line: bytes, letters: str, value: float | None = None
) -> tuple[int, int, str, float] | None:
    for each in words_of(line):
        if each[2] in letters and (value is None or each[3] == value):
            return each
    return None


def with_word(
    lines: Lines, at: int, word: tuple[int, int, str, float], value: float | None
) -> Lines:
    """Write a word anew, or leave it out."""
    start, end, letter, _ = word
    new = b"" if value is None else f"{letter}{value:.4f}".rstrip("0").encode()
    lines[at] = lines[at][:start] + new + lines[at][end:]
    return lines


def _off(letters: str, by: float) -> Damage:
    def damage(lines: Lines, at: int, random: Random) -> Lines | None:
        word = word_of(lines[at], letters)
        return word and with_word(lines, at, word, word[3] + random.choice((-by, by)))

    return damage


def _times(letter: str, by: float) -> Damage:
    def damage(lines: Lines, at: int, _: Random) -> Lines | None:
        word = word_of(lines[at], letter)
        return word and with_word(lines, at, word, word[3] * by)

    return damage


def _for(letter: str, old: float, new: float | None) -> Damage:
    def damage(lines: Lines, at: int, _: Random) -> Lines | None:
        word = word_of(lines[at], letter, old)
        return word and with_word(lines, at, word, new)

    return damage


def _lost(letter: str) -> Damage:
    def damage(lines: Lines, at: int, _: Random) -> Lines | None:
        word = word_of(lines[at], letter)
        return word and with_word(lines, at, word, None)

    return damage


def _dropped(lines: Lines, at: int, _: Random) -> Lines | None:
    if not any(each[2] != "N" for each in words_of(lines[at])):
        return None
    del lines[at]
    return lines


def _swapped(lines: Lines, at: int, _: Random) -> Lines | None:
    if at + 1 >= len(lines):
        return None
    lines[at], lines[at + 1] = lines[at + 1], lines[at]
    return lines


def _passes_swapped(lines: Lines, at: int, _: Random) -> Lines | None:
    """Let two runs between rapids in Z trade places."""
    heads = [n for n, line in enumerate(lines) if word_of(line, "G", 0.0) and word_of(line, "Z")]
    if at not in heads[:-2]:
        return None
    one, two, three = heads[heads.index(at) : heads.index(at) + 3]
    return [*lines[:one], *lines[two:three], *lines[one:two], *lines[three:]]


def _depths_swapped(lines: Lines, at: int, random: Random) -> Lines | None:
    mine = word_of(lines[at], "Z")
    others = [n for n, line in enumerate(lines) if n > at and word_of(line, "Z")]
    if mine is None or not others:
        return None
    other = random.choice(others)
    its = word_of(lines[other], "Z")
    assert its is not None
    return with_word(with_word(lines, at, mine, its[3]), other, its, mine[3])


def _into_metal(lines: Lines, at: int, random: Random) -> Lines | None:
    """Move what a rapid goes to sideways by as much as a tool is wide."""
    word = word_of(lines[at], "XY")
    if word is None or not word_of(lines[at], "G", 0.0):
        return None
    return with_word(lines, at, word, word[3] + random.choice((-6.0, 6.0)))


def _deep_rapid(lines: Lines, at: int, _: Random) -> Lines | None:
    word = word_of(lines[at], "Z")
    if word is None or not word_of(lines[at], "G", 0.0):
        return None
    return with_word(lines, at, word, word[3] - 8.0)


def _repeated(lines: Lines, at: int, random: Random) -> Lines | None:
    if not words_of(lines[at]):
        return None
    lines.insert(random.randrange(len(lines)), lines[at])
    return lines


DAMAGES: dict[str, Damage] = {
    "block dropped": _dropped,
    "blocks swapped": _swapped,
    "block repeated elsewhere": _repeated,
    "passes swapped": _passes_swapped,
    "depths swapped": _depths_swapped,
    "feed lost": _lost("F"),
    "feed doubled": _times("F", 2.0),
    "Z off by 0.1": _off("Z", 0.1),
    "X or Y off by 0.1": _off("XY", 0.1),
    "I, J or R off by 0.1": _off("IJR", 0.1),
    "rapid through the wall": _for("G", 1.0, 0.0),
    "feed for rapid": _for("G", 0.0, 1.0),
    "G2 for G3": _for("G", 3.0, 2.0),
    "G3 for G2": _for("G", 2.0, 3.0),
    "lift lost": _lost("Z"),
    "loop into metal": _into_metal,
    "rapid too deep": _deep_rapid,
    "coolant gone": _for("M", 8.0, None),
    "spindle gone": _for("M", 3.0, None),
    "spindle the other way": _for("M", 3.0, 4.0),
    "speed doubled": _times("S", 2.0),
    "length offset gone": _for("G", 43.0, None),
    "increments for places": _for("G", 90.0, 91.0),
    "other plane": _for("G", 17.0, 18.0),
    "inches for millimetres": _for("G", 21.0, 20.0),
    "retract to the other level": _for("G", 98.0, 99.0),
    "another length offset": _off("H", 1.0),
    "another tool": _off("T", 1.0),
    "another work system": _for("G", 54.0, 55.0),
    "compensation gone": _for("G", 42.0, 40.0),
    "path mode changed": _for("G", 61.0, 64.0),
    "dwell shorter": _times("P", 0.5),
    "pecks deeper": _times("Q", 2.0),
    "repeats gone": _lost("L"),
    "stop gone": _for("M", 0.0, None),
    "call gone": _for("M", 98.0, None),
}
