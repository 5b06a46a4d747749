"""Codes INT of the table: calls, the end of a program, parameters and what they give."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE

RUN_CODES: tuple[Entry, ...] = (
    Entry(
        "INT329",
        _W,
        "a program that is followed no further",
        "A jump, a condition, a loop or a numbered call decides at the machine what runs next.",
        "Everything from here on is left alone and not counted.",
        "IF [#1 GT 3] GOTO 100",
        "Unroll the loop, or keep in mind that the rest is not looked at.",
        controllers_differ=True,
    ),
    Entry(
        "INT330",
        _W,
        "a call out of the file",
        "A macro or a subprogram that is not in this file is called.",
        "Nothing is known of what it does: position and parameters count as unknown afterwards.",
        "G65 P9810 Z-5",
        "Put the subprogram into the file, behind M30, if it should be counted.",
        controllers_differ=True,
    ),
    Entry(
        "INT331",
        _E,
        "calls too deep",
        "Subprograms call one another deeper than any controller allows.",
        "Most often one calls itself. The rest is not followed.",
        "O100\nM98 P100\nM99",
        "Correct the P word of the call.",
    ),
    Entry(
        "INT332",
        _E,
        "a program too long to follow",
        "More moves or more blocks run by calls than gpre follows.",
        "Repeats of repeats multiply; the rest is not counted.",
        "M98 P100 L9999999\nM30\nO100\nM99",
        "Count a part of the program.",
    ),
    Entry(
        "INT333",
        _W,
        "a parameter that was never set",
        "A value is read from a parameter that the program has not set.",
        "It holds whatever was left in the controller: every value made of it is unknown here.",
        "G1 X#5",
        "Set the parameter in the program before it is read.",
        controllers_differ=True,
    ),
    Entry(
        "INT334",
        _E,
        "a division by zero",
        "An expression divides by zero.",
        "It has no value; the controller stops here.",
        "#1=0\nG1 X[10/#1]",
        "Correct the expression.",
    ),
    Entry(
        "INT335",
        _E,
        "a value that does not exist",
        "A function is given what it has no value for, or a number is too large to be held.",
        "The controller stops here, or goes on with something else.",
        "#1=SQRT[-4]",
        "Correct the expression.",
    ),
    Entry(
        "INT336",
        _E,
        "a parameter that does not exist",
        "The number behind # is not a whole number from 1 to 5399.",
        "There are no other parameters (NISTIR 6556, 3.2.1); some controllers have more, of "
        "their own.",
        "#6000=1",
        "Use a parameter below 5400.",
    ),
    Entry(
        "INT355",
        _W,
        "an axis word beside a dwell",
        "The block dwells and names a place too. It is read as by the standard: the dwell first, "
        "then the move (NISTIR 6556, Table 8).",
        "Some controllers read X beside G4 as the time, and others make no move there (from "
        "memory, no source).",
        "G4 P1.5 Z-1.4",
        "Write the dwell and the move in two blocks.",
        controllers_differ=True,
    ),
    Entry(
        "INT337",
        _W,
        "a parameter that only the controller knows",
        "The parameter holds an origin, a home, a probed place, or may have been set by a call.",
        "Its value is not in the file: every value made of it is unknown here.",
        "G1 X#5221",
        "Give origins and home in the mill's profile.",
        controllers_differ=True,
    ),
    Entry(
        "INT347",
        _N,
        "M99 in the main program",
        "M99 outside a subprogram starts the program again, without end.",
        "One run is counted.",
        "G0 X0\nM99",
        "Write M30 if one run is meant.",
        controllers_differ=True,
    ),
)
