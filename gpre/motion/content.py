"""What the words of a block ask for: codes by modal group, words by letter, and their faults."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from gpre.diagnostics.diagnostic import Span
from gpre.motion.groups import AXES, G_GROUPS, IGNORED, M_GROUPS, MACROS, TRANSFORMS, Group

NEAR_WHOLE = 1e-4  # how close to a whole number a code or an index must be (NISTIR 6556, 3.3.2.1)
LETTERS = frozenset("ABCDFGHIJKLMPQRSTXYZ")  # Table 3, without N


class Value(NamedTuple):
    """A word whose value is known; NaN where it cannot be."""

    letter: str
    value: float
    span: Span


@dataclass(slots=True)
class Content:
    """What the words of a block ask for; blocks of one text share it. See Block for its spans.

    g, m: codes by group. words: all others by letter. spans: of words and codes. strange: words and
    codes that are not known. special: a macro call or a change of coordinates. faults: code, text,
    span and advice. broken: the block cannot be run as it stands. axes: those that it names, 0 X to
    5 C. parts: what it sets before anything moves, once that was asked for.
    """

    g: dict[Group, int] = field(default_factory=dict)
    m: dict[int, int] = field(default_factory=dict)
    coolant: tuple[int, ...] = ()
    words: dict[str, float] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)
    strange: list[tuple[str, Span]] = field(default_factory=list)
    special: int | None = None
    faults: list[tuple[str, str, Span, str]] = field(default_factory=list)
    broken: bool = False
    axes: tuple[int, ...] = ()
    parts: tuple[Callable[..., None], ...] | None = None


def make_content(values: Iterable[Value]) -> Content:
    """Sort the words of a block; note two codes of one group (NISTIR 6556, 3.3.5, 3.4)."""
    content = Content()
    words = content.words
    for each in values:
        letter = each.letter
        if letter == "G":
            _take_g(content, each)
        elif letter == "M":
            _take_m(content, each)
        elif letter in words:
            content.broken = True  # the reader has named it
        elif letter in LETTERS:
            words[letter] = each.value
            content.spans[letter] = each.span
        elif letter not in "NO":
            content.strange.append((letter, each.span))
    if words:
        content.axes = tuple([axis for axis, letter in enumerate(AXES) if letter in words])
    return content


def _tenths(value: float) -> int | None:
    """Return ten times a code as a whole number, or None where it is none."""
    if not math.isfinite(value) or not 0.0 <= value < 1000.0:
        return None
    nearest = math.floor(value * 10.0 + 0.5)
    return nearest if abs(value * 10.0 - nearest) <= NEAR_WHOLE else None


def _take_g(content: Content, each: Value) -> None:
    code = _tenths(each.value)
    group = G_GROUPS.get(code) if code is not None else None
    if code is not None and (code in MACROS or code in TRANSFORMS):
        content.special = code
        content.spans["special"] = each.span
        return
    if code in IGNORED:
        return
    if code is None or group is None:
        content.strange.append((f"G{each.value:g}", each.span))
        return
    name = f"G{code}"
    old = content.g.get(group)
    if old is None:
        content.g[group] = code
    elif old == code:
        content.faults.append(
            ("INT339", f"G{each.value:g} stands twice in the block", each.span, "")
        )
    elif group is Group.MOTION and 800 in {old, code}:
        # G80 beside the code that takes over is how many programs open; the other code counts
        content.g[group] = code if old == 800 else old
        content.faults.append(("INT340", "G80 beside another motion code", each.span, ""))
    else:
        _conflict(content, f"G{old / 10:g}", f"G{each.value:g}", each.span)
        content.g[group] = code
    content.spans[name] = each.span


def _take_m(content: Content, each: Value) -> None:
    nearest = math.floor(each.value + 0.5) if math.isfinite(each.value) else -1
    group = M_GROUPS.get(nearest) if abs(each.value - nearest) <= NEAR_WHOLE else None
    if group is None:
        content.strange.append((f"M{each.value:g}", each.span))
        return
    old = content.m.get(group)
    content.spans[f"M{nearest}"] = each.span
    if old == nearest:
        content.faults.append(("INT339", f"M{nearest} stands twice in the block", each.span, ""))
    elif old is not None and {old, nearest} != {7, 8}:
        _conflict(content, f"M{old}", f"M{nearest}", each.span)
    content.m[group] = nearest
    if nearest in {7, 8, 9}:
        content.coolant = (*content.coolant, nearest)


def _conflict(content: Content, old: str, new: str, span: Span) -> None:
    content.broken = True
    content.faults.append(
        (
            "INT302",
            f"{new} and {old} belong to one group and cannot both be in force",
            span,
            "write one of them, or two blocks",
        )
    )
