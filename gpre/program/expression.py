"""Expressions of RS-274/NGC as a tree; NISTIR 6556, 3.3.2 and appendix E."""

from __future__ import annotations

from dataclasses import dataclass

from gpre.diagnostics.diagnostic import Span


@dataclass(frozen=True, slots=True)
class Number:
    """A real number as written."""

    value: float
    span: Span


@dataclass(frozen=True, slots=True)
class Parameter:
    """`#index`: the value of a parameter; the index is an expression itself (`##2`)."""

    index: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Call:
    """A function in lower case (`sin`, `atan`, ...; `negate` for a minus before a bracket).

    `atan` has two arguments, all others one. Angles are degrees, as the standard has them.
    """

    function: str
    arguments: tuple[Expression, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Operation:
    """A binary operator in lower case: `** * / mod + - or xor and`, or a comparison.

    The comparisons are `eq ne gt ge lt le`; they stand in the conditions of IF and WHILE alone.
    """

    operator: str
    left: Expression
    right: Expression
    span: Span


Expression = Number | Parameter | Call | Operation
