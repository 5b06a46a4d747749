"""Numbers out of text by arithmetic on eight characters at a time, bit-equal to `float(text)`.

The eight bytes that end a number, taken as one little-endian integer, hold a digit in each byte.
The point is the only one of them with bit 4 set once the digits' high bits are gone. Taking it out
and multiplying thrice leaves an integer; an integer below 2**53 divided by a power of ten that is
exact in float64 is rounded once, as `float` does. (Multiplying by a tenth would round twice.)
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

PAD = 16  # bytes that must stand before the first number of a buffer
WIDEST = 15  # characters with the point, without the sign, up to which integers stay exact

_U = np.uint64
_ONE = _U(1)
_ZEROS = _U(0x3030303030303030)
_POINTS = _U(0x1010101010101010)
_POINT = _U(ord(".") ^ ord("0"))
_PLACE = _U(0x8070605040302010)  # its high nibbles number the bytes from 1
_TENS = np.array([float(10**k) for k in range(23)])
# Bytes to keep of the eight, by the number's length: the last `length` of them.
_KEEP = np.array(
    [0, *(0xFFFFFFFFFFFFFFFF ^ ((1 << 8 * (8 - k)) - 1) for k in range(1, 9))], np.uint64
)


@dataclass
class Numbers:
    """Numbers read, n of them.

    value: (n,) float64. signed: (n,) bool, a sign stands first. whole: (n,) bool, digits alone.
    faulty: (n,) bool, two points, no digit or out of range (the value means nothing there), or None
    where there is no such number.
    """

    value: NDArray[np.float64]
    signed: NDArray[np.bool_]
    whole: NDArray[np.bool_]
    faulty: NDArray[np.bool_] | None


def read_numbers(
    buffer: NDArray[np.uint8], letters: NDArray[np.int64], lasts: NDArray[np.int64]
) -> Numbers:
    """Read the numbers behind letters.

    buffer: (m,) uint8, m a multiple of 8, with PAD bytes before the first letter and one or more
    behind the last number. letters, lasts: (n,) int64, places of each letter and of the last
    character of its number: an optional sign, then digits and points.
    """
    first = buffer.take(letters + 1)
    minus = first == ord("-")
    signed = minus | (first == ord("+"))
    length = lasts - letters
    length -= signed
    digits, points = _eight(buffer, lasts, np.minimum(length, 8))
    double = points & (points - _ONE)
    dot = (length < 1) | ((length == 1) & (points != 0))
    faulty = (double != 0) | dot if double.any() or dot.any() else None
    decimals, integers = _integer(digits, points)
    value = integers.astype(np.float64)
    whole = ~signed
    whole &= decimals == 0
    numbers = Numbers(value, signed, whole, faulty)
    if (length > 8).any():
        _widen(buffer, lasts, length, numbers, decimals)
    value /= _TENS.take(decimals)
    bits = value.view(np.uint64)
    bits |= minus.astype(np.uint64) << _U(63)
    return numbers


def _eight(
    buffer: NDArray[np.uint8], lasts: NDArray[np.int64], length: NDArray[np.int64]
) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Return the eight characters up to each place as digits, and bit 4 of each byte with a point.

    The eight bytes lie in two neighbours of the buffer seen as 64-bit words.
    """
    words = buffer.view("<u8")
    firsts = lasts - 7
    shift = (firsts & 7).view(np.uint64)
    shift <<= _U(3)
    firsts >>= 3
    digits: NDArray[np.uint64] = words.take(firsts)
    digits >>= shift
    firsts += 1
    upper = words.take(firsts)
    upper <<= _U(63) - shift  # in two steps: a shift by 64 is not defined everywhere
    upper <<= _ONE
    digits |= upper
    digits ^= _ZEROS
    digits &= _KEEP.take(length)
    return digits, digits & _POINTS


def _integer(
    digits: NDArray[np.uint64], points: NDArray[np.uint64]
) -> tuple[NDArray[np.int64], NDArray[np.uint64]]:
    """Return the integers that the digits make, tenfold where there is a point, and their decimals.

    decimals: one more than the digits behind the point, 0 where there is no point. What stands
    behind the point moves down into its place, so a zero stands last. Changes `digits`.
    """
    unit = points >> _U(4)
    before = unit - _ONE
    before &= digits
    digits -= before
    digits -= unit * _POINT
    digits >>= _U(8)
    digits |= before
    digits *= _U(10 * 2**8 + 1)
    digits >>= _U(8)
    digits &= _U(0x00FF00FF00FF00FF)
    digits *= _U(100 * 2**16 + 1)
    digits >>= _U(16)
    digits &= _U(0x0000FFFF0000FFFF)
    digits *= _U(10000 * 2**32 + 1)
    digits >>= _U(32)
    unit *= _PLACE
    unit >>= _U(60)
    return unit.view(np.int64), digits


def _widen(
    buffer: NDArray[np.uint8],
    lasts: NDArray[np.int64],
    length: NDArray[np.int64],
    numbers: Numbers,
    decimals: NDArray[np.int64],
) -> None:
    """Put eight more characters in front of the last eight, for the numbers that have more."""
    wide = np.flatnonzero(length > 8)
    more = np.minimum(length[wide] - 8, 8)
    digits, points = _eight(buffer, lasts[wide] - 8, more)
    here = points != 0
    double = (points & (points - _ONE)) != 0
    double |= here & (decimals[wide] > 0)
    places, high = _integer(digits, points)
    numbers.value[wide] += high * np.where(here, 1e7, 1e8)
    numbers.whole[wide] &= ~here
    decimals[wide] = np.where(here, places + 7, decimals[wide])
    faulty = np.zeros(len(length), bool) if numbers.faulty is None else numbers.faulty
    faulty[wide] |= double
    widest = wide[length[wide] > WIDEST]
    decimals[widest] = 0
    text = buffer.tobytes() if len(widest) else b""
    ends = (lasts[widest] + 1).tolist()
    for row, size, end in zip(widest.tolist(), length[widest].tolist(), ends, strict=True):
        try:
            value = float(text[end - size : end])
        except ValueError:  # a sign or a second point within
            value = inf
        numbers.value[row] = value
        faulty[row] |= value == inf
    numbers.faulty = faulty if faulty.any() else None
