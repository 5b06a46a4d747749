"""Codes REW of the table: what a rewrite run has to say about the program as a whole."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

REWRITE_CODES: tuple[Entry, ...] = (
    Entry(
        "REW501",
        Severity.WARNING,
        "the whole program is left alone",
        "The program has an error, is steered by jumps, conditions or macro calls, holds codes of "
        "a lathe, turns a rotary axis, or carries its take-up in its coordinates already.",
        "What such a program does cannot be told from its blocks in order, so no change to it can "
        "be shown to be safe. Coordinates that carry take-ups are not the path that is meant.",
        "WHILE [#1 GT 0] DO1",
        "Put the error right, or have the program written out without jumps and macros. Where it "
        "carries its take-up, go back to the program that it was made from.",
    ),
    Entry(
        "REW502",
        Severity.WARNING,
        "a change was taken back",
        "A rewrite had proposed a change, and with it the proof did not hold. The program is "
        "written without it.",
        "Every change is proved against the original before it counts. What the proof cannot "
        "show is not done, even where it may be sound.",
        "a loop in the air that would make a later cut start with a reversal",
        "Nothing needs doing. The plan names the place and what could not be shown.",
    ),
    Entry(
        "REW503",
        Severity.NOTE,
        "more could be looked at",
        "Some places were left alone only because the tool or the stock is not known.",
        "Where metal may stand cannot be told from the program alone.",
        "one-way passes: where the tool may come down beside the stock",
        "Name the tools with --tool N=DIAMETER and the stock with --stock, or in a job file.",
    ),
    Entry(
        "REW505",
        Severity.WARNING,
        "nothing is rewritten: mm or inch is not stated",
        "The program uses lengths or feeds before G20 or G21, and neither the mill profile nor "
        "--units says what is in force then.",
        "A new move would be written in the wrong unit: a loop of 1.25 mm became one of 1.25 "
        "inches, which is 31.75 mm.",
        "G0 Z0.1\nX1 Y1\nG1 Z-0.05 F12",
        "Give --units mm or --units inch, or the key units under [controller] of the mill profile.",
    ),
    Entry(
        "REW506",
        Severity.WARNING,
        "not rewritten where G90 or the plane is not stated",
        "The program moves before G90 or G91, or has arcs or canned cycles before G17, G18 or G19, "
        "and the mill profile does not say what is in force then.",
        "What these moves do is not known. They are skipped up to the last one that depends on it.",
        "G21\nG0 Z5\nG90 X10 Y10",
        "Write G90 and G17 at the head of the program, or the keys distance and plane under "
        "[controller] of the mill profile.",
    ),
)
