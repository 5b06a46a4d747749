"""Values of expressions (NISTIR 6556, 3.3.2): angles in degrees, logic on real numbers.

A value that cannot be known is NaN; it has been reported then, and whatever it goes into is NaN.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from gpre.diagnostics.diagnostic import Span
from gpre.program.expression import Call, Expression, Number, Operation, Parameter

Lookup = Callable[[float, Span], float]
Report = Callable[[str, str, Span], None]

UNKNOWN = math.nan


class DomainError(ValueError):
    """A function or an operator has no value for what it is given."""


def evaluate(expression: Expression, lookup: Lookup, report: Report) -> float:
    """Return the value of an expression.

    lookup: gives the value of a parameter by its number. report: takes a code, a message and a
    place for every fault; the value is NaN then.
    """
    if isinstance(expression, Number):
        return expression.value
    if isinstance(expression, Parameter):
        index = evaluate(expression.index, lookup, report)
        return UNKNOWN if math.isnan(index) else lookup(index, expression.span)
    if isinstance(expression, Call):
        values = [evaluate(each, lookup, report) for each in expression.arguments]
        name = expression.function
    else:
        values = [evaluate(each, lookup, report) for each in (expression.left, expression.right)]
        name = expression.operator
    if any(math.isnan(value) for value in values):
        return UNKNOWN
    try:
        result = _apply(expression, name, values)
    except ZeroDivisionError:
        report("INT334", "division by zero", expression.span)
        return UNKNOWN
    except DomainError as error:
        report("INT335", str(error), expression.span)
        return UNKNOWN
    except OverflowError:
        result = math.inf
    if not math.isfinite(result):
        report("INT335", f"{name} gives a number too large to hold", expression.span)
        return UNKNOWN
    return result


def _apply(expression: Call | Operation, name: str, values: list[float]) -> float:
    if isinstance(expression, Operation):
        return _OPERATORS[name](values[0], values[1])
    if name == "atan":
        # ATAN[y]/[x]; the quadrant is that of the point (x, y)
        other = values[1] if len(values) > 1 else 1.0
        return math.degrees(math.atan2(values[0], other))
    return _FUNCTIONS[name](values[0])


def _round(value: float) -> float:
    """Round to the nearest whole number, halves away from zero."""
    return math.copysign(math.floor(abs(value) + 0.5), value) if value else 0.0


def _root(value: float) -> float:
    if value < 0.0:
        raise DomainError(f"square root of {value:g}, which is below zero")
    return math.sqrt(value)


def _arc_sine(value: float) -> float:
    if abs(value) > 1.0:
        raise DomainError(f"asin of {value:g}, which is not between -1 and 1")
    return math.degrees(math.asin(value))


def _arc_cosine(value: float) -> float:
    if abs(value) > 1.0:
        raise DomainError(f"acos of {value:g}, which is not between -1 and 1")
    return math.degrees(math.acos(value))


def _logarithm(value: float) -> float:
    if value <= 0.0:
        raise DomainError(f"ln of {value:g}, which is not above zero")
    return math.log(value)


def _power(left: float, right: float) -> float:
    if left < 0.0 and right != math.floor(right):
        raise DomainError(f"{left:g} ** {right:g}: a root of a number below zero")
    if left == 0.0 and right < 0.0:
        raise ZeroDivisionError
    return math.pow(left, right)


def _modulo(left: float, right: float) -> float:
    """Return the remainder, which is never below zero, whatever the signs."""
    rest = math.fmod(left, right) if right else _divide(left, right)
    return rest + abs(right) if rest < 0.0 else rest


def _divide(left: float, right: float) -> float:
    return left / right


_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "abs": abs,
    "acos": _arc_cosine,
    "asin": _arc_sine,
    "cos": lambda value: math.cos(math.radians(value)),
    "exp": math.exp,
    "fix": lambda value: float(math.floor(value)),
    "fup": lambda value: float(math.ceil(value)),
    "ln": _logarithm,
    "negate": lambda value: -value,
    "round": _round,
    "sin": lambda value: math.sin(math.radians(value)),
    "sqrt": _root,
    "tan": lambda value: math.tan(math.radians(value)),
}

_OPERATORS: dict[str, Callable[[float, float], float]] = {
    "**": _power,
    "*": lambda left, right: left * right,
    "/": _divide,
    "mod": _modulo,
    "+": lambda left, right: left + right,
    "-": lambda left, right: left - right,
    "or": lambda left, right: float(left != 0.0 or right != 0.0),
    "xor": lambda left, right: float((left != 0.0) != (right != 0.0)),
    "and": lambda left, right: float(left != 0.0 and right != 0.0),
    "eq": lambda left, right: float(left == right),
    "ne": lambda left, right: float(left != right),
    "gt": lambda left, right: float(left > right),
    "ge": lambda left, right: float(left >= right),
    "lt": lambda left, right: float(left < right),
    "le": lambda left, right: float(left <= right),
}
