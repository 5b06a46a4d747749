"""A settings file: its bytes, its values with their places, and what is wrong with it.

All faults of a file are gathered, so that its owner can put them right in one go.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field

from gpre.diagnostics.codes import is_error
from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.diagnostics.faults import FileFault
from gpre.settings.deep_keys import DEEPEST_KEY, find_deep_key
from gpre.settings.toml_places import Places, find_places
from gpre.source.files import read_bytes, shown_name

GREATEST_SIZE = 200_000  # bytes; a profile is a page of text
MOST_FINDINGS = 100  # told of one file
_PLACE = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)")


@dataclass
class SettingsFile:
    """A file's bytes, its text and values, what is wrong with them, and old names that it has.

    scale: millimetres in the unit of length that the file has chosen, where it may choose one.
    """

    name: str
    data: bytes
    text: str = ""
    values: dict[str, object] = field(default_factory=dict)
    places: Places = field(default_factory=Places)
    scale: float = 1.0
    findings: list[Diagnostic] = field(default_factory=list)
    renamed: set[str] = field(default_factory=set)

    @classmethod
    def read(cls, name: str) -> SettingsFile:
        """Read a file; raise FileFault where it cannot be read or is not TOML."""
        return cls.of(read_bytes(name, GREATEST_SIZE), shown_name(name))

    @classmethod
    def of(cls, data: bytes, name: str) -> SettingsFile:
        """Read the bytes of a file; raise FileFault where they are not TOML."""
        if len(data) > GREATEST_SIZE:
            file = cls(name, b"")
            message = f"{len(data):,} bytes are no profile and no job file"
            file.report("MIL501", message, advice="name the file itself")
        else:
            file = cls(name, data)
            file._parse()
        file.close()
        return file

    def _parse(self) -> None:
        try:
            self.text = self.data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            at = len(self.data) - len(error.object) + error.start  # a byte order mark is taken off
            message, advice = "this byte is not UTF-8", "save the file as UTF-8"
            self.findings.append(Diagnostic("MIL501", message, Span(at, at + 1), help=advice))
            return
        deep = find_deep_key(self.text)
        if deep is not None:
            message = f"a key here has more than {DEEPEST_KEY} parts with points between them"
            advice = "a key has three parts at the most, as in controller.origins.G54"
            self.report("MIL511", message, deep, advice=advice)
            return
        try:
            self.values = tomllib.loads(self.text)
        except RecursionError:
            self.report("MIL501", "the brackets are nested too deep")
        except tomllib.TOMLDecodeError as error:
            self._report_syntax(str(error))
        except ValueError:  # Python's own limit
            self.report("MIL501", "a number has more digits than can be read")
        else:
            self.places = find_places(self.text)

    def report(
        self,
        code: str,
        message: str,
        span: Span | None = None,
        label: str = "",
        advice: str = "",
    ) -> None:
        """Note a finding; `span` is in characters of the text. Beyond a number none is kept."""
        if not self.full:
            self.findings.append(Diagnostic(code, message, self._in_bytes(span), label, advice))

    @property
    def full(self) -> bool:
        """Return whether as many findings are kept as are told of one file, an error among them."""
        return len(self.findings) >= MOST_FINDINGS and any(map(is_error, self.findings))

    def close(self) -> tuple[Diagnostic, ...]:
        """Return the warnings and notes; raise FileFault where errors were found."""
        found = tuple(sorted(self.findings, key=lambda each: each.span or Span(0, 0)))
        if any(map(is_error, found)):
            raise FileFault(
                f"{self.name} cannot be used", name=self.name, data=self.data, diagnostics=found
            )
        return found

    def _in_bytes(self, span: Span | None) -> Span | None:
        """Turn characters of the text into bytes; counted from the end, before which is no mark."""
        if span is None:
            return None
        start, end = (len(self.data) - len(self.text[at:].encode()) for at in span)
        return Span(start, end)

    def _report_syntax(self, said: str) -> None:
        """Note a finding in the words of `tomllib`; its line and column count from 1."""
        match = _PLACE.search(said)
        message = _PLACE.sub("", said).strip() or "not TOML"
        message = message[0].lower() + message[1:]
        at = len(self.text.rstrip("\r\n"))
        if match and match.group(1):
            lines = self.text.split("\n")[: int(match.group(1)) - 1]
            at = sum(len(each) + 1 for each in lines) + int(match.group(2)) - 1
        span = Span(at, min(at + 1, len(self.text)))
        self.report("MIL501", message, span, advice=_syntax_advice(self.text, at))


def _syntax_advice(text: str, at: int) -> str:
    line = text[text.rfind("\n", 0, at) + 1 :].split("\n", 1)[0]
    if re.search(r"=\s*[+-]?\d+,\d", line):
        return "numbers take a point, not a comma: 0.09"
    if re.search(r"=\s*[+-]?\.\d|=\s*[+-]?\d+\.(?!\d)", line):
        return "TOML wants a digit before and after the point: 0.5, 2.0"
    if re.search(r"=\s*[A-Za-z+-]", line):
        return 'texts stand in quotes: "climb", "+"'
    return ""
