"""A TOML file as checked tables: what nobody asks for by name is a fault.

All faults of a file are gathered, so that its owner can put them right in one go.
"""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass, field
from difflib import get_close_matches

from gpre.diagnostics.codes import is_error
from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.diagnostics.faults import FileFault
from gpre.mill.toml_keys import DEEPEST_KEY, find_deep_key
from gpre.mill.toml_places import Path, Places, find_places
from gpre.source.files import read_bytes, shown_name
from gpre.source.text import BYTE_ORDER_MARK

GREATEST_SIZE = 200_000  # bytes; a profile is a page of text
MOST_FINDINGS = 100  # told of one file
_PLACE = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)")


@dataclass
class SettingsFile:
    """A file's bytes, its values, and what is wrong with them."""

    name: str
    data: bytes
    values: dict[str, object]
    places: Places
    text: str
    findings: list[Diagnostic] = field(default_factory=list)

    @classmethod
    def read(cls, name: str) -> SettingsFile:
        """Read a file; raise FileFault where it cannot be read or is not TOML."""
        return cls.of(read_bytes(name, GREATEST_SIZE), shown_name(name))

    @classmethod
    def of(cls, data: bytes, name: str) -> SettingsFile:
        """Read the bytes of a file; raise FileFault where they are not TOML."""
        if len(data) > GREATEST_SIZE:
            message = f"{len(data):,} bytes are no profile and no job file"
            raise _fault(name, b"", Diagnostic("MIL501", message, help="name the file itself"))
        mark = BYTE_ORDER_MARK if data.startswith(BYTE_ORDER_MARK) else b""
        body = data.removeprefix(BYTE_ORDER_MARK)
        try:
            text = body.decode("utf-8")
        except UnicodeDecodeError as error:
            at = error.start + len(mark)
            wrong = Diagnostic(
                "MIL501", "this byte is not UTF-8", Span(at, at + 1), help="save the file as UTF-8"
            )
            raise _fault(name, data, wrong) from error
        deep = find_deep_key(text)
        if deep is not None:
            message = f"a key here has more than {DEEPEST_KEY} parts with points between them"
            place = Span(
                *(len(mark) + len(text[:each].encode()) for each in (deep.start, deep.end))
            )
            advice = "a key has three parts at the most, as in controller.origins.G54"
            raise _fault(name, data, Diagnostic("MIL511", message, place, help=advice))
        try:
            values = tomllib.loads(text)
        except RecursionError as error:
            wrong = Diagnostic("MIL501", "the brackets are nested too deep")
            raise _fault(name, data, wrong) from error
        except ValueError as error:
            if not isinstance(error, tomllib.TOMLDecodeError):  # Python's own words for it
                wrong = Diagnostic("MIL501", "a number has more digits than can be read")
                raise _fault(name, data, wrong) from error
            raise _fault(name, data, _syntax(str(error), text, len(mark))) from error
        return cls(name, data, values, find_places(text), text)

    def root(self) -> Settings:
        """Return the whole file as one table."""
        return Settings(self, (), self.values)

    def report(
        self,
        code: str,
        message: str,
        span: Span | None,
        label: str = "",
        advice: str = "",
    ) -> None:
        """Note a finding; `span` is in characters of the text. Beyond a number none is kept."""
        if self.full:
            return
        self.findings.append(Diagnostic(code, message, self.byte_span(span), label, advice))

    @property
    def full(self) -> bool:
        """Return whether as many findings are kept as are told of one file, an error among them."""
        return len(self.findings) >= MOST_FINDINGS and any(map(is_error, self.findings))

    def byte_span(self, span: Span | None) -> Span | None:
        """Turn characters of the text into bytes of the file."""
        if span is None:
            return None
        mark = len(BYTE_ORDER_MARK) if self.data.startswith(BYTE_ORDER_MARK) else 0
        start = mark + len(self.text[: span.start].encode())
        return Span(start, start + len(self.text[span.start : span.end].encode()))

    def close(self) -> tuple[Diagnostic, ...]:
        """Raise FileFault where errors were found; else give the warnings and notes."""
        found = tuple(sorted(self.findings, key=lambda each: each.span or Span(0, 0)))
        if any(map(is_error, found)):
            raise FileFault(
                f"{self.name} cannot be used", name=self.name, data=self.data, diagnostics=found
            )
        return found


@dataclass
class Settings:
    """One table of the file. Each method takes a key off it; `finish` names what is left over."""

    file: SettingsFile
    path: Path
    values: dict[str, object]
    asked: list[str] = field(default_factory=list)
    faulty: bool = False  # it is no table at all, which is said already
    written: dict[str, str] = field(default_factory=dict)  # old names of keys, by their new ones

    def with_old(self, **names: str) -> Settings:
        """Read keys under their old names too, given by the new ones, each with a note."""
        for key, old in names.items():
            if old not in self.values:
                continue
            place = self.key_place(old)
            if key in self.values:
                message = f"{old} is the old name of {key}, and both are here"
                self.file.report("MIL513", message, place, "", f"keep {key} alone")
                self.values = {at: each for at, each in self.values.items() if at != old}
                continue
            message = f"{old} is now called {key}"
            self.file.report("MIL512", message, place, "", f"write {key}; the value stays the same")
            self.values = {key if at == old else at: each for at, each in self.values.items()}
            self.written[key] = old
        return self

    def has(self, key: str) -> bool:
        """Return whether the key is there."""
        return key in self.values

    def take(self, key: str) -> object:
        """Return a value unchecked, None where the key is not there."""
        self.asked.append(key)
        return self.values.get(key)

    def table(self, key: str) -> Settings:
        """Return a table within this one; an empty one where it is not there."""
        value = self.take(key)
        faulty = value is not None and not isinstance(value, dict)
        if faulty:
            self.wrong_kind(key, "a table", value)
        values = value if isinstance(value, dict) else {}
        return Settings(self.file, (*self.path, key), values, faulty=faulty)

    def number(
        self,
        key: str,
        default: float,
        *,
        least: float = -1e6,
        greatest: float = 1e6,
        above: float | None = None,
        unit: str = "",
    ) -> float:
        """Return a finite number from `least` to `greatest`, above `above` where that is given."""
        value = self.take(key)
        if value is None:
            return default
        found = self.checked(value, (key,), least=least, greatest=greatest, above=above, unit=unit)
        return default if found is None else found

    def checked(
        self,
        value: object,
        keys: Path,
        *,
        least: float = -1e6,
        greatest: float = 1e6,
        above: float | None = None,
        unit: str = "",
    ) -> float | None:
        """Return a value as a number within a range; None, with a finding, where it is not."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.wrong_kind(keys, "a number", value)
            return None
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        low = least if above is None else above
        if math.isfinite(number) and low <= number <= greatest and number != above:
            return number
        bounds = f"{'at least' if above is None else 'more than'} {low:g} and at most {greatest:g}"
        name = _dotted(self.full(*keys))
        self.file.report(
            "MIL504",
            f"{name} is out of range",
            self.place(keys),
            f"must be {bounds} {unit}".rstrip(),
        )
        return None

    def flag(self, key: str, default: bool) -> bool:
        """Return true or false."""
        value = self.take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.wrong_kind(key, "true or false", value)
            return default
        return value

    def word(self, key: str, default: str, allowed: tuple[str, ...]) -> str:
        """Return one of the allowed words."""
        value = self.take(key)
        if value is None:
            return default
        listed = ", ".join(f'"{each}"' for each in allowed)
        if not isinstance(value, str):
            self.wrong_kind(key, f"one of {listed}", value)
        elif value not in allowed:
            close = get_close_matches(value.lower(), allowed, 1)
            advice = f'did you mean "{close[0]}"?' if close else ""
            message = f"{_dotted(self.full(key))} does not take this word"
            self.file.report(
                "MIL505", message, self.place((key,)), f"must be one of {listed}", advice
            )
        else:
            return value
        return default

    def text(self, key: str, default: str) -> str:
        """Return a text."""
        value = self.take(key)
        if value is None:
            return default
        if not isinstance(value, str):
            self.wrong_kind(key, "a text in quotes", value)
            return default
        return value

    def numbers(self, key: str, count: int) -> tuple[float, ...] | None:
        """Return a list of so many numbers; None where the key is missing or the list faulty."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, list) or len(value) != count:
            self.wrong_kind(key, f"a list of {count} numbers", value)
            return None
        found = [self.checked(each, (key, at)) for at, each in enumerate(value)]
        kept = tuple(each for each in found if each is not None)
        return kept if len(kept) == count else None

    def place(self, keys: Path) -> Span | None:
        """Return the place of a value, or of the nearest thing that holds it, in characters."""
        path = self.full(*keys) if keys else self.path
        while path:
            if path in self.file.places.value:
                return self.file.places.value[path]
            path = path[:-1]
        return None

    def key_place(self, key: str) -> Span | None:
        """Return the place of a key, in characters."""
        return self.file.places.key.get(self.full(key), self.place((key,)))

    def full(self, key: str | int, *more: str | int) -> Path:
        """Return the path of a key from the top of the file, as the file has it."""
        return (*self.path, self.written.get(str(key), key), *more)

    def wrong_kind(self, keys: str | Path, wanted: str, value: object) -> None:
        """Note that a value is of the wrong kind."""
        keys = (keys,) if isinstance(keys, str) else keys
        message = f"{_dotted(self.full(*keys))} must be {wanted}"
        self.file.report("MIL503", message, self.place(keys), f"this is {_kind_of(value)}")

    def finish(self) -> None:
        """Note each key that nobody asked for, with the nearest one that is known."""
        asked = set(self.asked)
        for key in self.values:
            if key in asked or self.file.full:
                continue
            close = get_close_matches(key.lower(), self.asked, 1, 0.5)
            known = ", ".join(sorted(set(self.asked)))
            advice = f"did you mean {close[0]}?" if close else f"known here: {known}"
            where = f"[{_dotted(self.path)}]" if self.path else "the file"
            message = f"{where} has no key {key}"
            self.file.report("MIL502", message, self.key_place(key), "not known", advice)


def _fault(name: str, data: bytes, finding: Diagnostic) -> FileFault:
    return FileFault(f"{name} cannot be used", name=name, data=data, diagnostics=(finding,))


def _syntax(said: str, text: str, offset: int) -> Diagnostic:
    """Turn the words of `tomllib` into a finding; its line and column count from 1."""
    match = _PLACE.search(said)
    message = _PLACE.sub("", said).strip() or "not TOML"
    message = message[0].lower() + message[1:]
    if not match:
        return Diagnostic("MIL501", message)
    if match.group(1):
        lines = text.split("\n")
        line, column = int(match.group(1)), int(match.group(2))
        characters = sum(len(each) + 1 for each in lines[: line - 1]) + column - 1
    else:
        characters = len(text.rstrip("\r\n"))
    at = offset + len(text[:characters].encode())
    end = min(at + 1, offset + len(text.encode()))
    return Diagnostic("MIL501", message, Span(at, end), help=_syntax_advice(text, characters))


def _syntax_advice(text: str, at: int) -> str:
    line = text[text.rfind("\n", 0, at) + 1 :].split("\n", 1)[0]
    if re.search(r"=\s*[+-]?\d+,\d", line):
        return "numbers take a point, not a comma: 0.09"
    if re.search(r"=\s*[+-]?\.\d|=\s*[+-]?\d+\.(?!\d)", line):
        return "TOML wants a digit before and behind the point: 0.5, 2.0"
    if re.search(r"=\s*[A-Za-z+-]", line):
        return 'texts stand in quotes: "climb", "+"'
    return ""


def _dotted(path: Path) -> str:
    parts: list[str] = []
    for part in path:
        if isinstance(part, int):
            parts[-1:] = [f"{parts[-1]}[{part + 1}]"]
        else:
            parts.append(part)
    return ".".join(parts)


def _kind_of(value: object) -> str:
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, int | float):
        return "a number"
    if isinstance(value, str):
        return "a text"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table"
    return "a date or time"
