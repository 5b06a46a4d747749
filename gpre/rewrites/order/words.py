"""Writes the X and Y of holes that have traded places; all else of their blocks stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from gpre.editing.editable import Editable
from gpre.editing.skip import Skip
from gpre.editing.word_edits import FoundWord, exact, words_of, written
from gpre.motion.motion import Motion
from gpre.program.words import BlockFlag
from gpre.rewrites.order.holes import Station
from gpre.source.edit import Edit

_DECIMALS = 6  # of a number that no block states itself


@dataclass(frozen=True)
class Spot:
    """A hole's place as the program writes it: X and Y, units of the program, and their bytes.

    In G91 the numbers count from the place before the row, and there are no bytes.
    """

    number: tuple[Decimal, Decimal]
    text: tuple[bytes | None, bytes | None]


def spots_of(editable: Editable, stations: Sequence[Station]) -> list[Spot]:
    """Read the places of stations off their words, exactly."""
    motion = editable.motion
    incremental = _incremental(motion, stations[0])
    scale = editable.modes.before(stations[0].block).scale
    here = [Decimal(0), Decimal(0)]
    result = []
    for each in stations:
        words = {word.letter: word for word in words_of(editable, each.block)}
        text: list[bytes | None] = [None, None]
        for axis, letter in enumerate("XY"):
            word = words.get(letter)
            if incremental:
                here[axis] += exact(editable, word) if word else Decimal(0)
            elif word:
                here[axis] = exact(editable, word)
                text[axis] = editable.program.source.data[word.start : word.end]
            else:
                here[axis] = round(Decimal(float(each.place[axis]) / scale), _DECIMALS).normalize()
        result.append(Spot((here[0], here[1]), (text[0], text[1])))
    return result


def edits_of(editable: Editable, stations: Sequence[Station], order: Sequence[int]) -> list[Edit]:
    """Return the edits that let the stations' blocks lead to the spots in another order.

    Raises Skip where a block that must change cannot.
    """
    spots = spots_of(editable, stations)
    incremental = _incremental(editable.motion, stations[0])
    named = [_named(editable, each) for each in stations]
    always = all(letters >= {"X", "Y"} for letters in named)
    before = (Decimal(0), Decimal(0)) if incremental else None
    edits: list[Edit] = []
    for number, (station, at) in enumerate(zip(stations, order, strict=True)):
        spot = spots[at]
        if not number and not at:
            continue  # the first one stays, and so does what stands before it
        old_before = spots[order[number - 1]].number if number else before
        words: dict[str, bytes] = {}
        for axis, letter in enumerate("XY"):
            same = old_before is not None and spot.number[axis] == old_before[axis]
            if same and not always:
                continue
            if incremental:
                assert old_before is not None
                words[letter] = _written(editable, letter, spot.number[axis] - old_before[axis])
            else:
                words[letter] = spot.text[axis] or _written(editable, letter, spot.number[axis])
        edits += _replaced(editable, station, words)
    return edits


def _incremental(motion: Motion, station: Station) -> bool:
    return motion.state_of(station.first).distance == 91


def _named(editable: Editable, station: Station) -> set[str]:
    return {word.letter for word in words_of(editable, station.block)} & {"X", "Y"}


def _written(editable: Editable, letter: str, number: Decimal) -> bytes:
    return written(editable, letter, number).encode("ascii")


def _replaced(editable: Editable, station: Station, words: dict[str, bytes]) -> list[Edit]:
    """Put the X and Y words of a block in the place of those that it has."""
    data, block = editable.program.source.data, station.block
    found = words_of(editable, block)
    old = [word for word in found if word.letter in {"X", "Y"}]
    if {word.letter: data[word.start : word.end] for word in old} == words:
        return []
    if editable.program.blocks.flags[block] & BlockFlag.COMMENT:
        raise Skip("a comment there may belong to its hole")
    letters = [word.letter for word in old]
    if sorted(letters) == sorted(words):  # the same words, each in its place
        return [
            Edit(word.start, word.end, words[word.letter])
            for word in old
            if data[word.start : word.end] != words[word.letter]
        ]
    blank = editable.manner.blank.encode()
    text = blank.join(words[letter] for letter in sorted(words))
    if not old:
        return [_inserted(found, text, blank)]
    edits = [Edit(old[0].start, old[0].end, text)]
    for word in old[1:]:
        ahead = max((one.end for one in found if one.end <= word.start), default=word.start)
        start = ahead if not data[ahead : word.start].strip() else word.start
        edits.append(Edit(start, word.end, b""))
    return edits


def _inserted(found: list[FoundWord], text: bytes, blank: bytes) -> Edit:
    """Put the words behind the G words of a block, or before all others."""
    codes = [word.end for word in found if word.letter == "G"]
    if codes:
        return Edit(max(codes), max(codes), blank + text)
    return Edit(found[0].start, found[0].start, text + blank)
