"""Small matters of print: counted nouns, lengths, bytes made visible."""

from __future__ import annotations

import math

from gpre.motion.state import MM_PER_INCH

WIDTH = 80  # columns that every report fits where the user's own texts allow it


def counted(number: int, noun: str, plural: str = "") -> str:
    """Return `1 move`, `1,204 moves`, `no moves`."""
    word = noun if number == 1 else plural or f"{noun}s"
    return f"{number:,} {word}" if number else f"no {word}"


def visible(text: str) -> str:
    """Make characters visible that a terminal would obey or hide; a tab becomes a space."""
    if text.isprintable():
        return text
    return "".join(_seen(each) for each in text)


def _seen(character: str) -> str:
    if character == "\t":
        return " "
    if character.isprintable():
        return character
    code = ord(character)
    return f"<{code:02X}>" if code < 256 else f"<U+{code:04X}>"


def length(value: float, units: int, *, signed: bool = False) -> str:
    """Return a length of `value` mm as the program would write it, in mm (21) or inch (20)."""
    if not math.isfinite(value):
        return "?"
    text = f"{value:.4f}" if units == 21 else f"{value / MM_PER_INCH:.5f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"+{text}" if signed and not text.startswith("-") else text
