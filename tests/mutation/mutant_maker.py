"""Mutants of a module: its text with one token changed, never a comment, a string or an annotation.

Everything is done on bytes, since positions of `ast` count bytes.
"""

from __future__ import annotations

import ast
import io
import tokenize
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from random import Random

_BINARY = {
    "+": ["-"], "-": ["+"], "*": ["/"], "/": ["*"], "//": ["*"], "%": ["*"], "**": ["*"],
    "&": ["|"], "|": ["&"], "^": ["&"], "<<": [">>"], ">>": ["<<"],
}  # fmt: skip
_COMPARE = {
    "<": ["<=", ">="], "<=": ["<", ">"], ">": [">=", "<="], ">=": [">", "<"],
    "==": ["!="], "!=": ["=="], "in": ["not in"], "not in": ["in"],
    "is": ["is not"], "is not": ["is"],
}  # fmt: skip
_AUGMENTED = {"+=": "-=", "-=": "+=", "*=": "/=", "/=": "*=", "&=": "|=", "|=": "&="}
_TWINS = [
    ("all", "any"), ("min", "max"), ("minimum", "maximum"), ("fmin", "fmax"), ("floor", "ceil"),
    ("argmin", "argmax"), ("nanmin", "nanmax"), ("sin", "cos"), ("first", "last"),
]  # fmt: skip
_NAMES = dict(_TWINS) | {b: a for a, b in _TWINS}
_CALLED = {name for name in _NAMES if name not in {"first", "last"}}
_SIDES = {"left": "right", "right": "left"}
# arguments that only check, or only say how a record is made
_NO_DIFFERENCE = {"strict", "frozen", "slots", "kw_only", "copy", "check", "repr", "kind"}
_OF_TYPES = {"tuple", "list", "dict", "set", "frozenset", "NDArray", "Callable", "Iterator", "type"}
_TINY = 1e-5  # a tolerance for rounding: twice as much would be no change at all


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change of one token.

    start, end: bytes of the module, half open. text: what stands there instead. lines: the first
    and last line, from 1, of the statement (of its head, where others belong to it).
    at_import: it runs when the module is imported, not when a function is called.
    """

    module: str
    start: int
    end: int
    text: str
    lines: tuple[int, int]
    at_import: bool

    def apply(self, source: bytes) -> bytes:
        """Return the module with the change."""
        return source[: self.start] + self.text.encode() + source[self.end :]

    def line(self, source: bytes) -> int:
        """Return the line of the change, from 1."""
        return source.count(b"\n", 0, self.start) + 1

    def shown(self, source: bytes) -> tuple[str, str]:
        """Return the line before and after."""
        row = self.line(source) - 1
        return tuple(  # type: ignore[return-value]
            text.split(b"\n")[row].decode().strip() for text in (source, self.apply(source))
        )


def mutants_of(module: str, source: bytes) -> list[Mutant]:
    """Return all mutants of a module, in order; a few may not compile, see `sample`."""
    maker = _Maker(module, source)
    maker.visit(maker.tree)
    return sorted(maker.found, key=lambda one: (one.start, one.end, one.text))


def is_another(mutant: Mutant, source: bytes) -> bool:
    """Return whether a mutant compiles and is another program."""
    try:
        changed = ast.parse(mutant.apply(source))
    except (SyntaxError, ValueError):
        return False
    return ast.dump(changed) != ast.dump(ast.parse(source))


def sample(source: bytes, mutants: list[Mutant], count: int, seed: int) -> list[Mutant]:
    """Draw mutants that compile and are other programs, no two of them at one place."""
    places: dict[tuple[int, int], list[Mutant]] = defaultdict(list)
    for each in mutants:
        places[each.start, each.end].append(each)
    random = Random(f"{seed} {mutants[0].module}" if mutants else seed)
    chosen: list[Mutant] = []
    for place in random.sample(sorted(places), len(places)):
        mutant = random.choice(places[place])
        if len(chosen) < count and is_another(mutant, source):
            chosen.append(mutant)
    return chosen


class _Maker(ast.NodeVisitor):
    def __init__(self, module: str, source: bytes) -> None:
        self.module, self.source = module, source
        self.tree = ast.parse(source)
        self.found: list[Mutant] = []
        starts = [0]
        for line in source.split(b"\n"):
            starts.append(starts[-1] + len(line) + 1)
        self._starts = starts
        self._tokens = list(self._operators())
        self._offsets = [start for start, _, _ in self._tokens]
        self._lines = (1, 1)
        self._deep = 0  # how many functions lie around

    def _operators(self) -> Iterator[tuple[int, int, str]]:
        lines = self.source.split(b"\n")
        for token in tokenize.tokenize(io.BytesIO(self.source).readline):
            if token.type not in {tokenize.OP, tokenize.NAME}:
                continue
            row = token.start[0] - 1
            before = len(lines[row].decode()[: token.start[1]].encode())
            start = self._starts[row] + before
            yield start, start + len(token.string.encode()), token.string

    # --- places -------------------------------------------------------------------------------

    def _start(self, node: ast.expr | ast.stmt) -> int:
        return self._starts[node.lineno - 1] + node.col_offset

    def _end(self, node: ast.expr | ast.stmt) -> int:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self._starts[node.end_lineno - 1] + node.end_col_offset

    def _add(self, start: int, end: int, *texts: str) -> None:
        for text in texts:
            self.found.append(
                Mutant(self.module, start, end, text, self._lines, at_import=not self._deep)
            )

    def _between(self, left: ast.expr | ast.stmt, right: ast.expr) -> tuple[int, int, str]:
        """Return the operator between two operands: its place and its text."""
        at = bisect_left(self._offsets, self._end(left))
        words = []
        while at < len(self._offsets) and self._offsets[at] < self._start(right):
            if self._tokens[at][2] not in "()":
                words.append(self._tokens[at])
            at += 1
        return words[0][0], words[-1][1], " ".join(text for _, _, text in words)

    # --- what is not changed ------------------------------------------------------------------

    def visit(self, node: ast.AST) -> None:
        if isinstance(node, ast.stmt):
            self._lines = self._head(node)
        if isinstance(node, ast.Import | ast.ImportFrom | ast.Assert | ast.JoinedStr | ast.pattern):
            return
        super().visit(node)

    def _head(self, node: ast.stmt) -> tuple[int, int]:
        body = getattr(node, "body", None)
        last = node.end_lineno or node.lineno
        if isinstance(body, list) and body and isinstance(body[0], ast.stmt):
            last = max(node.lineno, body[0].lineno - 1)
        return node.lineno, last

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for default in [*node.args.defaults, *node.args.kw_defaults]:
            if default is not None:
                self.visit(default)
        self._deep += 1
        for each in node.body:
            self.visit(each)
        self._deep -= 1

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for each in node.body:
            self.visit(each)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Assign(self, node: ast.Assign) -> None:
        value = node.value
        if (
            not self._deep
            and isinstance(value, ast.Subscript | ast.BinOp)
            and (not _names(value) or _names(value) & _OF_TYPES)
        ):
            return  # another name of a type
        self.generic_visit(node)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg not in _NO_DIFFERENCE:
            self.visit(node.value)

    # --- what is ------------------------------------------------------------------------------

    def visit_BinOp(self, node: ast.BinOp) -> None:
        start, end, text = self._between(node.left, node.right)
        self._add(start, end, *_BINARY.get(text, []))
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        for left, right in pairwise([node.left, *node.comparators]):
            start, end, text = self._between(left, right)
            self._add(start, end, *_COMPARE[text])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for left, right in pairwise(node.values):
            start, end, text = self._between(left, right)
            self._add(start, end, "or" if text == "and" else "and")
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if not isinstance(node.op, ast.UAdd):
            self._add(self._start(node), self._start(node.operand), "")
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        start, end, text = self._between(node.target, node.value)
        if text in _AUGMENTED:
            self._add(start, end, _AUGMENTED[text])
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        texts: list[str] = []
        if isinstance(value, bool):
            texts = [str(not value)]
        elif isinstance(value, int):
            texts = [str(value + 1)] if value != 1 else ["0", "2"]
        elif isinstance(value, float):
            texts = [_other(value)]
        elif isinstance(value, str) and value in _SIDES:
            texts = [f'"{_SIDES[value]}"']
        self._add(self._start(node), self._end(node), *texts)

    def visit_Name(self, node: ast.Name) -> None:
        if node.id == "inf":
            self._add(self._start(node), self._end(node), "-inf")

    def visit_Attribute(self, node: ast.Attribute) -> None:
        if node.attr == "inf":
            self._add(self._start(node), self._start(node), "-")
        self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func
        if isinstance(name, ast.Attribute) and name.attr in _CALLED:
            end = self._end(name)
            self._add(end - len(name.attr), end, _NAMES[name.attr])
        elif isinstance(name, ast.Name) and name.id in _CALLED:
            self._add(self._start(name), self._end(name), _NAMES[name.id])
        self.generic_visit(node)

    def visit_Slice(self, node: ast.Slice) -> None:
        for bound in (node.lower, node.upper):
            if bound is not None:
                self._add(self._start(bound), self._end(bound), "")
        self.generic_visit(node)

    def visit_If(self, node: ast.If) -> None:
        self._turn_round(node.test)
        self.visit(node.test)
        last = node.body[-1]
        if isinstance(last, ast.Return | ast.Continue | ast.Break | ast.Raise):
            head, self._lines = self._lines, self._head(last)
            self._add(self._start(last), self._end(last), "pass")
            self._lines = head
        for each in [*node.body, *node.orelse]:
            self.visit(each)

    def visit_While(self, node: ast.While) -> None:
        self._turn_round(node.test)
        self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._turn_round(node.test)
        self.generic_visit(node)

    def _turn_round(self, test: ast.expr) -> None:
        if isinstance(test, ast.Name | ast.Attribute | ast.Call | ast.Subscript):
            self._add(self._start(test), self._start(test), "not ")


def _other(value: float) -> str:
    if value == 0.0:
        return "1.0"
    return repr(value * (1000.0 if abs(value) < _TINY else 2.0))


def _names(node: ast.AST) -> set[str]:
    """Return the names and attributes of an expression."""
    named = {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}
    return named | {one.attr for one in ast.walk(node) if isinstance(one, ast.Attribute)}
