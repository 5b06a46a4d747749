"""Changes to single words of a block that otherwise stays as it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation

from gpre.editing.editable import Editable
from gpre.editing.number_style import POINT
from gpre.editing.skip import Skip
from gpre.program.expression import Number
from gpre.source.edit import Edit

MACHINE, HOMES = 530, (280, 300)  # G53, G28 and G30, times ten: moves in machine coordinates


@dataclass(frozen=True, slots=True)
class FoundWord:
    """A word as it stands: its letter, its value and its bytes."""

    letter: str
    value: float
    start: int
    end: int


def words_of(editable: Editable, block: int) -> list[FoundWord]:
    """Return the words of a plain block, in the order of the text."""
    words, first = editable.program.words, editable.program.blocks.first_word
    return [
        FoundWord(
            chr(words.letter[row]),
            float(words.value[row]),
            int(words.start[row]),
            int(words.end[row]),
        )
        for row in range(int(first[block]), int(first[block + 1]))
    ]


def letters_in(editable: Editable, block: int) -> set[str]:
    """Return the letters of a block's words, be it plain or a statement."""
    statement = editable.program.statements.get(block)
    if statement is not None:
        return {word.letter for word in statement.words}
    return {word.letter for word in words_of(editable, block)}


def g_codes(editable: Editable, block: int) -> list[int]:
    """Return the G codes that a block states as plain numbers, times ten."""
    statement = editable.program.statements.get(block)
    if statement is not None:
        return [
            round(word.value.value * 10)
            for word in statement.words
            if word.letter == "G" and isinstance(word.value, Number)
        ]
    return [round(word.value * 10) for word in words_of(editable, block) if word.letter == "G"]


def find_word(editable: Editable, block: int, letter: str) -> FoundWord | None:
    """Return the first word with a letter, or None."""
    return next((word for word in words_of(editable, block) if word.letter == letter), None)


def exact(editable: Editable, word: FoundWord) -> Decimal:
    """Return the number of a word exactly as it is written."""
    text = editable.program.source.data[word.start + 1 : word.end]
    try:
        return Decimal(b"".join(text.split()).decode("ascii"))
    except (InvalidOperation, UnicodeDecodeError):
        return Decimal(repr(word.value))


def written(editable: Editable, letter: str, number: Decimal) -> str:
    """Write a word with all decimals of its number, in the program's code style."""
    manner = editable.manner
    places = max(decimals_of(number), manner.length.decimals)
    return manner.letter(letter) + manner.length.write(float(number), places)


def added(editable: Editable, block: int, words: Iterable[str]) -> Edit:
    """Put words behind the last axis word of a block. Raises Skip where it has none."""
    ends = [word.end for word in words_of(editable, block) if word.letter in "XYZ"]
    if not ends:
        raise Skip("the block names no axis")
    text = "".join(editable.manner.blank + word for word in words)
    return Edit(max(ends), max(ends), text.encode("ascii"))


def decimals_of(number: Decimal) -> int:
    """Count the decimals of a number as written."""
    exponent = number.as_tuple().exponent
    return max(-exponent, 0) if isinstance(exponent, int) else 0


def renumber(editable: Editable, word: FoundWord, value: Decimal) -> Edit:
    """Write another number behind a word's letter, exactly, in the word's own manner."""
    old = exact(editable, word)
    text = editable.program.source.data[word.start + 1 : word.end]
    blanks = text[: len(text) - len(text.lstrip())]
    style = editable.manner.length
    places = max(decimals_of(value), decimals_of(old))
    if editable.manner.keeps_zeros:
        kept = max(style.least, decimals_of(old))
        style = replace(
            style,
            least=kept,
            point=style.point or kept > 0,
            zero_point=style.zero_point or kept > 0,
        )
    written = style.write(float(value), places)
    if bytes([POINT]) in text and "." not in written:
        written += "."
    return Edit(word.start + 1, word.end, blanks + written.encode("ascii"))
