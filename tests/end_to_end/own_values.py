"""Works out parameters and expressions, sign by sign, after NISTIR 6556, 3.3.2 and appendix E.2.

Shares no code with gpre. The text has no blanks (3.3) and no comments, and is in capitals.
"""

from __future__ import annotations

import math
from collections.abc import Callable

WHOLE = 1e-4  # so near to a whole number is one (3.3.2.1)
LAST_PARAMETER = 5399  # 3.2.1
FUNCTIONS = (
    "ABS", "ACOS", "ASIN", "ATAN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN",
)  # fmt: skip
# 3.3.2.3: ** first, then products, then sums and logic; equal ones from the left
RANKS = (("OR", "XOR", "AND", "+", "-"), ("MOD", "*", "/"), ("**",))


class FaultError(Exception):
    """A controller stops here."""


class NotFollowedError(Exception):
    """A program holds what this reading does not know, or what nobody can know from its text."""


Words = list[tuple[str, float, bool]]


def read_formulas(
    text: str, value_of: Callable[[float], float]
) -> tuple[Words, list[tuple[float, float]]]:
    """Return the words of a block and the parameters that it sets; value_of: of a parameter.

    All values are read before any parameter is set (3.3.3).
    """
    reader = _Reader(text, value_of)
    words: Words = []
    settings: list[tuple[float, float]] = []
    while reader.at < len(text):
        sign = text[reader.at]
        if sign == "#":
            reader.at += 1
            number = reader.value()
            reader.expect("=")
            settings.append((number, reader.value()))
        elif sign.isalpha():
            reader.at += 1
            point = reader.at
            value = reader.value()
            written = text[point : reader.at]
            words.append((sign, value, "." in written or not written.strip("+-").isdigit()))
        else:
            raise FaultError(f"cannot read {text[reader.at :]!r}")
    return words, settings


class _Reader:
    """Goes over a text from the left; every method starts at `at` and leaves it past its part."""

    def __init__(self, text: str, value_of: Callable[[float], float]) -> None:
        self.text, self.value_of = text, value_of
        self.at = 0

    def next(self, sign: str) -> bool:
        """Whether the text goes on with a sign, which is passed then."""
        found = self.text.startswith(sign, self.at)
        self.at += len(sign) if found else 0
        return found

    def expect(self, sign: str) -> None:
        if not self.next(sign):
            raise FaultError(f"{sign} is missing before {self.text[self.at :]!r}")

    def value(self) -> float:
        """A number, an expression, a parameter or a function (E.2: real_value).

        A sign before one of the last three is not in the grammar, and common in programs.
        """
        start = self.at
        while self.at < len(self.text) and self.text[self.at] in "+-.0123456789":
            if self.text[self.at] in "+-" and self.at > start:
                break
            self.at += 1
        number = self.text[start : self.at]
        if any(sign.isdigit() for sign in number) and number.count(".") <= 1:
            return float(number)
        if number in {"+", "-"}:
            return self.value_without_sign() * (-1.0 if number == "-" else 1.0)
        if number:
            raise FaultError(f"{number!r} is no number")
        return self.value_without_sign()

    def value_without_sign(self) -> float:
        if self.next("["):
            value = self.sum()
            self.expect("]")
            return value
        if self.next("#"):
            return self.value_of(self.value())  # binds tightest: ##2, #1+2 (3.3.2.2)
        for name in FUNCTIONS:
            if self.next(name):
                return self.function(name)
        raise FaultError(f"a value is missing before {self.text[self.at :]!r}")

    def argument(self) -> float:
        self.expect("[")
        value = self.sum()
        self.expect("]")
        return value

    def function(self, name: str) -> float:
        """3.3.2.4: angles in degrees; FIX goes down, FUP up, ROUND to the nearest."""
        value = self.argument()
        if name == "ATAN":  # ATAN[y]/[x], all four quadrants
            self.expect("/")
            return math.atan2(value, self.argument()) * 180.0 / math.pi
        try:
            return _call(name, value)
        except (ValueError, OverflowError) as error:
            raise FaultError(f"{name}[{value:g}] has no value") from error

    def sum(self, rank: int = 0) -> float:
        """Operations of one rank and above."""
        if rank == len(RANKS):
            return self.value()
        left = self.sum(rank + 1)
        while (name := self.operator(rank)) is not None:
            left = _operate(name, left, self.sum(rank + 1))
        return left

    def operator(self, rank: int) -> str | None:
        if self.text.startswith("**", self.at) and rank < len(RANKS) - 1:
            return None
        return next((name for name in RANKS[rank] if self.next(name)), None)


def _call(name: str, value: float) -> float:
    turn = math.pi / 180.0
    if name in {"SIN", "COS", "TAN"}:
        return {"SIN": math.sin, "COS": math.cos, "TAN": math.tan}[name](value * turn)
    if name in {"ASIN", "ACOS"}:
        return {"ASIN": math.asin, "ACOS": math.acos}[name](value) / turn
    if name == "ROUND":  # halves away from zero (memory)
        return float(math.floor(value + 0.5) if value >= 0.0 else -math.floor(0.5 - value))
    others: dict[str, Callable[[float], float]] = {
        "ABS": math.fabs, "EXP": math.exp, "LN": math.log, "SQRT": math.sqrt,
        "FIX": math.floor, "FUP": math.ceil,
    }  # fmt: skip
    return float(others[name](value))


def _operate(name: str, left: float, right: float) -> float:
    if name in {"OR", "XOR", "AND"}:  # 0 is false, all else is true
        one, two = left != 0.0, right != 0.0
        return float({"OR": one or two, "XOR": one != two, "AND": one and two}[name])
    try:
        if name == "**":
            return math.pow(left, right)
        if name == "/":
            return left / right
        if name == "MOD":  # never below zero (memory)
            return math.fmod(math.fmod(left, right) + abs(right), right)
    except (ZeroDivisionError, OverflowError, ValueError) as error:
        raise FaultError(f"{left:g} {name} {right:g} has no value") from error
    return {"*": left * right, "+": left + right, "-": left - right}[name]
