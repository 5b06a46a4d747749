"""Finds where the keys and values of a TOML text stand, so that a fault can be shown in place.

The standard library reads TOML but keeps no places. This walk takes a text that the library has
accepted, so it can be short: it need not find faults. Where it loses its way it stops, and what
it has found so far stays right.
"""

from __future__ import annotations

import re
import tomllib
from contextlib import suppress
from dataclasses import dataclass, field

from gpre.diagnostics.diagnostic import Span

Path = tuple[str | int, ...]
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"[ \t]*")
_BLANK_AND_LINES = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|' + r"'''.*?'{3,5}|" + r'"(?:\\.|[^"\\\n])*"|' + r"'[^'\n]*'",
    re.DOTALL,
)
_PLAIN_VALUE = re.compile(r"[^,\]}\n#]*")


class _LostError(Exception):
    """The walk met what it does not expect."""


@dataclass
class Places:
    """Characters from 0, half open, of keys and of values, by the path of keys that leads there."""

    key: dict[Path, Span] = field(default_factory=dict)
    value: dict[Path, Span] = field(default_factory=dict)


def find_places(text: str) -> Places:
    """Find the keys and values of a TOML text that `tomllib` accepts."""
    walk = _TomlWalk(text)
    with suppress(_LostError, RecursionError):
        walk.document()
    return walk.places


class _TomlWalk:
    """A position in the text and what was found before it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places = Places()
        self.counts: dict[Path, int] = {}  # tables seen of each array of tables

    def document(self) -> None:
        table: Path = ()
        self.skip(_BLANK_AND_LINES)
        while self.at < len(self.text):
            if self.here("["):
                table = self.header()
            else:
                self.pair(table)
            self.skip(_BLANK_AND_LINES)

    def header(self) -> Path:
        start = self.at
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        parts = self.key()
        self.expect("]]" if many else "]")
        path = (*self.resolve(parts[:-1]), parts[-1])
        if many:
            self.counts[path] = self.counts.get(path, -1) + 1
            self.places.key.setdefault(path, Span(start, self.at))
            self.places.value.setdefault(path, Span(start, self.at))
            path = (*path, self.counts[path])
        else:
            path = self.resolve(parts)
        self.places.key[path] = self.places.value[path] = Span(start, self.at)
        return path

    def resolve(self, parts: Path) -> Path:
        """Put the index of the last table behind each array of tables."""
        path: Path = ()
        for part in parts:
            path = (*path, part)
            if path in self.counts:
                path = (*path, self.counts[path])
        return path

    def pair(self, table: Path) -> None:
        start = self.at
        parts = self.key()
        span = Span(start, len(self.text[start : self.at].rstrip()) + start)
        for depth in range(1, len(parts) + 1):
            self.places.key.setdefault(table + parts[:depth], span)
        self.expect("=")
        self.skip(_BLANK)
        self.value(table + parts)

    def key(self) -> Path:
        parts: list[str | int] = []
        while True:
            self.skip(_BLANK)
            pattern = _STRING if self.here('"') or self.here("'") else _BARE
            raw = self.take(pattern)
            parts.append(raw if pattern is _BARE else tomllib.loads(f"k={raw}")["k"])
            self.skip(_BLANK)
            if not self.here("."):
                return tuple(parts)
            self.at += 1

    def value(self, path: Path) -> None:
        start = self.at
        if self.here('"') or self.here("'"):
            self.take(_STRING)
        elif self.here("["):
            self.array(path)
        elif self.here("{"):
            self.inline_table(path)
        else:
            self.at = start + len(self.take(_PLAIN_VALUE).rstrip())
        self.places.value[path] = Span(start, self.at)

    def array(self, path: Path) -> None:
        self.at += 1
        for index in range(len(self.text)):
            self.skip(_BLANK_AND_LINES)
            if self.here("]"):
                break
            self.value((*path, index))
            self.skip(_BLANK_AND_LINES)
            if self.here(","):
                self.at += 1
        self.expect("]")

    def inline_table(self, path: Path) -> None:
        self.at += 1
        self.skip(_BLANK_AND_LINES)
        while not self.here("}"):
            self.pair(path)
            self.skip(_BLANK_AND_LINES)
            if self.here(","):
                self.at += 1
                self.skip(_BLANK_AND_LINES)
        self.at += 1

    def here(self, what: str) -> bool:
        return self.text.startswith(what, self.at)

    def skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        if found:
            self.at = found.end()

    def take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if not found or not found.group():
            raise _LostError
        self.at = found.end()
        return found.group()

    def expect(self, what: str) -> None:
        self.skip(_BLANK)
        if not self.here(what):
            raise _LostError
        self.at += len(what)
