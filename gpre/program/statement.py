"""Reads a block with parameters, expressions or flow words into a Statement."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.comments import GAP
from gpre.program.expression import Call, Expression, Number, Operation, Parameter
from gpre.program.grammar import block_parser
from gpre.program.words import Assignment, Statement, Word

if TYPE_CHECKING:
    from lark import Token, Tree
    from lark.exceptions import UnexpectedInput

    Node = Tree[Token] | Token

LONGEST = 1024  # characters without blanks; the standard allows 256 with them
DEEPEST = 40  # brackets within brackets
MOST_OPERATORS = 128  # of one block; keeps every tree shallow enough to be walked by recursion

_FLOW = re.compile(
    r"if\[|if#|while\[|do\d|end\d|goto[\d\[#]|then|else|endif|o[<\[#]|"
    r"o\d+(?:sub|end|return|call|do|while|if|else|repeat|break|continue)"
)
_SPLIT = re.compile(rb"[\d.]([ \t]+)[\d.]")
_STRANGE = re.compile(r"[^a-z0-9+\-*/.\[\]#=<>_~]")
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


class _Compact:
    """The block as the grammar wants it, and the way back to the bytes of the source."""

    def __init__(self, line: bytes, first: int, last: int, base: int) -> None:
        kept = [
            at
            for at in range(first, last)
            if line[at] not in b" \t" and not (line[at] == GAP[0] and line[at - 1 : at] == GAP)
        ]
        letters = bytes(line[at] for at in kept)
        self.text = letters.replace(b"~", b"\x02").replace(GAP, b"~").decode("latin-1").lower()
        self.offsets = [base + at for at in kept]

    def span(self, start: int, end: int) -> Span:
        """Turn places of the compact text into a span of the source."""
        return Span(self.offsets[start], self.offsets[end - 1] + 1)


def looks_like_flow(line: bytes) -> bool:
    """Tell whether a block begins like one that steers the run of the program."""
    text = line.replace(b" ", b"").replace(b"\t", b"").replace(GAP, b"")[:40]
    return _FLOW.match(text.decode("latin-1").lower()) is not None


def read_statement(line: bytes, first: int, last: int, base: int) -> Reading:
    """Read `line[first:last]`, its comments blanked, with the grammar.

    base: offset of `line` in the source. The block delete and the block number are not within.
    """
    compact = _Compact(line, first, last, base)
    reading = Reading(flow=_flow_name(compact.text))
    if fault := _forbidden(compact):
        reading.findings.append(fault)
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
    from lark.exceptions import UnexpectedInput  # noqa: PLC0415  # see `block_parser`

    try:
        tree = block_parser().parse(compact.text)
    except UnexpectedInput as error:
        reading.findings.append(_fault_of(error, compact))
        return reading
    _Builder(compact, reading).build(tree)
    return reading


def _flow_name(text: str) -> str:
    found = _FLOW.match(text)
    if not found:
        return ""
    if text[0] == "o":
        return "O-WORD"
    name = re.sub(r"[^a-z]", "", found.group()).upper()
    return "IF" if name == "THEN" else name


def _forbidden(compact: _Compact) -> Diagnostic | None:
    """Find what the grammar must not even be tried on."""
    text = compact.text
    if len(text) > LONGEST:
        return Diagnostic(
            "REA232",
            f"the block has {len(text)} characters without blanks, {LONGEST} at most are read",
            compact.span(0, 1),
            help="split the calculation into several blocks",
        )
    if named := re.search(r"#<[^>]*>?", text):
        return Diagnostic(
            "REA233",
            "a parameter with a name is not of the standard",
            compact.span(named.start(), named.end()),
            help="use a parameter with a number, such as #100",
        )
    if strange := _STRANGE.search(text):
        return Diagnostic(
            "REA201",
            "this character has no meaning here",
            compact.span(strange.start(), strange.end()),
            help="put text for people between brackets ( )",
        )
    depth = deepest = 0
    for at, letter in enumerate(text):
        depth += (letter == "[") - (letter == "]")
        deepest = max(deepest, depth)
        if depth < 0:
            return Diagnostic(
                "REA231", "a ] without its [", compact.span(at, at + 1), help="take it out"
            )
    if deepest > DEEPEST or len(_OPERATOR.findall(text)) > MOST_OPERATORS:
        return Diagnostic(
            "REA232",
            f"more than {DEEPEST} brackets within brackets, or more than {MOST_OPERATORS} "
            "operators in one block",
            compact.span(0, 1),
            help="split the calculation into several blocks",
        )
    if depth:
        at = text.rindex("[")
        return Diagnostic(
            "REA231",
            "a [ is never closed",
            compact.span(at, at + 1),
            help="add the ] that is missing",
        )
    return None


def _fault_of(error: UnexpectedInput, compact: _Compact) -> Diagnostic:
    """Say where the grammar could not go on."""
    if getattr(getattr(error, "token", None), "type", "") == "$END":
        at = len(compact.text) - 1
        message = "the block stops where a value should follow"
    else:
        at = error.pos_in_stream or 0
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

    def build(self, tree: Tree[Token]) -> None:
        """Fill the reading."""
        kind = str(tree.data)
        # Keywords are tokens, all else is a tree but for plain numbers.
        nodes = [node for node in tree.children if not _is_keyword(node)]
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
        parts = _parts(node)
        if _kind(node) == "word":
            letter = str(parts[0]).upper()
            self.words.append(Word(letter, self.expression(parts[1]), self.span(node)))
        else:
            index, value = self.expression(parts[1]), self.expression(parts[3])
            self.settings.append(Assignment(index, value, self.span(node)))

    def program_number(self, label: Node) -> bool:
        """Take `O1234` in front of other words; any other O word there is no program number."""
        node = _parts(label)[1]
        if getattr(node, "type", "") != "WHOLE":
            self.reading.flow = "O-WORD"
            self.reading.statement = Statement(flow="O-WORD")
            return False
        self.words.append(Word("O", self.expression(node), self.span(label)))
        self.reading.program_number = True
        return True

    def span(self, node: Node) -> Span:
        """Give the span of a node in the source: from its first token to its last."""
        first = last = node
        while parts := _parts(first):
            first = parts[0]
        while parts := _parts(last):
            last = parts[-1]
        start = getattr(first, "start_pos", 0)
        return self.compact.span(start, getattr(last, "end_pos", start))

    def expression(self, node: Node) -> Expression:
        """Turn a node of an expression into its record."""
        parts, span = _parts(node), self.span(node)
        if not parts:
            return Number(float(str(node)), span)
        kind = _kind(node)
        if kind == "bracket":
            return self.expression(parts[1])
        if kind == "parameter":
            return Parameter(self.expression(parts[1]), span)
        if kind == "call":
            return Call(str(parts[0]), (self.expression(parts[1]),), span)
        if kind == "atan":
            return Call("atan", (self.expression(parts[1]), self.expression(parts[3])), span)
        if kind == "signed":
            return self.signed(parts, span)
        if getattr(parts[1], "type", "") == "COMPARISON":
            self.comparison = span
        return Operation(str(parts[1]), self.expression(parts[0]), self.expression(parts[2]), span)

    def signed(self, parts: list[Node], span: Span) -> Expression:
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
        return Call("negate", (value,), span) if str(parts[0]) == "-" else value


def _parts(node: Node) -> list[Node]:
    """Give the children of a tree; a token has none."""
    return getattr(node, "children", [])


def _kind(node: Node) -> str:
    return str(getattr(node, "data", ""))


def _is_keyword(node: Node) -> bool:
    return getattr(node, "type", "NUMBER") not in {"NUMBER", "WHOLE"}
