"""The one-line scanner: reads any block, however odd; the bulk scanner leaves those to it.

What it knows of a line it says in flags, words and findings; a line that it cannot read is
flagged, named and kept.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import isfinite

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.comments import find_comments
from gpre.program.statement import looks_like_flow, read_statement
from gpre.program.words import BlockFlag, Statement

LONGEST = 65_536  # bytes; a longer line is no block of any program
MOST_NUMBER_DIGITS = 18  # an N word of more digits is kept, but its number is not

_BLANKS = re.compile(rb"[ \t\x01]*")
_WORD = re.compile(
    rb"[ \t\x01]*([A-Za-z])[ \t\x01]*"
    rb"((?:[+-][ \t]*)?(?:\d[\d \t]*(?:\.[\d \t]*)?|\.[ \t]*\d[\d \t]*))"
)
_NUMBER = re.compile(rb"[ \t\x01]*[nN][ \t\x01]*(\d[\d \t]*)")
_MARK = re.compile(rb"[ \t\x01]*:[ \t\x01]*(\d[\d \t]*)")
_PROGRAM = re.compile(rb"[ \t\x01]*[oO][ \t\x01]*(\d[\d \t]*+)(?!\.)")
_LETTER_O = re.compile(rb"[A-Za-z][ \t]*[+-]?[\d. \t]*[oO](?=[\d. \t\x01]|$)")
_SWITCH = re.compile(rb"[1-9](?=[ \t\x01]*(?:[A-Za-z#]|$))")
_SPLIT = re.compile(rb"[\d.][ \t]")
_HEAD = re.compile(rb"[ \t\x01]*[A-Za-z]?[ \t\x01]*")
_VALUE = re.compile(rb"[-+.\d \t]*")


@dataclass(slots=True)
class Line:
    """What the scanner made of one line. words: (letter, value, start, end) of a plain block."""

    flags: BlockFlag = BlockFlag(0)
    number: int = -1
    long_number: Span | None = None
    words: list[tuple[int, float, int, int]] = field(default_factory=list)
    statement: Statement | None = None
    findings: list[Diagnostic] = field(default_factory=list)


def scan_line(data: bytes, start: int, end: int) -> Line:
    """Read the block `data[start:end]`, given without its line end."""
    line = Line()
    if end - start > LONGEST:
        line.flags = BlockFlag.UNREADABLE
        line.findings.append(
            Diagnostic(
                "SRC103",
                f"the line is {end - start} bytes long, {LONGEST} at most are read",
                Span(start, start + 1),
                help="is this a part program? If so, its line ends are lost",
            )
        )
        return line
    _Scanner(data[start:end], start, line).scan()
    return line


class _Scanner:
    """One line on its way through; `text` is the line with its comments blanked."""

    def __init__(self, raw: bytes, base: int, line: Line) -> None:
        self.base = base
        self.line = line
        self.comments = find_comments(raw)
        self.text = self.comments.blanked(raw)

    def scan(self) -> None:
        """Read the line."""
        if self.comments.spans:
            self.line.flags |= BlockFlag.COMMENT
        if self.comments.fault and not self.comment_fault():
            return
        first = self.skip(0)
        if first == len(self.text):
            return
        last = len(self.text)
        if b"%" in self.text:
            first, last = self.percent(first)
            if first >= last:
                return
        if self.text[first] == ord("/"):
            first = self.block_delete(first, last)
        if first < last:
            self.block(first, last)

    def skip(self, at: int) -> int:
        """Give the place of the first byte from `at` on that is neither blank nor comment."""
        found = _BLANKS.match(self.text, at)
        return found.end() if found else at

    def say(self, code: str, message: str, at: int, end: int, help: str = "") -> None:  # noqa: A002
        """Add a finding at bytes of the line."""
        span = Span(self.base + at, self.base + max(end, at))
        self.line.findings.append(Diagnostic(code, message, span, help=help))

    def refuse(self, code: str, message: str, at: int, end: int, help: str = "") -> None:  # noqa: A002
        """Add a finding, and flag the block as not understood."""
        self.say(code, message, at, end, help)
        self.line.flags |= BlockFlag.UNREADABLE

    def comment_fault(self) -> bool:
        """Name a comment that is not as it should be; False where the block cannot be read."""
        at = self.comments.fault_at
        if self.comments.fault == "open":
            self.say(
                "REA206",
                "the comment is never closed; it is taken to reach to the end of the line",
                at,
                at + 1,
                "add the ) that is missing",
            )
            return True
        if self.comments.fault == "nested":
            self.say(
                "REA207",
                "a bracket within a comment; the comment is taken to end with its last bracket",
                at,
                at + 1,
                "a controller may end the comment at the first ): take the inner brackets out",
            )
            return True
        self.refuse(
            "REA207",
            "brackets within a comment that do not match: where it ends is not clear",
            at,
            at + 1,
            "take the inner brackets out",
        )
        return False

    def percent(self, first: int) -> tuple[int, int]:
        """Take the % off a line that holds one; give what is left of the line."""
        self.line.flags |= BlockFlag.PERCENT
        text, last = self.text, len(self.text)
        head = first
        while head < last and text[head] == ord("%"):
            head = self.skip(head + 1)
        if head == last:
            if text.count(b"%") > 1:
                self.say("REA241", "more than one % on a line; read as one", first, last)
            return last, last
        if head > first:
            if self.readable(head, last):
                self.say(
                    "REA242",
                    "words on the line of a %; read as a block behind the %",
                    first,
                    first + 1,
                    "put the % on a line of its own, as the standard wants it",
                )
                return head, last
            self.say("REA243", "text behind a %; taken as a title", head, last)
            return last, last
        tail = text.index(b"%")
        if text[tail:].strip(b" \t\x01%"):
            self.refuse(
                "REA201",
                "a % in the middle of a block",
                tail,
                tail + 1,
                "put the % on a line of its own",
            )
            return last, last
        self.say(
            "REA242",
            "a % behind a block; read as a mark on the next line",
            tail,
            tail + 1,
            "put the % on a line of its own, as the standard wants it",
        )
        return first, tail

    def readable(self, first: int, last: int) -> bool:
        """Tell whether words with plain numbers fill the rest of the line."""
        at = first
        while found := _WORD.match(self.text, at, last):
            at = found.end()
        return self.skip(at) >= last

    def block_delete(self, first: int, last: int) -> int:
        """Take `/`, `/2` or `//` off the start of a line."""
        after = self.skip(first + 1)
        if after < last and self.text[after] == ord("/"):
            self.slashes(first, after, last)
            return last
        self.line.flags |= BlockFlag.DELETE
        digit = _SWITCH.match(self.text, after, last)
        if digit:
            self.say("REA253", "a block delete with a number", first, digit.end())
            return self.skip(digit.end())
        return after

    def slashes(self, first: int, second: int, last: int) -> None:
        """Take what follows // as a comment, unless it reads as a block."""
        rest = self.skip(second + 1)
        if rest < last and self.readable(rest, last):
            self.refuse(
                "REA251",
                "a block behind //: a comment to one controller, a block to another",
                first,
                second + 1,
                "put it between ( ) if it is not meant to run, else take the // off",
            )
            self.line.words.clear()
            return
        self.say(
            "REA252",
            "text behind //; taken as a comment",
            first,
            second + 1,
            "put text for people between brackets ( )",
        )
        self.line.flags |= BlockFlag.COMMENT

    def block(self, first: int, last: int) -> None:
        """Read what stands behind block delete and %."""
        at = self.block_mark(first, last) if self.text[first] == ord(":") else first
        if at < 0:
            return
        at = self.block_number(at, last)
        if 0 <= at < last and self.text[at] == ord("/") and at > first:
            self.say(
                "REA256",
                "a block delete behind the block number; read as one before it",
                at,
                at + 1,
                "put the / first on the line, as the standard wants it",
            )
            at = self.block_delete(at, last)
        if at < 0 or at >= last:
            return
        program = _PROGRAM.match(self.text, at, last)
        if b"#" in self.text or b"[" in self.text or b"<" in self.text:
            self.statement(at, last)
            return
        fault = self.words(at, last)
        if fault < 0:
            if program:
                self.line.flags |= BlockFlag.PROGRAM_NUMBER
            return
        if looks_like_flow(self.text[at:last]):
            self.line.words.clear()
            self.statement(at, last)
            return
        if self.text.startswith(b"//", fault):
            self.slashes(fault, fault + 1, last)
            return
        del self.line.words[1 if program and self.line.words else 0 :]
        if program:
            self.line.flags |= BlockFlag.PROGRAM_NUMBER
        self.name_fault(fault, last)

    def block_mark(self, first: int, last: int) -> int:
        """Read `:1234`: a program number alone, a block number before words."""
        mark = _MARK.match(self.text, first, last)
        if not mark:
            self.refuse(
                "REA254", "a : without a number", first, first + 1, "write : and a whole number"
            )
            return -1
        digits = mark.group(1).rstrip()
        end = mark.start(1) + len(digits)
        if self.skip(end) >= last:
            self.line.flags |= BlockFlag.PROGRAM_NUMBER
            value = float(re.sub(rb"[ \t]", b"", digits))
            self.line.words.append((ord("O"), value, self.base + first, self.base + end))
            self.say("REA255", "a : with a number; read as a program number", first, end)
            return -1
        self.say("REA255", "a : with a number before words; read as a block number", first, end)
        self.take_number(re.sub(rb"[ \t]", b"", digits), first, end)
        return self.skip(end)

    def block_number(self, first: int, last: int) -> int:
        """Read the N word if the block starts with one; give what follows, -1 after a fault."""
        if first >= last or self.text[first] not in b"nN":
            return first
        number = _NUMBER.match(self.text, first, last)
        if not number or self.text[number.end() : number.end() + 1] == b".":
            word = _WORD.match(self.text, first, last)
            self.refuse(
                "REA210",
                "a block number that is no whole number",
                first,
                word.end() if word else first + 1,
                "write N and digits alone",
            )
            return -1
        digits = number.group(1).rstrip()
        end = number.start(1) + len(digits)
        if b" " in digits or b"\t" in digits:
            self.refuse(
                "REA204",
                "a number without a letter behind the block number",
                number.start(1) + re.search(rb"[ \t]", digits).start() + 1,
                end,
                "put a letter before it, or take it out",
            )
            return -1
        self.take_number(digits, first, end)
        return self.skip(end)

    def take_number(self, digits: bytes, first: int, end: int) -> None:
        """Keep the block's number."""
        self.line.flags |= BlockFlag.NUMBERED
        if len(digits) <= MOST_NUMBER_DIGITS:
            self.line.number = int(digits)
        if len(digits) > 5:
            self.line.long_number = Span(self.base + first, self.base + end)

    def words(self, first: int, last: int) -> int:
        """Read words with plain numbers; give the place of the first fault, or -1."""
        text, base, at = self.text, self.base, first
        while found := _WORD.match(text, at, last):
            letter = found.group(1)[0] & 0xDF
            number = found.group(2).rstrip()
            end = found.start(2) + len(number)
            if b" " in number or b"\t" in number:
                if _SPLIT.search(number):
                    self.split_number(letter, found.start(2), found.start(2) + len(number))
                number = number.replace(b" ", b"").replace(b"\t", b"")
            value = float(number)
            if not isfinite(value):
                return found.start(2)
            self.line.words.append((letter, value, base + found.start(1), base + end))
            at = found.end()
            if letter == ord("N"):
                return found.start(1)
        rest = self.skip(at)
        return rest if rest < last else -1

    def split_number(self, letter: int, first: int, end: int) -> None:
        """Say that a number has blanks within: legal, but a letter may be missing."""
        self.say(
            "REA236",
            f"blanks within the number behind {chr(letter)}; read as one number",
            first,
            end,
            "write it without blanks; or is a letter missing?",
        )

    def statement(self, first: int, last: int) -> None:
        """Hand the rest of the line to the grammar."""
        reading = read_statement(self.text, first, last, self.base)
        line = self.line
        line.findings += reading.findings
        if reading.flow:
            self.say(
                "REA221",
                f"{reading.flow} steers the run of the program: it is not followed",
                first,
                last,
                "the block is left alone, and so is what depends on it",
            )
        if reading.program_number:
            line.flags |= BlockFlag.PROGRAM_NUMBER
        if reading.flow:
            line.flags |= BlockFlag.FLOW
        if reading.statement is None:
            line.flags |= BlockFlag.UNREADABLE
            if reading.flow:
                line.flags |= BlockFlag.STATEMENT
                line.statement = Statement(flow=reading.flow)
            return
        line.flags |= BlockFlag.STATEMENT
        line.statement = reading.statement

    def name_fault(self, at: int, last: int) -> None:
        """Say what is wrong with the word at `at`."""
        text = self.text
        here = text[at : at + 1]
        if found := _LETTER_O.match(text, at, last):
            self.refuse(
                "REA203",
                "the letter O where a zero should be",
                found.start(),
                found.end(),
                "write the digit 0",
            )
        elif here in b"nN":
            self.refuse(
                "REA209",
                "a block number behind other words",
                at,
                at + 1,
                "a block number comes first, once",
            )
        elif here.isalpha():
            self.name_letter(at, last)
        elif here in b"0123456789.+-":
            value = _VALUE.match(text, at, last)
            end = value.end() if value else at + 1
            self.refuse(
                "REA204",
                "a number without a letter",
                at,
                at + len(text[at:end].rstrip()),
                "put a letter before it, or take it out",
            )
        elif here == b")":
            self.refuse("REA208", "a ) without its (", at, at + 1, "add the ( or take the ) out")
        elif here == b"/":
            self.refuse(
                "REA250", "a / within a block", at, at + 1, "a block delete comes first on the line"
            )
        else:
            self.refuse(
                "REA201",
                "this character has no meaning here",
                at,
                at + 1,
                "put text for people between brackets ( )",
            )

    def name_letter(self, at: int, last: int) -> None:
        """Say what is wrong with the number behind a letter."""
        head = _HEAD.match(self.text, at, last)
        number_at = head.end() if head else at + 1
        value = _VALUE.match(self.text, number_at, last)
        end = value.end() if value else number_at
        letter = chr(self.text[at])
        if end == number_at:
            self.refuse(
                "REA202",
                f"the letter {letter} without a number",
                at,
                at + 1,
                "give it a number, or put text for people between brackets ( )",
            )
        else:
            end = number_at + len(self.text[number_at:end].rstrip())
            self.refuse(
                "REA205",
                f"the number behind {letter} cannot be read",
                at,
                end,
                "one sign at most, digits, one point at most",
            )
