"""Codes INT of the table: arcs."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

_E, _N = Severity.ERROR, Severity.NOTE

ARC_CODES: tuple[Entry, ...] = (
    Entry(
        "INT304",
        _E,
        "an arc whose two radii differ",
        "The distance from the centre to the start is not the distance from the centre to the end.",
        "There is no such circle (NISTIR 6556, 3.5.3.2). Controllers stop, or cut something "
        "nobody meant.",
        "G1 X1 Y0\nG2 X3 Y0 I1.5 J0",
        "Correct the centre or the end. arc_radius_tolerance in the profile says how far "
        "rounding may set the two radii apart.",
    ),
    Entry(
        "INT305",
        _E,
        "an arc whose centre is not clear",
        "An arc without centre words, with a centre word of another plane, or with R and a centre.",
        "Its path cannot be told. The axes that the block names count as unknown until stated"
        " again.",
        "G17 G2 X10 Y0 K5",
        "Write the two centre words of the plane: I J in G17, I K in G18, J K in G19.",
    ),
    Entry(
        "INT306",
        _E,
        "an arc with R and no chord",
        "An arc in the radius form without an end point in its plane, or one that ends where "
        "it starts.",
        "Its centre could lie anywhere on a circle (NISTIR 6556, 3.5.3.1).",
        "G2 R5",
        "Write the end point, or for a full circle the centre words instead of R.",
    ),
    Entry(
        "INT307",
        _E,
        "a radius too small for its chord",
        "The start and the end of the arc lie further apart than twice its radius.",
        "No circle of that radius meets both points.",
        "G1 X0 Y0\nG2 X20 Y0 R5",
        "Correct the radius or the end point.",
    ),
    Entry(
        "INT308",
        _E,
        "an arc of no radius",
        "The centre of the arc is its start, or R is zero.",
        "There is nothing to turn about.",
        "G2 X10 Y0 I0 J0",
        "Write the centre: increments from the start, unless G90.1 is in force.",
    ),
    Entry(
        "INT309",
        _N,
        "an arc without an end point",
        "Neither axis word of the plane stands beside the centre words; the arc is read as a "
        "full circle.",
        "The standard does not allow it, many controllers do; one that does not will stop here.",
        "G2 I-5 J0",
        "Write the end point, which is the start: G2 X10 Y0 I-5 J0",
        controllers_differ=True,
    ),
    Entry(
        "INT310",
        _N,
        "an arc of several turns",
        "A P word beside a G2 or G3 is read as the number of turns, the last of which may be "
        "a part.",
        "The standard has no such word: a controller that does not know it makes one turn at most.",
        "G1 X10 Y0\nG2 X10 Y0 Z-6 I-5 J0 P3",
        "Write one block for every turn if the controller is not known to take P.",
        controllers_differ=True,
    ),
    Entry(
        "INT348",
        _E,
        "an arc of more than 100 m",
        "The way along the arc, all its turns together, is longer than 100 m in its plane.",
        "No mill has room for it: a digit too many, or millimetres in a program in inches.",
        "G1 X10 Y0 F100\nG3 X10 Y0 I-99999999 J0",
        "Correct the centre, the radius or the number of turns.",
    ),
)
