"""Says what is wrong with the first word of a block that cannot be read."""

from __future__ import annotations

import re

from gpre.program.line_state import LineState

_LETTER_O = re.compile(rb"[A-Za-z][ \t]*[+-]?[\d. \t]*[oO](?=[\d. \t\x01]|$)")
_HEAD = re.compile(rb"[ \t\x01]*[A-Za-z]?[ \t\x01]*")
_VALUE = re.compile(rb"[-+.\d \t]*")


def name_fault(state: LineState, at: int, last: int) -> None:
    """Say what is wrong with the word at `at`."""
    text = state.text
    here = text[at : at + 1]
    if found := _LETTER_O.match(text, at, last):
        state.refuse(
            "REA203",
            "the letter O where a zero should be",
            found.start(),
            found.end(),
            "write the digit 0",
        )
    elif here in b"nN":
        state.refuse(
            "REA209",
            "a block number behind other words",
            at,
            at + 1,
            "a block number comes first, once",
        )
    elif here.isalpha():
        _name_letter(state, at, last)
    elif here in b"0123456789.+-":
        value = _VALUE.match(text, at, last)
        end = value.end() if value else at + 1
        state.refuse(
            "REA204",
            "a number without a letter",
            at,
            at + len(text[at:end].rstrip()),
            "put a letter before it, or take it out",
        )
    elif here == b")":
        state.refuse("REA208", "a ) without its (", at, at + 1, "add the ( or take the ) out")
    elif here == b"/":
        state.refuse(
            "REA250", "a / within a block", at, at + 1, "a block delete comes first on the line"
        )
    else:
        state.refuse(
            "REA201",
            "this character has no meaning here",
            at,
            at + 1,
            "put text for people between brackets ( )",
        )


def _name_letter(state: LineState, at: int, last: int) -> None:
    """Say what is wrong with the number behind a letter."""
    head = _HEAD.match(state.text, at, last)
    number_at = head.end() if head else at + 1
    value = _VALUE.match(state.text, number_at, last)
    end = value.end() if value else number_at
    letter = chr(state.text[at])
    if end == number_at:
        state.refuse(
            "REA202",
            f"the letter {letter} without a number",
            at,
            at + 1,
            "give it a number, or put text for people between brackets ( )",
        )
    else:
        end = number_at + len(state.text[number_at:end].rstrip())
        state.refuse(
            "REA205",
            f"the number behind {letter} cannot be read",
            at,
            end,
            "one sign at most, digits, one point at most",
        )
