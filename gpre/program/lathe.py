"""Letters and codes that a mill does not know, and programs written for a lathe.

Some codes mean one thing on a mill and another on a lathe: G70 and G71 are inch and mm in an older
manner of milling programs, and turning cycles in others. The program as a whole decides. It is
taken as a lathe's where it holds G96 (constant surface speed), G70 to G72 with P and Q (the first
and last block of a contour), G50 with S (greatest spindle speed), or U or W words and no Y
(common practice, no source).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.checks import runs
from gpre.program.codes import Codes
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.words import BlockFlag, Word

_STRANGE = "EOUVW"
_CYCLES = frozenset({70.0, 71.0, 72.0, 73.0, 74.0, 75.0, 76.0})
_TURNING = frozenset({90.0, 92.0, 94.0})  # turning cycles of a lathe where axis words follow
_OTHERS = frozenset({50.0, 96.0})
_LATHE = np.uint16(BlockFlag.LATHE)
_UNREADABLE = np.uint16(BlockFlag.UNREADABLE)


def mark_lathe(program: Program, codes: Codes) -> list[Diagnostic]:
    """Set LATHE, and UNREADABLE for unknown letters, in the flags of the blocks; say where."""
    blocks = {block: block_words(program, block) for block in _candidates(program, codes)}
    no_y = bool(blocks) and not len(letter_rows(program, "Y"))
    evidence = [block for block, words in blocks.items() if _is_evidence(words, no_y)]
    findings: list[Diagnostic] = []
    flags = program.blocks.flags
    if evidence:
        more = codes.blocks("G", _TURNING) - blocks.keys()
        blocks |= {block: block_words(program, block) for block in more}
        findings.append(
            Diagnostic(
                "REA217",
                "this reads as a program for a lathe",
                Span(*_first_span(blocks[evidence[0]])),
                help="gpre is for mills: what only a lathe knows is named and left alone",
            )
        )
    for block, words in blocks.items():
        if evidence and (word := _lathe_word(words)) is not None:
            flags[block] |= _LATHE
            findings.append(Diagnostic("REA216", f"{_text(word)} is a word of a lathe", word.span))
        elif (word := _strange_word(program, block, words)) is not None:
            flags[block] |= _UNREADABLE
            findings.append(_unknown_letter(word))
        elif (word := _units_word(words)) is not None:
            findings += _units(program, block, word, words)
    return findings


def _candidates(program: Program, codes: Codes) -> list[int]:
    """Return the blocks that hold a word to look at."""
    found = codes.blocks("G", _CYCLES | _OTHERS)
    for letter in _STRANGE:
        found.update(program.words.block[letter_rows(program, letter)].tolist())
    found.update(
        block
        for block, statement in program.statements.items()
        if any(word.letter in _STRANGE for word in statement.words)
    )
    return sorted(block for block in found if runs(program, block))


def letter_rows(program: Program, letter: str) -> NDArray[np.int64]:
    """Return the rows of the words of a letter in the columns."""
    return np.flatnonzero(program.words.letter == ord(letter))


def _codes(words: tuple[Word, ...]) -> set[float]:
    return {
        word.value.value for word in words if word.letter == "G" and isinstance(word.value, Number)
    }


def _letters(words: tuple[Word, ...]) -> set[str]:
    return {word.letter for word in words}


def _is_evidence(words: tuple[Word, ...], no_y: bool) -> bool:
    """Return whether a block is one of a lathe's; `no_y`: the program has no Y word."""
    codes, letters = _codes(words), _letters(words)
    if 96.0 in codes or (50.0 in codes and "S" in letters):
        return True
    if codes & {70.0, 71.0, 72.0} and {"P", "Q"} <= letters:
        return True
    return no_y and bool(letters & {"U", "W"})


def _first_span(words: tuple[Word, ...]) -> Span:
    word = _lathe_word(words)
    return (word or words[0]).span


def _lathe_word(words: tuple[Word, ...]) -> Word | None:
    """Return the word that only a lathe knows, or that means another thing there."""
    moves = bool(_letters(words) & {"X", "Z"})
    for word in words:
        if word.letter in "UW":
            return word
        if word.letter != "G" or not isinstance(word.value, Number):
            continue
        code = word.value.value
        if code in _CYCLES or code in _OTHERS or (code in _TURNING and moves):
            return word
    return None


def _strange_word(program: Program, block: int, words: tuple[Word, ...]) -> Word | None:
    titled = bool(program.blocks.flags[block] & np.uint16(BlockFlag.PROGRAM_NUMBER))
    for place, word in enumerate(words):
        if word.letter in "EUVW" or (word.letter == "O" and not (titled and place == 0)):
            return word
    return None


def _unknown_letter(word: Word) -> Diagnostic:
    return Diagnostic(
        "REA214",
        f"a mill of three axes does not know the letter {word.letter} here",
        word.span,
        help="O stands first, with a whole number, or not at all"
        if word.letter == "O"
        else "the block is left alone, and so is what depends on it",
    )


def _units_word(words: tuple[Word, ...]) -> Word | None:
    for word in words:
        if (
            word.letter == "G"
            and isinstance(word.value, Number)
            and word.value.value in {70.0, 71.0}
        ):
            return word
    return None


def _units(program: Program, block: int, word: Word, words: tuple[Word, ...]) -> list[Diagnostic]:
    """Read G70 and G71 as units, unless words stand beside them that units have no use for."""
    if _letters(words) & set("DHIJKLPQRUVW"):
        program.blocks.flags[block] |= _UNREADABLE
        return [
            Diagnostic(
                "REA219",
                f"{_text(word)} with such words is a cycle that is not known here",
                word.span,
                help="write the moves out, or use a cycle of the standard, G81 to G89",
            )
        ]
    unit = "inch" if _text(word) == "G70" else "mm"
    return [
        Diagnostic(
            "REA218",
            f"{_text(word)} is read as {unit}, the program being no lathe's",
            word.span,
            help=f"write {'G20' if unit == 'inch' else 'G21'}, which means the same everywhere",
        )
    ]


def _text(word: Word) -> str:
    value = word.value
    return f"{word.letter}{value.value:g}" if isinstance(value, Number) else word.letter
