"""What may stand before the words of a block: %, block delete, block number, block mark."""

from __future__ import annotations

import re

from gpre.diagnostics.diagnostic import Span
from gpre.program.line_state import WORD, LineState
from gpre.program.statement import looks_like_flow
from gpre.program.words import BlockFlag

MOST_NUMBER_DIGITS = 18  # an N word of more digits is kept, but its number is not

_NUMBER = re.compile(rb"[ \t\x01]*[nN][ \t\x01]*(\d[\d \t]*)")
_MARK = re.compile(rb"[ \t\x01]*:[ \t\x01]*(\d[\d \t]*)")
_SWITCH = re.compile(rb"[1-9](?=[ \t\x01]*(?:[A-Za-z#]|$))")


def comment_fault(state: LineState) -> bool:
    """Name a comment that is not as it should be; False where the block cannot be read."""
    at = state.comments.fault_at
    if state.comments.fault == "open":
        state.say(
            "REA206",
            "the comment is never closed; it is taken to reach to the end of the line",
            at,
            at + 1,
            "add the ) that is missing",
        )
        return True
    if state.comments.fault == "nested":
        state.say(
            "REA207",
            "a bracket within a comment; the comment is taken to end with its last bracket",
            at,
            at + 1,
            "a controller may end the comment at the first ): take the inner brackets out",
        )
        return True
    state.refuse(
        "REA207",
        "brackets within a comment that do not match: where it ends is not clear",
        at,
        at + 1,
        "take the inner brackets out",
    )
    return False


def is_block(state: LineState, first: int, last: int) -> bool:
    """Return whether what stands there may be a block rather than text for people."""
    text = state.text[first:last]
    if state.readable(first, last) or b"[" in text or looks_like_flow(text):
        return True
    return b"#" in text and b"=" in text


def percent(state: LineState, first: int) -> tuple[int, int]:
    """Take the % off a line that holds one; give what is left of the line."""
    text, last = state.text, len(state.text)
    head = first
    while head < last and text[head] == ord("%"):
        head = state.skip(head + 1)
    if head > first:
        state.line.flags |= BlockFlag.PERCENT
    if head == last:
        if text.count(b"%") > 1:
            state.say("REA241", "more than one % on a line; read as one", first, last)
        return last, last
    if head > first:
        if is_block(state, head, last):
            state.say(
                "REA242",
                "words on the line of a %; read as a block behind the %",
                first,
                first + 1,
                "put the % on a line of its own, as the standard wants it",
            )
            return head, last
        state.say("REA243", "text behind a %; taken as a title", head, last)
        return last, last
    tail = text.index(b"%")
    if text[tail:].strip(b" \t\x01%"):
        state.refuse(
            "REA201",
            "a % in the middle of a block",
            tail,
            tail + 1,
            "put the % on a line of its own",
        )
        return last, last
    state.line.flags |= BlockFlag.PERCENT
    state.say(
        "REA242",
        "a % behind a block; read as a mark on the next line",
        tail,
        tail + 1,
        "put the % on a line of its own, as the standard wants it",
    )
    return first, tail


def block_delete(state: LineState, first: int, last: int) -> int:
    """Take `/`, `/2` or `//` off the start of a line."""
    after = state.skip(first + 1)
    if after < last and state.text[after] == ord("/"):
        slashes(state, first, after, last)
        return last
    state.line.flags |= BlockFlag.DELETE
    digit = _SWITCH.match(state.text, after, last)
    if digit:
        state.say("REA253", "a block delete with a number", first, digit.end())
        return state.skip(digit.end())
    return after


def slashes(state: LineState, first: int, second: int, last: int) -> None:
    """Take what follows // as a comment, unless it reads as a block."""
    rest = state.skip(second + 1)
    if rest < last and is_block(state, rest, last):
        state.refuse(
            "REA251",
            "a block behind //: a comment to one controller, a block to another",
            first,
            second + 1,
            "put it between ( ) if it is not meant to run, else take the // off",
        )
        state.line.words.clear()
        return
    state.say(
        "REA252",
        "text behind //; taken as a comment",
        first,
        second + 1,
        "put text for people between brackets ( )",
    )
    state.line.flags |= BlockFlag.COMMENT


def block_mark(state: LineState, first: int, last: int) -> int:
    """Read `:1234`: a program number alone, a block number before words."""
    mark = _MARK.match(state.text, first, last)
    if not mark:
        state.refuse(
            "REA254", "a : without a number", first, first + 1, "write : and a whole number"
        )
        return -1
    digits = mark.group(1).rstrip()
    end = mark.start(1) + len(digits)
    if state.skip(end) >= last:
        state.line.flags |= BlockFlag.PROGRAM_NUMBER
        value = float(re.sub(rb"[ \t]", b"", digits))
        state.line.words.append((ord("O"), value, state.base + first, state.base + end))
        state.say("REA255", "a : with a number; read as a program number", first, end)
        return -1
    state.say("REA255", "a : with a number before words; read as a block number", first, end)
    take_number(state, re.sub(rb"[ \t]", b"", digits), first, end)
    return state.skip(end)


def block_number(state: LineState, first: int, last: int) -> int:
    """Read the N word if the block starts with one; give what follows, -1 after a fault."""
    if first >= last or state.text[first] not in b"nN":
        return first
    number = _NUMBER.match(state.text, first, last)
    if not number or state.text[number.end() : number.end() + 1] == b".":
        word = WORD.match(state.text, first, last)
        state.refuse(
            "REA210",
            "a block number that is no whole number",
            first,
            word.end() if word else first + 1,
            "write N and digits alone",
        )
        return -1
    digits = number.group(1).rstrip()
    end = number.start(1) + len(digits)
    if gap := re.search(rb"[ \t]", digits):
        state.refuse(
            "REA204",
            "a number without a letter behind the block number",
            number.start(1) + gap.end(),
            end,
            "put a letter before it, or take it out",
        )
        return -1
    take_number(state, digits, first, end)
    return state.skip(end)


def take_number(state: LineState, digits: bytes, first: int, end: int) -> None:
    """Keep the block's number."""
    state.line.flags |= BlockFlag.NUMBERED
    if len(digits) <= MOST_NUMBER_DIGITS:
        state.line.number = int(digits)
    if len(digits) > 5:
        state.line.long_number = Span(state.base + first, state.base + end)
