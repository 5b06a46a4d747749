"""A bore as a program with few decimals writes it: each arc with a rounded centre of its own."""

from collections.abc import Iterable
from math import cos, pi, sin


def rounded_bore(
    units: int,
    decimals: int,
    *,
    parts: int,
    radius: float = 9.8765432,
    turned: float = 0.3,
    drops: Iterable[float] = (0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.0),
) -> list[str]:
    """Blocks of G3 about X30.1234567 Y20.7654321 from its rim on, after one that goes there.

    parts: arcs a turn. turned: rad, where on the rim it begins. drops: mm, how far each turn goes
    down. All lengths mm, written in the units, 20 or 21.
    """
    x, y, unit = 30.1234567, 20.7654321, 1.0 if units == 21 else 25.4

    def written(value: float) -> str:
        return f"{value / unit + 0.0:.{decimals}f}"

    def place(angle: float) -> str:
        return f"X{written(x + radius * cos(angle))} Y{written(y + radius * sin(angle))}"

    lines, depth, at = [f"G1 {place(turned)} F{round(200.0 / unit)}"], 0.0, 0
    for drop in drops:
        for _ in range(parts):
            begin, end = (turned + 2.0 * pi * each / parts for each in (at, at + 1))
            depth, at = depth - drop / parts, at + 1
            centre = f"I{written(-radius * cos(begin))} J{written(-radius * sin(begin))}"
            lines.append(f"G3 {place(end)} Z{written(depth)} {centre}")
    return lines
