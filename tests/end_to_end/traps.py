"""Programs in which the easy rewrite would break a tool: what a machinist would see at once."""

from __future__ import annotations

import math

from other_manners import Written, text_of

from gpre.mill.job import Box, Job, Tool

START = ["G21 G17 G90 G94 G40 G49 G80", "T3 M6", "S2400 M3", "M8"]
END = ["M9", "M5", "M30"]
BLOCK = Box((0.0, 0.0, -10.0), (60.0, 60.0, 0.0))
JOB = Job({3: Tool(6.0)}, BLOCK)


def zigzag_in_solid() -> Written:
    """A pocket there and back: both ends of each pass stand in solid metal."""
    lines = [*START, "G0 X10 Y10", "G0 Z10", "G0 Z2", "G1 Z-1 F60"]
    for row in range(6):
        if row:
            lines.append(f"G1 Y{10 + 4 * row}")
        lines.append(f"G1 X{10 if row % 2 else 50}" + ("" if row else " F200"))
    return Written("zigzag in solid", text_of([*lines, "G0 Z10", *END]), JOB)


def zigzag_between_walls() -> Written:
    """Passes off the stock on the left, up to a wall on the right: step-overs cut the wall."""
    lines = [*START, "G0 X-6 Y5", "G0 Z10", "G0 Z2", "G1 Z-1 F60"]
    for row in range(8):
        if row:
            lines.append(f"G1 Y{5 + 4 * row}")
        lines.append(f"G1 X{-6 if row % 2 else 45}" + ("" if row else " F200"))
    return Written("zigzag between walls", text_of([*lines, "G0 Z10", *END]), JOB)


def rings_outward(start: float, angle: float) -> Written:
    """A round pocket in rings; the path ends where it began, on one of its rings."""
    cosine, sine = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    out = [(round(30 + r * cosine, 4), round(30 + r * sine, 4)) for r in (2.5, 5, 7.5, 10)]
    first = (round(30 + start * cosine, 4), round(30 + start * sine, 4))
    lines = [*START, f"G0 X{first[0]} Y{first[1]}", "G0 Z10", "G0 Z2", "G1 Z-2 F60"]
    for at, (x, y) in enumerate(out):
        lines.append(f"G1 X{x} Y{y}" + ("" if at else " F200"))
        lines.append(f"G3 X{x} Y{y} I{30 - x:.4f} J{30 - y:.4f}")
    lines += [f"G1 X{first[0]} Y{first[1]}", "G0 Z10", *END]
    return Written(f"rings from {start} at {angle}", text_of(lines), JOB)


def rings_from_a_drilled_hole() -> Written:
    """The pocket is entered in a hole drilled before: the start must stay in it."""
    lines = ["G21 G17 G90 G94 G40 G49 G80", "T2 M6", "S1200 M3", "G0 X32 Y31", "G0 Z10", "G0 Z2"]
    lines += ["G1 Z-5 F80", "G0 Z10", "M5", "T3 M6", "S2400 M3", "G0 X32 Y31", "G0 Z2"]
    lines += ["G1 Z-3 F300"]
    corners = [(40, 36), (22, 40), (18, 24), (38, 20)]
    for at, (x, y) in enumerate([*corners, (32, 31)]):
        lines.append(f"G1 X{x} Y{y}" + ("" if at else " F150"))
    job = Job({2: Tool(10.0, "drill"), 3: Tool(6.0)}, BLOCK)
    return Written("from a drilled hole", text_of([*lines, "G0 Z10", *END]), job)


def slot_there_and_back() -> Written:
    """A closed slot in solid metal, cut there and back in two depths without lifting."""
    lines = [*START, "G0 X15 Y30", "G0 Z10", "G0 Z2", "G1 Z-1 F60", "G1 X45 F150"]
    lines += ["G1 Z-2 F60", "G1 X15 F150", "G1 Z-3 F60", "G1 X45 F150", "G0 Z10", *END]
    return Written("slot there and back", text_of(lines), JOB)


def holes_in_a_pocket() -> Written:
    """Holes on the floor of a pocket: beside them stand its walls, down below R."""
    lines = [*START, "G0 X20 Y20", "G0 Z10", "G0 Z2", "G1 Z-4 F60"]
    for row in range(6):
        if row:
            lines.append(f"G1 Y{20 + 4 * row}")
        lines.append(f"G1 X{20 if row % 2 else 40}" + ("" if row else " F200"))
    lines += ["G0 Z10", "G0 X40 Y40", "G99 G81 X40 Y40 Z-8 R-3 F60", "X30", "X20", "Y20", "X30"]
    return Written("holes in a pocket", text_of([*lines, "X40", "G80", "G0 Z10", *END]), JOB)


def holes_by_hand_in_a_pocket() -> Written:
    """The same by hand, the tool going from hole to hole below the top of the walls."""
    lines = [*START, "G0 X20 Y20", "G0 Z10", "G0 Z2", "G1 Z-4 F60"]
    for row in range(6):
        if row:
            lines.append(f"G1 Y{20 + 4 * row}")
        lines.append(f"G1 X{20 if row % 2 else 40}" + ("" if row else " F200"))
    lines += ["G0 Z10", "G0 X40 Y40", "G0 Z-3.5"]
    for x, y in ((40, 40), (30, 40), (20, 40), (20, 20), (30, 20), (40, 20)):
        lines += [f"G0 X{x} Y{y}", "G1 Z-8 F60", "G0 Z-3.5"]
    return Written("holes by hand in a pocket", text_of([*lines, "G0 Z10", *END]), JOB)


def stops_between_passes() -> Written:
    """Facing off the stock with a stop, a dwell and another feed between the passes."""
    lines = [*START, "G0 X-6 Y2", "G0 Z10", "G0 Z2", "G1 Z-1 F60", "G1 X66 F200", "G1 Y7"]
    lines += ["M0 (CHIPS)", "G1 X-6", "G1 Y12", "G4 P1", "G1 X66 F150", "G1 Y17", "G1 X-6 F100"]
    return Written("stops between passes", text_of([*lines, "G0 Z10", *END]), JOB)


def contour_deeper_each_round() -> Written:
    """A closed contour, three rounds without a lift, plunging at the same place each time."""
    lines = [*START, "G0 X48 Y30", "G0 Z10", "G0 Z2"]
    for depth in (-1, -2, -3):
        lines.append(f"G1 Z{depth} F60")
        for at, (x, y) in enumerate([(44, 46), (16, 46), (8, 14), (52, 14), (48, 30)]):
            lines.append(f"G1 X{x} Y{y}" + ("" if at else " F150"))
    return Written("contour deeper each round", text_of([*lines, "G0 Z10", *END]), JOB)


def contour_with_a_tail() -> Written:
    """A contour that is not closed: it ends a millimetre short."""
    lines = [*START, "G0 X48 Y30", "G0 Z10", "G0 Z2", "G1 Z-1 F60", "G1 X44 Y46 F150"]
    lines += ["G1 X16 Y46", "G1 X8 Y14", "G1 X52 Y14", "G1 X48.25 Y29"]
    return Written("contour with a tail", text_of([*lines, "G0 Z10", *END]), JOB)


def figure_of_eight() -> Written:
    """A closed path that crosses itself."""
    lines = [*START, "G0 X30 Y30", "G0 Z10", "G0 Z2", "G1 Z-1 F60", "G1 X50 Y50 F150"]
    lines += ["G1 X50 Y12", "G1 X12 Y50", "G1 X12 Y12", "G1 X30 Y30", "G0 Z10", *END]
    return Written("figure of eight", text_of(lines), JOB)


def all_traps() -> tuple[Written, ...]:
    """One of each, and rings from several places."""
    return (
        zigzag_in_solid(),
        zigzag_between_walls(),
        *(rings_outward(*each) for each in ((9, 0), (6, 0), (8.5, 45), (3.5, 200), (0, 30))),
        rings_from_a_drilled_hole(),
        slot_there_and_back(),
        holes_in_a_pocket(),
        holes_by_hand_in_a_pocket(),
        stops_between_passes(),
        contour_deeper_each_round(),
        contour_with_a_tail(),
        figure_of_eight(),
    )
