"""One block with its values known: codes by modal group, words by letter, and its faults."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from gpre.diagnostics.diagnostic import Span
from gpre.motion.groups import AXES, G_GROUPS, IGNORED, M_GROUPS, MACROS, TRANSFORMS, Group

NEAR_WHOLE = 1e-4  # how close to a whole number a code or an index must be (NISTIR 6556, 3.3.2.1)
LETTERS = frozenset("ABCDFGHIJKLMPQRSTXYZ")  # Table 3, without N


class BlockError(Exception):
    """A block cannot be run as it stands. One place adds the block and its span.

    letters: the words at fault; empty for the block as a whole.
    """

    def __init__(
        self, code: str, message: str, letters: Iterable[str] = (), *, advice: str = ""
    ) -> None:
        """Keep what a Diagnostic needs."""
        super().__init__(message)
        self.code = code
        self.message = message
        self.letters = tuple(letters)
        self.advice = advice


@dataclass(frozen=True, slots=True)
class Value:
    """A word whose value is known; NaN where it cannot be."""

    letter: str
    value: float
    span: Span


@dataclass
class Block:
    """What one block asks for.

    g: the code times ten of each modal group. m: the code of each group of M codes (7 and 8 may
    stand together, so coolant has its own tuple). words: all others by letter. spans: of every
    word; G and M words under their codes (`G10`). strange: codes that are not known. faults: as
    (code, message, span, advice); `broken` where one of them takes the motion away.
    """

    index: int
    span: Span
    g: dict[Group, int] = field(default_factory=dict)
    m: dict[int, int] = field(default_factory=dict)
    coolant: tuple[int, ...] = ()
    words: dict[str, float] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)
    used: set[str] = field(default_factory=set)
    strange: list[tuple[str, Span]] = field(default_factory=list)
    special: int | None = None  # a macro call or a change of coordinates
    faults: list[tuple[str, str, Span, str]] = field(default_factory=list)
    broken: bool = False

    def take(self, letter: str) -> float | None:
        """Give the value of a word, which counts as used then, or None."""
        value = self.words.get(letter)
        if value is not None:
            self.used.add(letter)
        return value

    def whole(self, letter: str, what: str) -> int | None:
        """Give a word that must be a whole number not below zero, or None where it is not there."""
        value = self.take(letter)
        if value is None:
            return None
        nearest = math.floor(value + 0.5) if math.isfinite(value) else -1
        if nearest < 0 or abs(value - nearest) > NEAR_WHOLE:
            fault = (
                "is not known" if math.isnan(value) else f"must be a whole number, not {value:g}"
            )
            raise BlockError("INT315", f"{what} {fault}", (letter,))
        return nearest

    @cached_property
    def axes(self) -> tuple[int, ...]:
        """The axes that the block names, 0 X to 5 C."""
        return tuple(axis for axis, letter in enumerate(AXES) if letter in self.words)

    def span_of(self, letters: Iterable[str]) -> Span:
        """Give the span over some of its words, or that of the block."""
        spans = [self.spans[letter] for letter in letters if letter in self.spans]
        if not spans:
            return self.span
        return Span(min(span.start for span in spans), max(span.end for span in spans))


def make_block(index: int, span: Span, values: Iterable[Value]) -> Block:
    """Sort the words of a block; note two codes of one group (NISTIR 6556, 3.3.5, 3.4)."""
    block = Block(index, span)
    for each in values:
        if each.letter == "G":
            _take_g(block, each)
        elif each.letter == "M":
            _take_m(block, each)
        elif each.letter in block.words:
            block.broken = True  # the reader has named it
        elif each.letter in LETTERS:
            block.words[each.letter] = each.value
            block.spans[each.letter] = each.span
        elif each.letter not in "NO":
            block.strange.append((each.letter, each.span))
    return block


def _tenths(value: float) -> int | None:
    """Give ten times a code as a whole number, or None where it is none."""
    if not math.isfinite(value) or not 0.0 <= value < 1000.0:
        return None
    nearest = math.floor(value * 10.0 + 0.5)
    return nearest if abs(value * 10.0 - nearest) <= NEAR_WHOLE else None


def _take_g(block: Block, each: Value) -> None:
    code = _tenths(each.value)
    group = G_GROUPS.get(code) if code is not None else None
    if code is not None and (code in MACROS or code in TRANSFORMS):
        block.special = code
        block.spans["special"] = each.span
        return
    if code in IGNORED:
        return
    if code is None or group is None:
        block.strange.append((f"G{each.value:g}", each.span))
        return
    name = f"G{code}"
    old = block.g.get(group)
    if old is None:
        block.g[group] = code
    elif old == code:
        block.faults.append(("INT339", f"G{each.value:g} stands twice in the block", each.span, ""))
    elif group is Group.MOTION and 800 in {old, code}:
        # G80 beside the code that takes over is how many programs open; the other code counts
        block.g[group] = code if old == 800 else old
        block.faults.append(("INT340", "G80 beside another motion code", each.span, ""))
    else:
        _conflict(block, f"G{old / 10:g}", f"G{each.value:g}", each.span)
        block.g[group] = code
    block.spans[name] = each.span


def _take_m(block: Block, each: Value) -> None:
    nearest = math.floor(each.value + 0.5) if math.isfinite(each.value) else -1
    group = M_GROUPS.get(nearest) if abs(each.value - nearest) <= NEAR_WHOLE else None
    if group is None:
        block.strange.append((f"M{each.value:g}", each.span))
        return
    old = block.m.get(group)
    block.spans[f"M{nearest}"] = each.span
    if old == nearest:
        block.faults.append(("INT339", f"M{nearest} stands twice in the block", each.span, ""))
    elif old is not None and {old, nearest} != {7, 8}:
        _conflict(block, f"M{old}", f"M{nearest}", each.span)
    block.m[group] = nearest
    if nearest in {7, 8, 9}:
        block.coolant = (*block.coolant, nearest)


def _conflict(block: Block, old: str, new: str, span: Span) -> None:
    block.broken = True
    block.faults.append(
        (
            "INT302",
            f"{new} and {old} belong to one group and cannot both be in force",
            span,
            "write one of them, or two blocks",
        )
    )
