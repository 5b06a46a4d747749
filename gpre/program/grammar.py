"""The lark parser for blocks with parameters, expressions or flow words.

lark is imported when the first such block comes: most programs have none.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lark import Lark


def grammar_text(name: str) -> str:
    """Return the text of a grammar file; raise FileNotFoundError where it was not shipped."""
    package = Path(__file__).resolve().parent.parent
    shipped = package / "_grammars" / name
    if shipped.is_file():
        return shipped.read_text(encoding="utf-8")
    checkout = package.parent
    beside = checkout / "grammars" / name
    if (checkout / "pyproject.toml").is_file() and beside.is_file():
        return beside.read_text(encoding="utf-8")
    raise FileNotFoundError(f"the grammar {name} is missing from the installation of gpre")


@cache
def block_parser() -> Lark:
    """Return the parser of `block.lark`, made once."""
    from lark import Lark  # noqa: PLC0415  # a tenth of a second that most programs do not need

    return Lark(
        grammar_text("block.lark"),
        parser="lalr",
        lexer="contextual",
        keep_all_tokens=True,
        maybe_placeholders=False,
    )
