"""Numbers out of text by arithmetic on eight characters at a time, bit-equal to `float(text)`.

The eight bytes that end a number, taken as one little-endian integer, hold a digit in each byte.
The point is the only one of them with bit 4 set once the digits' high bits are gone. Taking it out
and multiplying thrice leaves an integer; an integer below 2**53 divided by a power of ten that is
exact in float64 is rounded once, as `float` does. (Multiplying by a tenth would round twice.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

PAD = 16  # bytes that must stand before the first number of a buffer
WIDEST = 15  # characters with the point, without the sign, up to which integers stay exact

_U = np.uint64
_ZEROS = _U(0x3030303030303030)
_POINTS = _U(0x1010101010101010)
_PLACE = _U(0x8070605040302010)  # its high nibbles number the bytes from 1
_PAIRS = _U(0x000000FF000000FF)
_UPPER = _U(0x000F424000000064)
_LOWER = _U(0x0000271000000001)
_ALL = _U(0xFFFFFFFFFFFFFFFF)
_TENS = np.array([float(10**k) for k in range(23)])
# Bytes to keep of the eight, by the number's length: the last `length` of them.
_KEEP = np.array(
    [0, *(0xFFFFFFFFFFFFFFFF ^ ((1 << 8 * (8 - k)) - 1) for k in range(1, 9))], np.uint64
)


def read_numbers(
    buffer: NDArray[np.uint8], letters: NDArray[np.int64], lasts: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.bool_]]:
    """Read the numbers behind letters.

    buffer: (m,) uint8, its length a multiple of 8, with PAD bytes before the first letter.
    letters, lasts: (n,) int64, places of each letter and of the last character of its number, which
    is an optional sign, then digits and points only.

    Return values (n,) float64, whole (n,) bool (digits alone, no sign, no point), and faulty (n,)
    bool (two points, or no digit; the value means nothing there).
    """
    first = buffer.take(letters + 1)
    minus = first == ord("-")
    signed = minus | (first == ord("+"))
    length = lasts - letters
    length -= signed
    digits, points = _eight(buffer, lasts, np.minimum(length, 8))
    faulty = (points & (points - _U(1))) != 0
    faulty |= (points != 0) & (length == 1)
    decimals = _decimals(points)
    values = _integer(digits, points).astype(np.float64)
    whole = ~signed
    whole &= points == 0
    wide = np.flatnonzero(length > 8)
    if len(wide):
        _widen(buffer, letters, lasts, length, wide, (values, decimals, faulty, whole))
    values /= _TENS.take(decimals)
    bits = values.view(np.uint64)
    bits |= minus.astype(np.uint64) << _U(63)
    return values, whole, faulty


def _eight(
    buffer: NDArray[np.uint8], lasts: NDArray[np.int64], length: NDArray[np.int64]
) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Give the eight characters up to each place as digits, and bit 4 of each byte with a point."""
    windows = np.ndarray((len(buffer) - 7,), "<u8", buffer, strides=(1,))
    digits: NDArray[np.uint64] = windows[lasts - 7]
    digits ^= _ZEROS
    digits &= _KEEP.take(length)
    return digits, digits & _POINTS


def _decimals(points: NDArray[np.uint64]) -> NDArray[np.int64]:
    """Give one more than the digits behind the point, 0 where there is no point."""
    places = points >> _U(4)
    places *= _PLACE
    places >>= _U(60)
    return places.view(np.int64)


def _integer(digits: NDArray[np.uint64], points: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Give the integer that the digits make; tenfold where there is a point.

    What stands behind the point moves down into its place, so a zero stands last.
    """
    digits ^= (points >> _U(3)) * _U(15)
    before = digits & ((points >> _U(4)) - _U(1))
    digits ^= before
    digits >>= _U(8)
    digits |= before
    digits = digits * _U(10) + (digits >> _U(8))
    upper = digits & _PAIRS
    upper *= _UPPER
    digits >>= _U(16)
    digits &= _PAIRS
    digits *= _LOWER
    digits += upper
    digits >>= _U(32)
    return digits


def _widen(
    buffer: NDArray[np.uint8],
    letters: NDArray[np.int64],
    lasts: NDArray[np.int64],
    length: NDArray[np.int64],
    wide: NDArray[np.int64],
    result: tuple[
        NDArray[np.float64], NDArray[np.int64], NDArray[np.bool_], NDArray[np.bool_]
    ],
) -> None:
    """Read the numbers of more than eight characters anew: eight more in front of the last eight."""
    values, decimals, faulty, whole = result
    low = values[wide]
    low_point = decimals[wide] > 0
    more = np.minimum(length[wide] - 8, 8)
    digits, points = _eight(buffer, lasts[wide] - 8, more)
    faulty[wide] |= ((points & (points - _U(1))) != 0) | ((points != 0) & low_point)
    whole[wide] &= points == 0
    here = _decimals(points)
    high = _integer(digits, points).astype(np.float64)
    values[wide] = high * np.where(points != 0, 1e7, 1e8) + low
    decimals[wide] = np.where(points != 0, here + 7, decimals[wide])
    for row in wide[length[wide] > WIDEST].tolist():
        decimals[row] = 0
        try:
            text = buffer[int(letters[row]) + 1 : int(lasts[row]) + 1].tobytes()
            values[row] = abs(float(text))
        except ValueError:
            faulty[row] = True
        faulty[row] |= not np.isfinite(values[row])
        whole[row] = text.isdigit()
