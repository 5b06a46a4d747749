"""Codes INT of the table: where the zeros, the home and the tool stand."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE

PLACE_CODES: tuple[Entry, ...] = (
    Entry(
        "INT319",
        _E,
        "G53 without G0 or G1",
        "G53 stands in a block whose motion is neither G0 nor G1.",
        "Machine coordinates go with straight moves only (NISTIR 6556, 3.5.12).",
        "G2 G53 X10 Y0 I5 J0",
        "Write G53 G0 or G53 G1.",
    ),
    Entry(
        "INT320",
        _N,
        "a move in machine coordinates",
        "G53 moves to machine coordinates, and the origin of the work system is not known.",
        "Where that is in program coordinates cannot be told; the axes count as unknown until"
        " stated again.",
        "G53 G0 Z0",
        "Give the origins of the work systems in the mill's profile.",
        once=True,
    ),
    Entry(
        "INT321",
        _N,
        "a work system whose origin is not known",
        "The program changes to a work system whose origin neither it nor the profile gives.",
        "Where the tool stands is not known until the program says it in the new system; what "
        "comes before that stays as it is.",
        "G54 G0 X0 Y0\nG55 X0 Y0",
        "Give the origins of the work systems in the mill's profile.",
        once=True,
    ),
    Entry(
        "INT328",
        _N,
        "a way home that is not known",
        "G28 or G30 takes axes to a place that only the machine knows.",
        "Those axes count as unknown until they are stated again. Said once a program.",
        "G91 G28 Z0",
        "Give home and the origins in the mill's profile to have the moves counted.",
        once=True,
    ),
    Entry(
        "INT338",
        _W,
        "a code that changes every coordinate",
        "Rotation, scaling, mirrors, polar words or a modal macro begin here.",
        "What later words mean depends on them; the program is followed no further.",
        "G68 X0 Y0 R30",
        "Write the coordinates as they are cut, or count the part before.",
        controllers_differ=True,
    ),
    Entry(
        "INT341",
        _N,
        "G43 without H",
        "A tool's length is called without the number of its place in the table.",
        "The standard asks for H; the tool in the spindle is taken.",
        "G43 Z50",
        "Add H.",
        controllers_differ=True,
    ),
)
