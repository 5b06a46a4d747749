"""Reads a block with parameters, expressions or flow words into a Statement."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.comments import GAP
from gpre.program.expression import Call, Expression, Number, Operation, Parameter
from gpre.program.grammar import block_parser
from gpre.program.words import Assignment, Statement, Word

if TYPE_CHECKING:
    from lark import Token, Tree

LONGEST = 1024  # characters without blanks; the standard allows 256 with them
DEEPEST = 40  # brackets within brackets
MOST_OPERATORS = 128  # of one block; keeps every tree shallow enough to be walked by recursion
SHAPES = 512  # kept at once; programs have few

_FLOW = re.compile(
    r"if\[|if#|while\[|do\d|end\d|goto[\d\[#]|then|else|endif|o[<\[#]|"
    r"o\d+(?:sub|end|return|call|do|while|if|else|repeat|break|continue)"
)
_SPLIT = re.compile(rb"[\d.]([ \t]+)[\d.]")
_STRANGE = re.compile(r"[^a-z0-9+\-*/.\[\]#=<>_~]")
_DIGITS = re.compile(r"[0-9]+")
_OPERATOR = re.compile(r"[-+*/#]|mod|or|and|eq|ne|gt|ge|lt|le")
_NAMES = {
    "if_then": "IF",
    "if_goto": "IF",
    "else_then": "ELSE",
    "endif": "ENDIF",
    "while_do": "WHILE",
    "do": "DO",
    "end": "END",
    "goto": "GOTO",
    "o_word": "O-WORD",
}


@dataclass(slots=True)
class Reading:
    """What came of a block: the statement, or None where it cannot be read; then findings say why.

    program_number: the block begins with a program number, which is its first word.
    """

    statement: Statement | None = None
    program_number: bool = False
    flow: str = ""
    findings: list[Diagnostic] = field(default_factory=list)


class Node(NamedTuple):
    """A node of the grammar's tree; places count in the shape.

    kind: the name of the rule, or in capitals that of the token.
    """

    kind: str
    text: str
    start: int
    end: int
    parts: tuple[Node, ...] = ()


class Form(NamedTuple):
    """What the grammar makes of a shape: a tree, or the place of the fault, -1 for the end."""

    flow: str
    tree: Node | None
    fault: int = -1


class _Fault(NamedTuple):
    """A finding whose places count in the compact text."""

    code: str
    message: str
    start: int
    end: int
    help: str

    def diagnostic(self, compact: _Compact) -> Diagnostic:
        """Return it with its span in the source."""
        span = compact.span(self.start, self.end)
        return Diagnostic(self.code, self.message, span, help=self.help)


class _Compact:
    """The block as the grammar wants it, and the way back to the bytes of the source.

    text: without blanks, in lower case. shape: the text with one 0 for each row of digits, which
    is all that the grammar looks at. places: of the shape's characters in the text, and its length.
    """

    offsets: Sequence[int]
    places: Sequence[int]

    def __init__(self, line: bytes, first: int, last: int, base: int) -> None:
        letters = line[first:last]
        if b" " in letters or b"\t" in letters or GAP in letters:
            kept = [
                at
                for at in range(first, last)
                if line[at] not in b" \t" and not (line[at] == GAP[0] and line[at - 1 : at] == GAP)
            ]
            letters = bytes(line[at] for at in kept)
            self.offsets = [base + at for at in kept]
        else:
            self.offsets = range(base + first, base + last)
        self.text = letters.replace(b"~", b"\x02").replace(GAP, b"~").decode("latin-1").lower()
        self.shape = _DIGITS.sub("0", self.text)
        self.places = range(len(self.text) + 1)
        if len(self.shape) < len(self.text):
            self.places = list(self.places)
            for digits in reversed(list(_DIGITS.finditer(self.text))):
                del self.places[digits.start() + 1 : digits.end()]

    def span(self, start: int, end: int) -> Span:
        """Turn places of the compact text into a span of the source."""
        return Span(self.offsets[start], self.offsets[end - 1] + 1)

    def span_of(self, node: Node) -> Span:
        """Return the span of a node in the source."""
        return self.span(self.places[node.start], self.places[node.end])

    def text_of(self, node: Node) -> str:
        """Return the text of a node, its digits as written."""
        return self.text[self.places[node.start] : self.places[node.end]]


def looks_like_flow(line: bytes) -> bool:
    """Return whether a block begins like one that steers the run of the program."""
    text = line.replace(b" ", b"").replace(b"\t", b"").replace(GAP, b"")[:40]
    return _FLOW.match(text.decode("latin-1").lower()) is not None


def read_statement(line: bytes, first: int, last: int, base: int) -> Reading:
    """Read `line[first:last]`, its comments blanked, with the grammar.

    base: offset of `line` in the source. The block delete and the block number are not within.
    """
    compact = _Compact(line, first, last, base)
    long = len(compact.text) > LONGEST
    form = Form(_flow_name(compact.text), None) if long else _form_of(compact.shape)
    reading = Reading(flow=form.flow)
    if form.tree is None and (fault := _forbidden(compact.text)):
        reading.findings.append(fault.diagnostic(compact))
        return reading
    if split := _SPLIT.search(line, first, last):
        reading.findings.append(
            Diagnostic(
                "REA236",
                "blanks within a number; read as one number",
                Span(base + split.start(), base + split.end()),
                help="write it without blanks; or is a letter or an operator missing?",
            )
        )
    if form.tree is None:
        reading.findings.append(_fault_at(form.fault, compact))
    else:
        _Builder(compact, reading).build(form.tree)
    return reading


@lru_cache(SHAPES)
def _form_of(shape: str) -> Form:
    """Read a shape with the grammar, if it may be tried on it; blocks of one shape read alike."""
    flow = _flow_name(shape)
    if _forbidden(shape) is not None:
        return Form(flow, None)
    from lark.exceptions import UnexpectedInput  # noqa: PLC0415  # see `block_parser`

    try:
        return Form(flow, _node(block_parser().parse(shape)))
    except UnexpectedInput as error:
        ended = getattr(getattr(error, "token", None), "type", "") == "$END"
        return Form(flow, None, -1 if ended else error.pos_in_stream or 0)


def _node(of: Tree[Token] | Token) -> Node:
    """Make a node of what the grammar gives."""
    children = getattr(of, "children", None)
    if children is None:
        start = getattr(of, "start_pos", 0)
        return Node(str(getattr(of, "type", "")), str(of), start, getattr(of, "end_pos", start))
    parts = tuple(_node(each) for each in children)
    start, end = (parts[0].start, parts[-1].end) if parts else (0, 0)
    return Node(str(getattr(of, "data", "")), "", start, end, parts)


def _flow_name(text: str) -> str:
    found = _FLOW.match(text)
    if not found:
        return ""
    if text[0] == "o":
        return "O-WORD"
    name = re.sub(r"[^a-z]", "", found.group()).upper()
    return "IF" if name == "THEN" else name


def _forbidden(text: str) -> _Fault | None:
    """Find what the grammar must not even be tried on."""
    if len(text) > LONGEST:
        return _Fault(
            "REA232",
            f"the block has {len(text)} characters without blanks, {LONGEST} at most are read",
            0,
            1,
            help="split the calculation into several blocks",
        )
    if named := re.search(r"#<[^>]*>?", text):
        return _Fault(
            "REA233",
            "a parameter with a name is not of the standard",
            named.start(),
            named.end(),
            help="use a parameter with a number, such as #100",
        )
    if strange := _STRANGE.search(text):
        return _Fault(
            "REA201",
            "this character has no meaning here",
            strange.start(),
            strange.end(),
            help="put text for people between brackets ( )",
        )
    depth = deepest = 0
    for at, letter in enumerate(text):
        depth += (letter == "[") - (letter == "]")
        deepest = max(deepest, depth)
        if depth < 0:
            return _Fault("REA231", "a ] without its [", at, at + 1, help="take it out")
    if deepest > DEEPEST or len(_OPERATOR.findall(text)) > MOST_OPERATORS:
        return _Fault(
            "REA232",
            f"more than {DEEPEST} brackets within brackets, or more than {MOST_OPERATORS} "
            "operators in one block",
            0,
            1,
            help="split the calculation into several blocks",
        )
    if depth:
        at = text.rindex("[")
        return _Fault(
            "REA231",
            "a [ is never closed",
            at,
            at + 1,
            help="add the ] that is missing",
        )
    return None


def _fault_at(place: int, compact: _Compact) -> Diagnostic:
    """Say where in the shape the grammar could not go on; -1: at its end."""
    if place < 0:
        at = len(compact.text) - 1
        message = "the block stops where a value should follow"
    else:
        at = compact.places[place]
        message = "the calculation cannot be read from here on"
    return Diagnostic(
        "REA230",
        message,
        compact.span(at, at + 1),
        help="see `gpre explain REA230` for what a block with calculations may hold",
    )


class _Builder:
    """Turns the tree of the grammar, all its tokens kept, into records.

    The depth of the tree is bounded, so it may recur.
    """

    def __init__(self, compact: _Compact, reading: Reading) -> None:
        self.compact = compact
        self.reading = reading
        self.comparison: Span | None = None  # the last comparison outside a condition
        self.words: list[Word] = []
        self.settings: list[Assignment] = []

    def build(self, tree: Node) -> None:
        """Fill the reading."""
        kind = tree.kind
        # Keywords are tokens, all else is a tree but for plain numbers.
        nodes = [node for node in tree.parts if not _is_keyword(node)]
        condition = target = None
        if kind in {"if_then", "if_goto", "while_do"}:
            condition = self.expression(nodes.pop(0))
        elif kind == "o_word":
            for node in nodes[2:]:
                self.expression(node)  # arguments and conditions: for their notes
            nodes.clear()
        elif kind == "program_number" and not self.program_number(nodes.pop(0)):
            return
        if kind in {"if_goto", "while_do", "do", "end", "goto"}:
            target = self.expression(nodes.pop(0))
        if kind != "plain":
            self.comparison = None
        for node in nodes:
            self.item(node)
        if self.comparison is not None:
            self.reading.findings.append(
                Diagnostic(
                    "REA234",
                    "a comparison outside a condition",
                    self.comparison,
                    help="comparisons belong behind IF and WHILE",
                )
            )
            return
        self.reading.flow = _NAMES.get(kind, "")
        self.reading.statement = Statement(
            tuple(self.words), tuple(self.settings), self.reading.flow, condition, target
        )

    def item(self, node: Node) -> None:
        """Add a word or a setting."""
        parts, span = node.parts, self.compact.span_of(node)
        if node.kind == "word":
            letter = parts[0].text.upper()
            self.words.append(Word(letter, self.expression(parts[1]), span))
        else:
            index, value = self.expression(parts[1]), self.expression(parts[3])
            self.settings.append(Assignment(index, value, span))

    def program_number(self, label: Node) -> bool:
        """Take `O1234` in front of other words; any other O word there is no program number."""
        node = label.parts[1]
        if node.kind != "WHOLE":
            self.reading.flow = "O-WORD"
            self.reading.statement = Statement(flow="O-WORD")
            return False
        self.words.append(Word("O", self.expression(node), self.compact.span_of(label)))
        self.reading.program_number = True
        return True

    def expression(self, node: Node) -> Expression:
        """Turn a node of an expression into its record."""
        kind, parts = node.kind, node.parts
        if not parts:
            return Number(float(self.compact.text_of(node)), self.compact.span_of(node))
        if kind == "bracket":
            return self.expression(parts[1])
        span = self.compact.span_of(node)
        if kind == "parameter":
            return Parameter(self.expression(parts[1]), span)
        if kind == "call":
            return Call(parts[0].text, (self.expression(parts[1]),), span)
        if kind == "atan":
            return Call("atan", (self.expression(parts[1]), self.expression(parts[3])), span)
        if kind == "signed":
            return self.signed(parts, span)
        if parts[1].kind == "COMPARISON":
            self.comparison = span
        return Operation(parts[1].text, self.expression(parts[0]), self.expression(parts[2]), span)

    def signed(self, parts: tuple[Node, ...], span: Span) -> Expression:
        """Take a sign before a bracket, a parameter or a function: clear, but not standard."""
        self.reading.findings.append(
            Diagnostic(
                "REA235",
                "a sign before a bracket, a parameter or a function is not of the standard",
                span,
                help="write [0 - ...] for a controller that keeps to the standard",
            )
        )
        value = self.expression(parts[1])
        return Call("negate", (value,), span) if parts[0].text == "-" else value


def _is_keyword(node: Node) -> bool:
    return node.kind.isupper() and node.kind not in {"NUMBER", "WHOLE"}
