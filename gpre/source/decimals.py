"""Decimal numbers of programs: exact reading, and printing without exponent and without `-0`."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Context, Decimal
from math import isfinite

_OPTION = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
# Enough digits for any float64 written out, so that quantize never runs out of them.
_CONTEXT = Context(prec=1200, rounding=ROUND_HALF_EVEN)


class UnwritableError(ValueError):
    """Something cannot be written into a program as it must be; the message says why."""


def read_decimal(text: bytes | str) -> Decimal:
    """Read a number exactly; blanks within it mean nothing (NISTIR 6556, 3.3).

    Raise ValueError where it is none: the standard knows no exponent (3.3.2.1).
    """
    plain = text.decode("ascii", "replace") if isinstance(text, bytes) else text
    plain = plain.replace(" ", "").replace("\t", "")
    if not _NUMBER.fullmatch(plain) or not plain.isascii():
        raise ValueError(f"{plain!r} is no number of a program")
    return Decimal(plain)


def read_option(text: str) -> float | None:
    """Read a number of the command line; None where it is none, or too large to hold.

    Digits, a point, an exponent: no `nan`, no `inf`, no `1_0`, no digits of other scripts, all of
    which float() takes.
    """
    plain = text.strip(" ")
    if not _OPTION.fullmatch(plain):
        return None
    value = float(plain)
    return value if isfinite(value) else None


def decimal_places(text: bytes | str) -> int:
    """Count the digits behind the point of a number as written; 0 where it has no point."""
    plain = text.decode("ascii", "replace") if isinstance(text, bytes) else text
    _, _, fraction = plain.partition(".")
    return sum(letter.isdigit() for letter in fraction)


def format_decimal(
    value: float | Decimal,
    places: int,
    *,
    point: bool = True,
    trailing: bool = False,
    leading_zero: bool = True,
) -> str:
    """Write a number with at most `places` digits behind the point, rounded half to even.

    A float counts as the shortest decimal that reads back as it, so 0.125 is a tie at two places
    and 2.675 is one too. What is written differs from that by half a unit of the last place at
    most. There is no exponent, no plus sign, and never `-0`.

    point: write it even behind a whole number (`5.`). trailing: fill up with zeros to `places`.
    leading_zero: write the zero before the point (`0.5`, else `.5`). Raise UnwritableError for what
    is not finite, ValueError for `places` below 0.
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    if not exact.is_finite():
        raise UnwritableError(f"{value} cannot be written into a program")
    if places < 0:
        raise ValueError("places must not be negative")
    rounded = exact.quantize(Decimal(1).scaleb(-places), context=_CONTEXT)
    text = f"{rounded:f}"
    sign = "-" if text.startswith("-") and rounded else ""
    whole, _, fraction = text.lstrip("-").partition(".")
    if not trailing:
        fraction = fraction.rstrip("0")
    if fraction and whole == "0" and not leading_zero:
        whole = ""
    return f"{sign}{whole}{'.' if fraction or point else ''}{fraction}"
