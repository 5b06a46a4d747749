"""How a program writes its numbers, and numbers written the same way."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gpre.program.measures import Measures, writes_points
from gpre.program.program import Program

PLUS, POINT, ZERO, NINE = 43, 46, 48, 57
MOST_DECIMALS = 6
SAMPLE = 1000  # zeros looked at


@dataclass(frozen=True, slots=True)
class NumberStyle:
    """One way to write numbers.

    decimals: the most that are written without need. least: as many are written even where they
    are zeros, once a point stands. point: a whole number has one (`10.`). leading_zero: `0.5`,
    not `.5`. plus: numbers above zero bear a sign. zero_point: zero has a point where whole numbers
    have one.
    """

    decimals: int = 3
    least: int = 0
    point: bool = False
    leading_zero: bool = True
    plus: bool = False
    zero_point: bool = True

    def write(self, value: float, decimals: int | None = None) -> str:
        """Write a number rounded to `decimals` (None: the style's own); never `-0`, no exponent."""
        places = self.decimals if decimals is None else decimals
        text = f"{value:.{places}f}"
        sign = "-" if text.startswith("-") else "+" if self.plus else ""
        whole, _, fraction = text.lstrip("-").partition(".")
        fraction = fraction.rstrip("0")
        if not fraction and not (self.point and (self.zero_point or whole != "0")):
            return whole if whole == "0" else sign + whole
        fraction = fraction.ljust(min(self.least, places), "0")
        if not whole.strip("0") and not fraction.strip("0"):
            sign = ""  # zero bears none
        if whole == "0" and fraction and not self.leading_zero:
            whole = "0" if not fraction.strip("0") else ""
        return f"{sign}{whole}.{fraction}"

    def rounded(self, value: float, decimals: int | None = None) -> float:
        """Return the number as it would read back."""
        return float(self.write(value, decimals))

    def decimals_for(self, value: float, within: float) -> int:
        """Return the fewest decimals, not below the style's own, that keep the value `within`."""
        for places in range(self.decimals, MOST_DECIMALS):
            if abs(self.rounded(value, places) - value) <= within:
                return places
        return max(MOST_DECIMALS, self.decimals)


def style_of(program: Program, letters: str, default: NumberStyle) -> NumberStyle:
    """Find how the program writes the numbers behind `letters`; `default` fills the rest."""
    words = program.words
    chosen = np.isin(words.letter, np.frombuffer(letters.encode(), np.uint8))
    if not chosen.any():
        return default
    starts, ends = (each[chosen].astype(np.int64) for each in (words.start, words.end))
    data = np.frombuffer(program.source.data, np.uint8)
    has_point, decimals = _decimals(data, starts, ends)
    size = np.abs(words.value[chosen])
    whole = size == np.floor(size)
    least, point = default.least, default.point
    if has_point.any():
        least = _least(data, ends[has_point], decimals[has_point])
        with_point, without = int((whole & has_point).sum()), int((whole & ~has_point).sum())
        point = with_point > without
        least = 0 if without > with_point else least
    elif whole.all():
        point = False
    most = max(int(decimals.max()), default.decimals)
    if has_point.any() and least == int(decimals[has_point].max()) and least > 0:
        most = max(least, default.decimals)
    above = words.value[chosen] > 0.0
    signed = data[np.minimum(starts + 1, len(data) - 1)] == PLUS
    plus = 2 * int((signed & above).sum()) > int(above.sum())
    leading_zero = _leading_zero(data, starts, ends, size, has_point)
    return NumberStyle(most, least, point, leading_zero, plus)


def keep_points(
    style: NumberStyle, program: Program, letters: str, lengths: Measures
) -> NumberStyle:
    """Return the style with a point behind whole lengths, if the program writes any so, or all.

    Some older controllers read a length without its point as thousandths: see
    `gpre.program.measures`. lengths: those of the program.
    """
    own = lengths.take(np.isin(lengths.letter, np.frombuffer(letters.encode(), np.uint8)))
    whole = own.value == np.rint(own.value)
    if style.point or not (writes_points(lengths) or (whole & own.pointed).any()):
        return style
    words, data = program.words, program.source.data
    zeros = np.isin(words.letter, np.frombuffer(letters.encode(), np.uint8)) & (words.value == 0.0)
    texts = [
        data[int(words.start[row]) : int(words.end[row])] for row in np.flatnonzero(zeros)[:SAMPLE]
    ]
    pointed = sum(b"." in text for text in texts)
    return replace(style, point=True, zero_point=2 * pointed >= len(texts))


def _least(data: NDArray[np.uint8], ends: NDArray[np.int64], decimals: NDArray[np.int64]) -> int:
    """Return how many decimals numbers with a point have, zeros or not.

    One number in ten ends in a zero by chance: a program that shows half as many keeps them.
    """
    ends_in_zero = (decimals > 0) & (data[ends - 1] == ZERO)
    if 20 * int(ends_in_zero.sum()) >= len(decimals):
        return int(np.bincount(decimals).argmax())
    return int(decimals.min())


def _decimals(
    data: NDArray[np.uint8], starts: NDArray[np.int64], ends: NDArray[np.int64]
) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    points = np.flatnonzero(data == POINT)
    at = np.searchsorted(points, starts)
    inside = at < len(points)
    first = np.where(inside, points[np.minimum(at, len(points) - 1)] if len(points) else 0, 0)
    has_point = inside & (first < ends)
    digits = np.concatenate(([0], np.cumsum((data >= ZERO) & (data <= NINE))))
    decimals = np.where(has_point, digits[ends] - digits[np.minimum(first, len(data))], 0)
    return has_point, decimals


def _leading_zero(
    data: NDArray[np.uint8],
    starts: NDArray[np.int64],
    ends: NDArray[np.int64],
    size: NDArray[np.float64],
    has_point: NDArray[np.bool_],
) -> bool:
    small = has_point & (size < 1.0) & (size > 0.0)
    if not small.any():
        return True
    with_zero = 0
    for start, end in zip(starts[small][:1000], ends[small][:1000], strict=True):
        number = data[start + 1 : end].tobytes().replace(b" ", b"").lstrip(b"+-")
        with_zero += number.startswith(b"0")
    return 2 * with_zero >= min(int(small.sum()), 1000)
