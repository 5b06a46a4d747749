"""Codes SRC of the table: the text as bytes."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import LEFT_ALONE, Entry

_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE

SOURCE_CODES: tuple[Entry, ...] = (
    Entry(
        "SRC101",
        _E,
        "NUL bytes in the text",
        "The text holds bytes of value zero.",
        "A part program has none: this is another kind of file, or text of two bytes a character.",
        "a picture, or a program saved as UTF-16",
        "Save the program as ASCII or UTF-8.",
        once=True,
    ),
    Entry(
        "SRC102",
        _N,
        "lines of more than 256 characters",
        "The standard allows 256 characters a line (NISTIR 6556, 3.3).",
        "A controller may refuse a longer line, or cut it off without a word: it loses the words "
        "behind column 256, and a comment that reaches past it is never closed.",
        "G1 X1 ( ... a comment of three hundred characters ... )",
        "Make the comment shorter, or spread the words over two blocks.",
        controllers_differ=True,
    ),
    Entry(
        "SRC103",
        _E,
        "a line too long to be read",
        "The line is longer than any block of a program; it is passed through unread.",
        LEFT_ALONE,
        "a program whose line ends are lost",
        "Look at the file: export the program anew with line ends.",
    ),
    Entry(
        "SRC104",
        _W,
        "the text is empty",
        "The text holds no block.",
        "There is nothing to count or to rewrite.",
        "a file of no bytes",
        "Check that the right file was named and that the export went through.",
    ),
    Entry(
        "SRC105",
        _N,
        "a byte order mark before the first block",
        "The text starts with three bytes that tell editors that it is UTF-8.",
        "A controller that does not know them may stop at the first line. They are kept.",
        "EF BB BF before the % of the first line",
        "Save the program as ASCII, or as UTF-8 without the mark.",
        once=True,
    ),
    Entry(
        "SRC106",
        _E,
        "no text at all",
        "One byte in fifty or more, at the start, is a control character.",
        "A part program has none but tabs and line ends. It is passed through unread.",
        "a picture, an archive, or a program saved as UTF-16",
        "Check that the right file was named; save the program as ASCII or UTF-8.",
    ),
)
