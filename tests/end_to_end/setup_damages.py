"""Damage done where a program changes what its places are counted from, and to its text.

As in `damages`, each takes the lines of a program, the line to damage and a source of chance, and
gives the lines anew; None where it has nothing to do with that line. After a change of work system,
zero, tool or tool length a program states again where it goes: here that is lost.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

from damages import Damage, Lines, with_word, word_of, words_of

CHANGES = {
    "work system": ("G", {54.0, 55.0, 56.0, 57.0, 58.0, 59.0}),
    "G92": ("G", {92.0, 92.1}),
    "G10": ("G", {10.0}),
    "home": ("G", {28.0, 30.0}),
    "G53": ("G", {53.0}),
    "tool change": ("M", {6.0}),
    "length offset": ("G", {43.0, 49.0}),
}
START = "the start"  # where the tool stands before the first block, nobody knows
_REACH = 7  # lines
_SAME_LINE = {43.0, 49.0}  # these may stand with the place that they count for


def _codes(line: bytes, letter: str) -> set[float]:
    return {value for _, _, one, value in words_of(line) if one == letter}


def _axes(line: bytes) -> set[str]:
    """The axes that a line moves; none where G92, G10, G28 or G53 have them."""
    if _codes(line, "G") & {92.0, 10.0, 28.0, 30.0, 53.0, 4.0}:
        return set()
    return {one for _, _, one, _ in words_of(line) if one in "XYZ"}


def _restated(lines: Lines, at: int, change: str) -> list[int]:
    """The lines behind a change that say where the tool goes, up to the first cut."""
    if change == START:
        first = next((number for number, line in enumerate(lines) if _axes(line)), None)
        return [] if first != at else _until_cut(lines, at, at)
    letter, codes = CHANGES[change]
    here = _codes(lines[at], letter) & codes
    if not here:
        return []
    return _until_cut(lines, at, at if here & _SAME_LINE else at + 1)


def _until_cut(lines: Lines, at: int, first: int) -> list[int]:
    result = []
    for number in range(first, min(at + _REACH, len(lines))):
        if _axes(lines[number]):
            result.append(number)
        if number > at and _codes(lines[number], "G") & {1.0, 2.0, 3.0}:
            break
    return result


def _dropped(lines: Lines, at: int, places: list[int], random: Random) -> Lines | None:
    place = random.choice(places)
    if place == at:
        return None
    return [*lines[:place], *lines[place + 1 :]]


def _before(lines: Lines, at: int, places: list[int], random: Random) -> Lines | None:
    """Move it before the change."""
    place = random.choice(places)
    if place == at:
        return None
    return [*lines[:at], lines[place], *lines[at:place], *lines[place + 1 :]]


def _axis_lost(lines: Lines, _: int, places: list[int], random: Random) -> Lines | None:
    place = random.choice(places)
    words = [each for each in words_of(lines[place]) if each[2] in "XYZ"]
    return with_word(lines, place, random.choice(words), None)


def _pair(lines: Lines, places: list[int], *, down: bool) -> tuple[int, int] | None:
    """Two neighbours, one sideways and one in Z, at rapid."""
    for one, two in zip(places, places[1:], strict=False):
        first, second = _axes(lines[one]), _axes(lines[two])
        sideways = "Z" not in first and second == {"Z"}
        if two == one + 1 and (sideways if down else (first == {"Z"} and "Z" not in second)):
            return one, two
    return None


def _diagonal(lines: Lines, _: int, places: list[int], random: Random) -> Lines | None:
    """Write two moves, across and in Z, as one."""
    pair = _pair(lines, places, down=True) or _pair(lines, places, down=False)
    if pair is None or _codes(lines[pair[1]], "G") & {1.0}:
        return None
    one, two = pair
    words = [b"%c%s" % (each[2].encode(), b"%g" % each[3]) for each in words_of(lines[two])]
    more = b" ".join(word for word in words if word[:1] in b"XYZH")
    head = lines[one] if b"(" not in lines[one] else lines[one].split(b"(")[0]
    if _codes(lines[two], "G") & {43.0}:
        more = b"G43 " + more
    return [*lines[:one], head.rstrip() + b" " + more, *lines[two + 1 :]]


def _down_first(lines: Lines, _: int, places: list[int], random: Random) -> Lines | None:
    pair = _pair(lines, places, down=True)
    if pair is None:
        return None
    one, two = pair
    lines[one], lines[two] = lines[two], lines[one]
    return lines


def _in_steps(lines: Lines, at: int, places: list[int], random: Random) -> Lines | None:
    """Write a way in Z as the step that it was before the change."""
    for place in places:
        word = word_of(lines[place], "Z")
        old = next(
            (found[3] for line in reversed(lines[:place]) if (found := word_of(line, "Z"))), None
        )
        if word is None or old is None or (place == at and _codes(lines[at], "G") & {49.0}):
            continue
        step = b"G91 G0 Z%g" % (word[3] - old)
        kept = with_word(lines, place, word, None)[place]
        return [*lines[:place], kept, step, b"G90", *lines[place + 1 :]]
    return None


_AFTER: dict[str, Callable[[Lines, int, list[int], Random], Lines | None]] = {
    "move lost": _dropped,
    "move before it": _before,
    "axis word lost": _axis_lost,
    "diagonal": _diagonal,
    "down before across": _down_first,
    "down in steps": _in_steps,
}


def _after(change: str, name: str) -> Damage:
    def damage(lines: Lines, at: int, random: Random) -> Lines | None:
        places = _restated(lines, at, change)
        return _AFTER[name](lines, at, places, random) if places else None

    return damage


def _feed_down_in_steps(lines: Lines, at: int, random: Random) -> Lines | None:
    """`G43 H11 Z2` becomes `G43 H11` and a step at feed."""
    word = word_of(lines[at], "Z")
    if word is None or not _codes(lines[at], "G") & {43.0}:
        return None
    kept = with_word(lines, at, word, None)[at]
    return [*lines[:at], kept, b"G91 G1 Z-4 F100", b"G90 G0", *lines[at + 1 :]]


def _appended(word: bytes) -> Damage:
    """Write a word into a block that moves and switches nothing on."""

    def damage(lines: Lines, at: int, random: Random) -> Lines | None:
        if not _axes(lines[at]) or _codes(lines[at], "G") - {0.0, 1.0} or b"(" in lines[at]:
            return None
        lines[at] = lines[at].rstrip() + b" " + word
        return lines

    return damage


def _of_text(pattern: bytes, new: bytes) -> Damage:
    """Write the first place that fits a pattern anew."""

    def damage(lines: Lines, at: int, random: Random) -> Lines | None:
        line = re.sub(pattern, new, lines[at], count=1, flags=re.IGNORECASE)
        if line == lines[at]:
            return None
        lines[at] = line
        return lines

    return damage


def _far_right(lines: Lines, at: int, random: Random) -> Lines | None:
    words = [each for each in words_of(lines[at]) if each[2] in "XYZF"]
    if not words:
        return None
    start = words[-1][0]
    lines[at] = lines[at][:start] + b" " * 256 + lines[at][start:]
    return lines


def _number(lines: Lines, at: int, random: Random) -> Lines | None:
    if not 5 < at < len(lines) - 3 or not _axes(lines[at]):
        return None
    return [*lines[:at], b"O1234", *lines[at:]]


def _feed(factor: float) -> Damage:
    def damage(lines: Lines, at: int, random: Random) -> Lines | None:
        word = word_of(lines[at], "F")
        return word and with_word(lines, at, word, word[3] * factor)

    return damage


def _turn_lost(lines: Lines, at: int, random: Random) -> Lines | None:
    """Leave one turn of a helix out: the next one goes down twice as far."""
    near = lines[at - 1 : at + 2]
    if len(near) < 3 or not all(word_of(line, "Z") and word_of(line, "IJ") for line in near):
        return None
    return [*lines[:at], *lines[at + 1 :]]


def _places(lines: Lines, at: int) -> tuple[float, float, float] | None:
    """Where the tool stands before a line, as X, Y and Z words say it; None in G91."""
    found = {}
    for line in lines[:at]:
        codes = _codes(line, "G")
        if 91.0 in codes and not codes & {28.0, 30.0}:
            return None
        found.update({one: value for _, _, one, value in words_of(line) if one in "XYZ"})
    if any(91.0 in _codes(line, "G") for line in lines[max(at - 3, 0) : at]):
        return None
    return (found["X"], found["Y"], found["Z"]) if len(found) == 3 else None


def _back_at_rapid(lines: Lines, at: int, random: Random) -> Lines | None:
    """Run back at rapid through what was just cut, along its wall, and forth again."""
    start, end = _places(lines, at), _places(lines, at + 1)
    if start is None or end is None or start[2] != end[2] or start == end or end[2] >= 0.0:
        return None
    if not any(_codes(line, "G") & {1.0} for line in lines[max(at - 2, 0) : at + 1]):
        return None
    if word_of(lines[at], "IJR") or _codes(lines[at], "G") & {0.0}:
        return None
    back = [b"G0 X%.4f Y%.4f" % each[:2] for each in (start, end)]
    return [*lines[: at + 1], *back, b"G1", *lines[at + 1 :]]


def _up_last(lines: Lines, at: int, random: Random) -> Lines | None:
    """Go across over the floor just cut, and up only there."""
    if at + 1 >= len(lines) or _axes(lines[at]) != {"Z"} or not _codes(lines[at], "G") & {0.0}:
        return None
    if not _axes(lines[at + 1]) or "Z" in _axes(lines[at + 1]):
        return None
    if _codes(lines[at + 1], "G") - {0.0}:
        return None
    across = b" ".join(
        b"%s%g" % (o.encode(), v) for _, _, o, v in words_of(lines[at + 1]) if o in "XY"
    )
    return [*lines[:at], b"G0 " + across, lines[at], *lines[at + 2 :]]


def _reversed(lines: Lines, at: int, random: Random) -> Lines | None:
    """Cut a closed contour the other way round."""
    start = _places(lines, at)
    if start is None or start[2] >= 0.0:
        return None
    runs: list[tuple[float, tuple[float, float], tuple[float, float], list[tuple[str, float]]]] = []
    code, here = 1.0, start[:2]
    for number in range(at, len(lines)):
        words = words_of(lines[number])
        codes = _codes(lines[number], "G")
        if {one for _, _, one, _ in words} - set("NGXYIJRF") or codes - {1.0, 2.0, 3.0}:
            return None
        code = next(iter(codes), code)
        told = {one: value for _, _, one, value in words}
        there = told.get("X", here[0]), told.get("Y", here[1])
        more = [(one, told[one]) for one in "R" if one in told]
        if "I" in told or "J" in told:
            x, y = here[0] + told.get("I", 0.0), here[1] + told.get("J", 0.0)
            more = [("I", x - there[0]), ("J", y - there[1])]
        runs.append((code, here, there, more))
        here = there
        if here == start[:2] and len(runs) > 3:
            break
    else:
        return None
    other = {1.0: b"G1", 2.0: b"G3", 3.0: b"G2"}
    new = []
    for code, to, _, more in reversed(runs):
        tail = b"".join(b" %s%.4f" % (one.encode(), value) for one, value in more)
        new.append(other[code] + b" X%.4f Y%.4f" % to + tail)
    return [*lines[:at], *new, *lines[at + len(runs) :]]


SETUP_DAMAGES: dict[str, Damage] = {
    **{
        f"{name} after {change}": _after(change, name)
        for change in (*CHANGES, START)
        for name in _AFTER
    },
    "length taken, then down in steps at feed": _feed_down_in_steps,
    "H where nothing is switched on": _appended(b"H5"),
    "D where nothing is switched on": _appended(b"D3"),
    "comment left open": _of_text(rb"\)", b""),
    "comment inside a comment": _of_text(rb"\((?=[^)]*\))", b"(("),
    "words behind a comment left open": _of_text(rb"^([^(]*[GXYZ][^(]*)$", rb"(\1"),
    "blank inside a number": _of_text(rb"([XYZ]-?\d*)(\d)", rb"\1 \2"),
    "beyond column 256": _far_right,
    "program number in the middle": _number,
    "point lost behind a whole number": _of_text(rb"([XYZ]-?\d+)\.(?!\d)", rb"\1"),
    "point and zero lost": _of_text(rb"([XYZ]-?\d+)\.0+(?!\d)", rb"\1"),
    "rapid back through the cut": _back_at_rapid,
    "up only after going across": _up_last,
    "contour the other way round": _reversed,
    "feed 0": _feed(0.0),
    "feed a thousandth": _feed(0.001),
    "speed up by a tenth": lambda lines, at, random: (
        (word := word_of(lines[at], "S")) and with_word(lines, at, word, word[3] * 1.1)
    ),
    "text of a stop lost": _of_text(rb"(M0?[01]\b) *\([^)]*\)", rb"\1"),
    "text of a stop changed": _of_text(rb"(M0?[01]\b *\()[^)]*\)", rb"\1go on)"),
    "message lost": _of_text(rb"\(MSG[^)]*\)", b""),
    "message changed": _of_text(rb"\(MSG,[^)]*\)", b"(MSG, ALL CLEAR)"),
    "turn of a helix lost": _turn_lost,
}
