"""Records of one line as they are where the same line stands further on in the source."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Span
from gpre.program.expression import Call, Expression, Number, Operation, Parameter
from gpre.program.words import Assignment, Statement, Word


def moved_span(span: Span, by: int) -> Span:
    """Return a span `by` bytes further on."""
    return Span(span.start + by, span.end + by)


def moved_statement(statement: Statement, by: int) -> Statement:
    """Return a statement `by` bytes further on."""
    condition, target = statement.condition, statement.target
    return Statement(
        tuple(
            [
                Word(word.letter, _moved(word.value, by), moved_span(word.span, by))
                for word in statement.words
            ]
        ),
        tuple(
            [
                Assignment(
                    _moved(each.parameter, by), _moved(each.value, by), moved_span(each.span, by)
                )
                for each in statement.assignments
            ]
        ),
        statement.flow,
        None if condition is None else _moved(condition, by),
        None if target is None else _moved(target, by),
    )


def _moved(expression: Expression, by: int) -> Expression:
    start, end = expression.span
    span = Span(start + by, end + by)
    if isinstance(expression, Number):
        return Number(expression.value, span)
    if isinstance(expression, Parameter):
        return Parameter(_moved(expression.index, by), span)
    if isinstance(expression, Call):
        return Call(
            expression.function, tuple([_moved(each, by) for each in expression.arguments]), span
        )
    left, right = _moved(expression.left, by), _moved(expression.right, by)
    return Operation(expression.operator, left, right, span)
