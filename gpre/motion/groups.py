"""Codes and their modal groups as data (NISTIR 6556, Table 4, with the additions named below).

G codes are written times ten, as whole numbers: G38.2 is 382, G90.1 is 901.
"""

from __future__ import annotations

from enum import IntEnum


class Group(IntEnum):
    """Modal groups of G codes. 4 is no group of the standard: where arc centres count from."""

    NON_MODAL = 0
    MOTION = 1
    PLANE = 2
    DISTANCE = 3
    ARC_DISTANCE = 4
    FEED_MODE = 5
    UNITS = 6
    COMPENSATION = 7
    LENGTH = 8
    RETRACT = 10
    SYSTEM = 12
    PATH = 13


CYCLES = frozenset((730, 810, 820, 830, 840, 850, 860, 870, 880, 890))
PROBES = frozenset((382, 383, 384, 385))
ARCS = frozenset((20, 30))
STRAIGHT = frozenset((0, 10))
UNITS = {200: 20, 210: 21, 700: 20, 710: 21}  # G70, G71: inch and mm in an older manner
SYSTEMS = {540: 1, 550: 2, 560: 3, 570: 4, 580: 5, 590: 6, 591: 7, 592: 8, 593: 9}
AXIS_USERS = frozenset((100, 280, 300, 920))  # non-modal codes that take the axis words (3.4)
MACROS = frozenset((650,))
# these end what is not followed anyway: polar words, scaling, mirrors, macros, rotation; and G97
# says that S is a number of turns a minute, which it is (common practice, no source)
IGNORED = frozenset((150, 500, 501, 670, 690, 970))
# modal macro calls, polar words, scaling, mirrors, rotation: every later move means another
TRANSFORMS = frozenset((160, 510, 511, 660, 661, 680, 682))

G_GROUPS: dict[int, Group] = {
    **dict.fromkeys((40, 100, 280, 300, 530, 920, 921, 922, 923), Group.NON_MODAL),
    **dict.fromkeys((*STRAIGHT, *ARCS, *PROBES, 800, *CYCLES), Group.MOTION),
    **dict.fromkeys((170, 180, 190), Group.PLANE),
    **dict.fromkeys((900, 910), Group.DISTANCE),
    **dict.fromkeys((901, 911), Group.ARC_DISTANCE),
    **dict.fromkeys((930, 940, 950), Group.FEED_MODE),
    **dict.fromkeys(UNITS, Group.UNITS),
    **dict.fromkeys((400, 410, 420, 411, 421), Group.COMPENSATION),
    **dict.fromkeys((430, 490), Group.LENGTH),
    **dict.fromkeys((980, 990), Group.RETRACT),
    **dict.fromkeys(SYSTEMS, Group.SYSTEM),
    **dict.fromkeys((610, 611, 640), Group.PATH),
}

# groups of M codes; 9 holds the override switches, 10 (not in the standard) calls and returns
STOPPING, TOOL, SPINDLE, COOLANT, OVERRIDES, CALLS = 4, 6, 7, 8, 9, 10
M_GROUPS: dict[int, int] = {
    **dict.fromkeys((0, 1, 2, 30, 60), STOPPING),
    6: TOOL,
    **dict.fromkeys((3, 4, 5), SPINDLE),
    **dict.fromkeys((7, 8, 9), COOLANT),
    **dict.fromkeys((48, 49), OVERRIDES),
    **dict.fromkeys((97, 98, 99), CALLS),
}

AXES = ("X", "Y", "Z", "A", "B", "C")
# first, second and normal axis of a plane (NISTIR 6556, 4.3.6.1: in the XZ plane Z comes first)
PLANE_AXES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
# centre words for the first and the second axis of a plane (3.5.3.2)
CENTRE_WORDS = {17: ("I", "J"), 18: ("K", "I"), 19: ("J", "K")}


def code_name(code: int, letter: str = "G") -> str:
    """Write a code kept times ten the way a program does: 382 is G38.2, 10 is G1."""
    whole, tenth = divmod(code, 10)
    return f"{letter}{whole}.{tenth}" if tenth else f"{letter}{whole}"
