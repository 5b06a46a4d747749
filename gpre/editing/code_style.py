"""The manner in which a program is written, so that new blocks look like its own."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from gpre.editing.number_style import NumberStyle, keep_points, style_of
from gpre.motion.motion import Kind, Motion
from gpre.program.measures import FEEDS, measures_of
from gpre.program.program import Program
from gpre.program.words import BlockFlag

PLAIN, PLAIN_FEED = NumberStyle(), NumberStyle(decimals=1)
SAMPLE = 5000  # blocks looked at for what a glance tells


@dataclass(frozen=True, slots=True)
class Numbering:
    """Block numbers: the step between them and the digits they are padded to."""

    step: int = 10
    width: int = 1


@dataclass(frozen=True, slots=True)
class CodeStyle:
    """What a program does.

    newline: bytes. blank: between words. padded: `G01`, not `G1`. lower: small letters.
    length, centre, feed: how X Y Z, I J K R, and F are written. radius: arcs state R, not I J K.
    repeats: each block states its motion code. semicolon: comments begin with `;`.
    lower_comments: comments hold small letters. numbering: None where blocks bear no numbers.
    writes_zero_centre: `I0` stands where a centre offset is zero. keeps_zeros: `X1.50`.
    """

    newline: bytes = b"\n"
    blank: str = " "
    padded: bool = False
    lower: bool = False
    length: NumberStyle = PLAIN
    centre: NumberStyle = PLAIN
    feed: NumberStyle = PLAIN_FEED
    radius: bool = False
    repeats: bool = False
    semicolon: bool = False
    lower_comments: bool = True
    numbering: Numbering | None = None
    writes_zero_centre: bool = True
    keeps_zeros: bool = False

    def code(self, letter: str, tenths: int) -> str:
        """Write a G or M code given times ten: `G1`, `g01`, `G90.1`."""
        whole, tenth = divmod(tenths, 10)
        number = f"{whole:02d}" if self.padded else str(whole)
        return self.letter(letter) + (f"{number}.{tenth}" if tenth else number)

    def letter(self, letter: str) -> str:
        """Write a letter in the program's case."""
        return letter.lower() if self.lower else letter.upper()

    def comment(self, text: str) -> str:
        """Write a comment in the program's style; no bracket may stand in `text`."""
        shown = text if self.lower_comments else text.upper()
        return f"; {shown}" if self.semicolon else f"({shown})"


def manner_of(program: Program, motion: Motion) -> CodeStyle:
    """Find the manner of a program; where it shows none, plain defaults stand."""
    inch = bool(len(motion)) and motion.states[int(motion.state[0])].units == 20
    lengths = measures_of(program)
    length = style_of(program, "XYZ", NumberStyle(decimals=4 if inch else 3))
    length = keep_points(length, program, "XYZ", lengths)
    centre = keep_points(style_of(program, "IJKR", length), program, "IJKR", lengths)
    feed = style_of(program, "F", NumberStyle(decimals=1))
    feed = keep_points(feed, program, "F", measures_of(program, letters=FEEDS))
    semicolon, lower_comments = _comments(program)
    return CodeStyle(
        newline=program.source.newline,
        blank=_blank(program),
        padded=_padded(program),
        lower=_lower(program),
        length=length,
        centre=centre,
        feed=feed,
        radius=_radius(program, motion),
        repeats=_repeats(program, motion),
        semicolon=semicolon,
        lower_comments=lower_comments,
        numbering=_numbering(program),
        writes_zero_centre=_writes_zero_centre(program, motion),
        keeps_zeros=_keeps_zeros(program),
    )


def _blank(program: Program) -> str:
    words, data = program.words, program.source.data
    seen: Counter[bytes] = Counter()
    same = np.flatnonzero(words.block[1:] == words.block[:-1])[:SAMPLE]
    for i in same:
        gap = data[int(words.end[i]) : int(words.start[i + 1])]
        if not gap.strip():
            seen[gap] += 1
    if not seen:
        return " "
    return seen.most_common(1)[0][0].decode("ascii")


def _keeps_zeros(program: Program) -> bool:
    words, data = program.words, program.source.data
    chosen = np.flatnonzero(np.isin(words.letter, (ord("X"), ord("Y"), ord("Z"))))[:SAMPLE]
    for row in chosen:
        _, point, decimals = data[int(words.start[row]) : int(words.end[row])].partition(b".")
        if point and len(decimals) > 1 and decimals.endswith(b"0"):
            return True
    return False


def _padded(program: Program) -> bool:
    words, data = program.words, program.source.data
    chosen = np.flatnonzero(
        (words.letter == ord("G")) & (words.value < 10) & (words.value % 1 == 0)
    )
    texts = [data[int(words.start[i]) : int(words.end[i])] for i in chosen[:SAMPLE]]
    return 2 * sum(b"0" in text[:2] and len(text) > 2 for text in texts) > len(texts)


def _lower(program: Program) -> bool:
    data = np.frombuffer(program.source.data, np.uint8)
    letters = data[program.words.start[:SAMPLE]]
    return 2 * int((letters >= ord("a")).sum()) > len(letters)


def _radius(program: Program, motion: Motion) -> bool:
    arcs = np.unique(motion.block[motion.kind == Kind.ARC])[:SAMPLE]
    first = program.blocks.first_word
    with_radius = 0
    for block in arcs:
        letters = program.words.letter[first[block] : first[block + 1]]
        with_radius += bool((letters == ord("R")).any())
    return 2 * with_radius > len(arcs)


def _writes_zero_centre(program: Program, motion: Motion) -> bool:
    arcs = np.unique(motion.block[motion.kind == Kind.ARC])[:SAMPLE]
    words, first = program.words, program.blocks.first_word
    zero = single = 0
    for block in arcs:
        row = slice(int(first[block]), int(first[block + 1]))
        offsets = words.value[row][np.isin(words.letter[row], (ord("I"), ord("J"), ord("K")))]
        zero += bool((offsets == 0.0).any())
        single += len(offsets) == 1
    return zero >= single


def _repeats(program: Program, motion: Motion) -> bool:
    """Return whether blocks state a motion code that is in force already."""
    words = program.words
    states = np.zeros(len(program), bool)
    states[words.block[(words.letter == ord("G")) & np.isin(words.value, (0, 1, 2, 3))]] = True
    same = (motion.kind[1:] == motion.kind[:-1]) & (motion.kind[1:] != Kind.ARC)
    same &= (motion.role[1:] == 0) & (motion.block[1:] != motion.block[:-1])
    blocks = motion.block[1:][same]
    return 2 * int(states[blocks].sum()) > len(blocks)


def _comments(program: Program) -> tuple[bool, bool]:
    flagged = np.flatnonzero(program.blocks.flags & BlockFlag.COMMENT)[:SAMPLE]
    semicolons = brackets = 0
    text = b""
    for block in flagged:
        line = program.source.block_bytes(int(block))
        bracket, semicolon = line.find(b"("), line.find(b";")
        if semicolon >= 0 and (bracket < 0 or semicolon < bracket):
            semicolons += 1
            text += line[semicolon:]
        elif bracket >= 0:
            brackets += 1
            text += line[bracket:]
    small = text != text.upper() if text else _lower(program)
    return semicolons > brackets, small or not text


def _numbering(program: Program) -> Numbering | None:
    flags, number = program.blocks.flags, program.blocks.number
    numbered = number >= 0
    worded = np.diff(program.blocks.first_word) > 0
    if 2 * int(numbered.sum()) <= int(worded.sum()) or not numbered.any():
        return None
    values = number[numbered]
    steps = np.diff(values)
    steps = steps[steps > 0]
    step = int(np.bincount(np.minimum(steps, 1000)).argmax()) if len(steps) else 10
    first = int(np.flatnonzero(flags & BlockFlag.NUMBERED)[0])
    line = program.source.block_bytes(first).lstrip(b"/ \t\xef\xbb\xbf").upper()
    digits = line[1:].lstrip()
    width = 0
    while width < len(digits) and digits[width : width + 1].isdigit():
        width += 1
    padded = digits[:1] == b"0" and width > 1
    return Numbering(step, width if padded else 1)
