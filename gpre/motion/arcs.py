"""Arcs and helices of one block (NISTIR 6556, 3.5.3), with what programs in use add to them."""

from __future__ import annotations

import math
from typing import NamedTuple

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.geometry.tolerance import DUST
from gpre.motion import groups
from gpre.motion.block import Block, BlockError
from gpre.motion.groups import AXES, CENTRE_WORDS, PLANE_AXES, Group
from gpre.motion.motion import Kind
from gpre.motion.run import Run

TURN = 2.0 * math.pi
GREATEST_TURNS = 200  # of one block
MOST_TURNS = 1000  # that all P words of a program may add, and a few more for each block
TURNS_A_BLOCK = 4
LONGEST = 1e5  # mm in its plane; so long an arc is a slip of the pen, and no mill has room for it


class Planar(NamedTuple):
    """An arc seen in its plane: start, end and centre on the first and second axis, and its way.

    way: +1 counter-clockwise (G3), -1 clockwise (G2).
    """

    start: tuple[float, float]
    end: tuple[float, float]
    way: float


def full_circle(span: Span) -> Diagnostic:
    """Say that an arc without an end point is read as a full circle; span: its centre words."""
    return Diagnostic(
        "INT309",
        "an arc without an end point, read as a full circle",
        span,
        help="write the end point: the standard does not allow an arc without one",
    )


def arc(run: Run, block: Block, code: int) -> None:
    """Make the move of a G2 (20) or G3 (30); raise BlockError where it cannot be one."""
    machine = run.machine
    first, second, normal = PLANE_AXES[machine.plane]
    way = 1.0 if code == 30 else -1.0
    start = list(machine.position)
    end = run.target(block)
    planar = Planar((start[first], start[second]), (end[first], end[second]), way)
    names_end = AXES[first] in block.words or AXES[second] in block.words
    radius = run.length_word(block, "R")
    _refuse_strange_words(block, machine.plane, radius)
    if radius is not None:
        if not names_end:
            raise BlockError("INT306", "an arc with R needs an end point in its plane", ("R",))
        centre = _by_radius(planar, radius, run.controller.arc_radius_tolerance)
        sweep = _sweep(planar, centre)
    else:
        centre = _by_centre(run, block, planar)
        if names_end:
            _check_radii(run, block, planar, centre)
            sweep = _sweep(planar, centre)
        else:
            run.recorder.report((full_circle(block.span_of("IJK")),))
            sweep = way * TURN
    sweep += way * TURN * _extra_turns(run, block)
    place = [0.0, 0.0, 0.0]
    place[first], place[second] = centre
    place[normal] = start[normal]
    reach = math.hypot(start[first] - centre[0], start[second] - centre[1])
    if reach * abs(sweep) > LONGEST:
        raise BlockError(
            "INT348",
            f"an arc of {reach * abs(sweep) / 1e3:.6g} m",
            [letter for letter in "IJKRP" if letter in block.words],
            advice="check the centre, the radius and the number of turns",
        )
    length = math.hypot(reach * sweep, end[normal] - start[normal])
    feed = run.path_feed(block, length)
    run.move(Kind.ARC, end, feed, centre=(place[0], place[1], place[2]), sweep=sweep)


def _refuse_strange_words(block: Block, plane: int, radius: float | None) -> None:
    words = CENTRE_WORDS[plane]
    given = [letter for letter in "IJK" if letter in block.words]
    if radius is not None and given:
        raise BlockError(
            "INT305",
            f"an arc with R and with {' '.join(given)}: which of them holds is not clear",
            ("R", *given),
            advice="keep the radius or the centre",
        )
    if radius is None and not any(letter in words for letter in given):
        raise BlockError(
            "INT305",
            f"an arc in G{plane} needs {words[0]} or {words[1]}, or R",
            given,
            advice="add the centre, or the radius",
        )
    for letter in given:
        if letter not in words and block.take(letter):  # zero does no harm
            raise BlockError(
                "INT305",
                f"{letter} is no centre word of an arc in G{plane}",
                (letter,),
                advice="check the plane",
            )


def _by_centre(run: Run, block: Block, planar: Planar) -> tuple[float, float]:
    offsets = [run.length_word(block, letter) for letter in CENTRE_WORDS[run.machine.plane]]
    if run.machine.state.arc_distance == 901:
        if offsets[0] is None or offsets[1] is None:
            raise BlockError(
                "INT305",
                "an arc with an absolute centre (G90.1) needs both of its words",
                "IJK",
                advice="write both centre words",
            )
        centre = (offsets[0], offsets[1])
    else:
        centre = (planar.start[0] + (offsets[0] or 0.0), planar.start[1] + (offsets[1] or 0.0))
    if math.hypot(planar.start[0] - centre[0], planar.start[1] - centre[1]) <= DUST:
        raise BlockError("INT308", "an arc of no radius: its centre is its start", "IJK")
    return centre


def _check_radii(run: Run, block: Block, planar: Planar, centre: tuple[float, float]) -> None:
    before = math.hypot(planar.start[0] - centre[0], planar.start[1] - centre[1])
    after = math.hypot(planar.end[0] - centre[0], planar.end[1] - centre[1])
    if abs(before - after) > run.controller.arc_radius_tolerance:
        scale = run.machine.scale
        accepted = run.controller.arc_radius_tolerance
        raise BlockError(
            "INT304",
            f"the two radii of the arc differ by {abs(before - after) / scale:.4g}: start radius"
            f" {before / scale:.6g}, end radius {after / scale:.6g}",
            [letter for letter in "IJK" if letter in block.words],
            advice=f"the profile accepts {accepted:g} mm; see arc_radius_tolerance",
        )


def _by_radius(planar: Planar, radius: float, tolerance: float) -> tuple[float, float]:
    """Return the centre of an arc in the radius form (3.5.3.1)."""
    du, dv = planar.end[0] - planar.start[0], planar.end[1] - planar.start[1]
    half = math.hypot(du, dv) / 2.0
    size = abs(radius)
    if size <= DUST:
        raise BlockError("INT308", "an arc of no radius", ("R",))
    if half <= DUST:
        raise BlockError(
            "INT306",
            "an arc with R that ends where it starts: its centre could lie anywhere",
            ("R",),
            advice="write the centre instead of the radius",
        )
    if half - size > tolerance:
        raise BlockError(
            "INT307",
            f"no arc of radius {size:.6g} mm joins two points {2.0 * half:.6g} mm apart",
            ("R",),
            advice="the radius must be at least half the distance",
        )
    # the product keeps the digits that r^2 - (c/2)^2 would lose near the half circle
    height = math.sqrt(max((size - half) * (size + half), 0.0))
    share = (-planar.way if radius < 0.0 else planar.way) * height / (2.0 * half)
    return (
        (planar.start[0] + planar.end[0]) / 2.0 - dv * share,
        (planar.start[1] + planar.end[1]) / 2.0 + du * share,
    )


def _sweep(planar: Planar, centre: tuple[float, float]) -> float:
    """Return the turn from start to end about the centre; an end at the start is a full turn."""
    u0, v0 = planar.start[0] - centre[0], planar.start[1] - centre[1]
    u1, v1 = planar.end[0] - centre[0], planar.end[1] - centre[1]
    if abs(u1 - u0) <= DUST and abs(v1 - v0) <= DUST:
        return planar.way * TURN
    turn = math.atan2(u0 * v1 - v0 * u1, u0 * u1 + v0 * v1) * planar.way
    return (turn + TURN if turn <= 0.0 else turn) * planar.way


def _extra_turns(run: Run, block: Block) -> int:
    """Return how many turns a P word adds; it counts the one that is there anyway."""
    if block.g.get(Group.NON_MODAL) == 40 or groups.CALLS in block.m:
        return 0  # the P word belongs to the dwell or the call
    turns = block.whole("P", "the number of turns")
    if turns is None:
        return 0
    if not 1 <= turns <= GREATEST_TURNS:
        advice = f"write P1 to P{GREATEST_TURNS}"
        raise BlockError("INT315", f"an arc of {turns} turns", ("P",), advice=advice)
    run.turns += turns - 1
    most = MOST_TURNS + TURNS_A_BLOCK * len(run.program)
    if run.turns > most:
        raise BlockError(
            "INT315",
            f"P words add more than {most:,} turns to arcs: more than are followed",
            ("P",),
            advice="count a part of the program",
        )
    if turns > 1:
        run.report(
            "INT310",
            f"an arc of {turns} turns by its P word",
            block.span_of("P"),
            "not every controller knows it: see what yours makes of P",
        )
    return turns - 1
