"""Programs of the same trade as the samples, written in other manners. All invented."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from gpre.mill.job import Box, Job, Tool


@dataclass(frozen=True)
class Written:
    """A program and what is known of its job."""

    name: str
    text: bytes
    job: Job


def text_of(lines: Iterable[str], end: str = "\n") -> bytes:
    return (end.join(lines) + end).encode()


def facing(
    passes: int,
    *,
    along: str = "X",
    number: Callable[[float], str] = lambda value: f"{value:g}",
    numbered: bool = False,
    end: str = "\n",
    lower: bool = False,
) -> Written:
    """Zigzag facing of a bar, passes and step-overs run off the stock; tool 4 of 16 mm."""
    across = "Y" if along == "X" else "X"
    step, low, high = 10.0, -12.0, 112.0
    lines = ["%", "G21 G17 G90 G94 G40 G49 G80", "T4 M6", "S1500 M3"]
    lines += [f"G0 {along}{number(low)} {across}{number(0.0)}", f"G0 Z{number(25.0)}"]
    lines += [f"G0 Z{number(2.0)}", f"G1 Z{number(-0.4)} F{number(120.0)}"]
    for row in range(passes):
        if row:
            lines.append(f"G1 {across}{number(step * row)}")
        feed = f" F{number(300.0)}" if not row else ""
        lines.append(f"G1 {along}{number(low if row % 2 else high)}{feed}")
    lines += [f"G0 Z{number(25.0)}", "M5", "M30", "%"]
    if numbered:
        lines = [
            text if text == "%" else f"N{10 * at} {text}" for at, text in enumerate(lines, start=1)
        ]
    if lower:
        lines = [text.lower() for text in lines]
    long, wide = (0.0, 100.0), (0.0, step * (passes - 1))
    (x0, x1), (y0, y1) = (long, wide) if along == "X" else (wide, long)
    job = Job({4: Tool(16.0)}, Box((x0, y0, -20.0), (x1, y1, 0.0)))
    return Written(f"facing {passes} along {along}", text_of(lines, end), job)


def grid_cycle_inch() -> Written:
    """A grid of holes in G81, inch, lower case, packed, there and back."""
    lines = ["g20g17g90g94g40g49g80", "t2m6", "s1800m3", "g0z1.", "g0x.5y.5", "m8"]
    spots = [
        (0.5 + 0.75 * (col if row % 2 == 0 else 3 - col), 0.5 + 0.6 * row)
        for row in range(3)
        for col in range(4)
    ]
    lines.append("g99g81x.5y.5z-.4r.1f5.")
    for (x0, y0), (x1, y1) in zip(spots, spots[1:], strict=False):
        lines.append((f"x{x1:.4f}" if x1 != x0 else "") + (f"y{y1:.4f}" if y1 != y0 else ""))
    lines += ["g80", "g0z1.m9", "m5", "m30"]
    return Written("grid in g81, inch", text_of(lines, "\r\n"), Job())


def grid_by_hand() -> Written:
    """A grid of holes by hand, three blocks a hole, block numbers, absolute."""
    lines = ["G21 G17 G90 G94 G40 G49 G80", "G54", "T1 M06", "S2000 M03", "G00 Z30.000"]
    for row in range(3):
        for place in range(4):
            col = place if row % 2 == 0 else 3 - place
            lines += [f"G00 X{12 + 15 * col:.3f} Y{10 + 12 * row:.3f}", "G00 Z2.000"]
            lines += ["G01 Z-7.000 F120.", "G00 Z2.000"]
    lines += ["G00 Z30.000", "M05", "M30"]
    return Written(
        "grid by hand",
        text_of([f"N{5 * at:04d} {text}" for at, text in enumerate(lines, start=1)]),
        Job(),
    )


def grid_incremental_cycle() -> Written:
    """A grid of holes in G83, G91, rows by L: depths and R count from where the tool stands."""
    lines = ["G21 G17 G90 G94 G40 G49 G80", "T1 M6", "S2000 M3", "G0 Z5", "G0 X0 Y10", "G91"]
    lines += ["G99 G81 X12 Y0 Z-6 R-3 L5 F120", "G80", "G0 Y14"]
    lines += ["G99 G81 X-12 Y0 Z-6 R0 L5", "G80", "G90", "G0 Z30", "M5", "M30"]
    return Written("grid in g91", text_of(lines), Job())


def kite_contour(*, radius_form: bool = False, lead: bool = True) -> Written:
    """A closed kite outline with rounds, started on a slanting side, straight way in and out."""
    middle, reach, rounding = (40.0, 30.0), (34.0, 24.0), 6.0
    corners = [
        (middle[0] + reach[0], middle[1]),
        (middle[0], middle[1] + reach[1]),
        (middle[0] - reach[0], middle[1]),
        (middle[0], middle[1] - reach[1]),
    ]
    lines = ["(KITE PLATE - INVENTED)", "G21 G17 G90 G94 G40 G49 G80", "T3 M6", "S2400 M3"]
    rounds = []
    for at, corner in enumerate(corners):
        before, after = corners[at - 1], corners[(at + 1) % 4]
        to_before, to_after = _unit(corner, before), _unit(corner, after)
        half = math.acos(to_before[0] * to_after[0] + to_before[1] * to_after[1]) / 2
        back = rounding / math.tan(half)
        bisector = (to_before[0] + to_after[0], to_before[1] + to_after[1])
        scale = rounding / math.sin(half) / math.hypot(*bisector)
        rounds.append(
            (
                _rounded(corner[0] + back * to_before[0], corner[1] + back * to_before[1]),
                _rounded(corner[0] + back * to_after[0], corner[1] + back * to_after[1]),
                (corner[0] + scale * bisector[0], corner[1] + scale * bisector[1]),
            )
        )
    start = _rounded(
        (rounds[0][1][0] + rounds[1][0][0]) / 2, (rounds[0][1][1] + rounds[1][0][1]) / 2
    )
    # the outline runs counter-clockwise; outside is on the right of the travel
    if lead:
        way = _unit(rounds[0][1], rounds[1][0])
        out = _rounded(start[0] + 8 * way[1], start[1] - 8 * way[0])
        lines += [f"G0 X{out[0]:.4f} Y{out[1]:.4f}", "G0 Z10", "G0 Z2", "G1 Z-3 F80"]
        lines += [f"G1 X{start[0]:.4f} Y{start[1]:.4f} F200"]
    else:
        lines += [f"G0 X{start[0]:.4f} Y{start[1]:.4f}", "G0 Z10", "G0 Z2", "G1 Z-3 F80"]
    for index in (1, 2, 3, 0):
        first, last, centre = rounds[index]
        lines.append(f"G1 X{first[0]:.4f} Y{first[1]:.4f}" + ("" if lead else " F200"))
        shape = (
            f"R{rounding:g}"
            if radius_form
            else f"I{centre[0] - first[0]:.4f} J{centre[1] - first[1]:.4f}"
        )
        lines.append(f"G3 X{last[0]:.4f} Y{last[1]:.4f} {shape}")
    lines.append(f"G1 X{start[0]:.4f} Y{start[1]:.4f}")
    if lead:
        lines.append(f"G1 X{out[0]:.4f} Y{out[1]:.4f}")
    lines += ["G0 Z10", "M5", "M30"]
    job = Job({3: Tool(6.0)}, Box((6.0, 6.0, -3.0), (74.0, 54.0, 0.0)))
    return Written(f"kite {'R' if radius_form else 'IJ'}", text_of(lines), job)


def wiggly_wall() -> Written:
    """A wall in short steps that wiggle by less than a micrometre, inch, no block numbers."""
    lines = ["G20G17G90G94G40G49G80", "T2M6", "S2000M3", "G0Z1.", "G0X0.Y-.5", "G0Z.1", "G1Z-.1F4."]
    lines += ["G1X0.Y0.F8."]
    for at in range(1, 121):
        wiggle = 0.00001 * ((at * 7) % 5 - 2)
        lines.append(f"X{0.02 * at:.5f}Y{wiggle:.5f}")
    lines += ["G0Z1.", "M5", "M30"]
    return Written("wiggly wall, inch", text_of(lines), Job())


def all_manners() -> tuple[Written, ...]:
    """One of each."""
    return (
        facing(7, number=lambda value: f"{value:+.3f}", numbered=True, end="\r\n"),
        facing(4, along="Y", lower=True),
        grid_cycle_inch(),
        grid_by_hand(),
        grid_incremental_cycle(),
        kite_contour(),
        kite_contour(radius_form=True, lead=False),
        wiggly_wall(),
    )


def _unit(start: tuple[float, float], end: tuple[float, float]) -> tuple[float, float]:
    length = math.hypot(end[0] - start[0], end[1] - start[1])
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _rounded(x: float, y: float) -> tuple[float, float]:
    return round(x, 4), round(y, 4)
