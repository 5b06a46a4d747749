"""One table of a settings file, with the places of its keys and values."""

from __future__ import annotations

from dataclasses import dataclass, field
from difflib import get_close_matches

from gpre.diagnostics.diagnostic import Span
from gpre.settings.toml_file import SettingsFile
from gpre.settings.toml_places import Path


@dataclass
class Settings:
    """A table: what nobody takes off it by name is a fault, which `finish` reports.

    path: the keys that lead to it. known: the keys asked for. written: the old names of keys that
    the file has, by their new ones.
    """

    file: SettingsFile
    path: Path
    values: dict[str, object]
    known: list[str] = field(default_factory=list)
    written: dict[str, str] = field(default_factory=dict)

    @classmethod
    def root(cls, file: SettingsFile) -> Settings:
        """Return the whole file as one table."""
        return cls(file, (), file.values)

    def take(self, key: str) -> object:
        """Return a value unchecked, None where the key is not there."""
        self.known.append(key)
        return self.values.get(key)

    def inner(self, at: Path, value: object) -> Settings | None:
        """Return a value as a table within this one; None, with a finding, where it is none."""
        if isinstance(value, dict):
            return Settings(self.file, self.full(at), value)
        self.wrong_kind(at, "a table", value)
        return None

    def rename(self, old: str, key: str) -> None:
        """Read a key under its old name too, with one note a file; both names are a fault."""
        if old not in self.values:
            return
        values = dict(self.values)
        value = values.pop(old)
        if key in values:
            message = f"{old} is the old name of {key}, and both are here"
            self.report_key("MIL513", message, old, f"keep {key}, and take this one out")
        else:
            values[key] = value
            self.written[key] = old
            if old not in self.file.renamed:
                self.file.renamed.add(old)
                advice = f"write {key} wherever it stands; the value stays the same"
                self.report_key("MIL512", f"{old} is now called {key}", old, advice)
        self.values = values

    def full(self, at: Path) -> Path:
        """Return the path of a place in this table from the top of the file, as it is written."""
        return (*self.path, *(self.written.get(str(each), each) for each in at[:1]), *at[1:])

    def place(self, at: Path) -> Span | None:
        """Return the place of a value, or of the nearest thing that holds it, in characters."""
        path = self.full(at)
        while path and path not in self.file.places.value:
            path = path[:-1]
        return self.file.places.value.get(path)

    def report(self, code: str, message: str, at: Path, label: str = "", advice: str = "") -> None:
        """Note a finding at a value."""
        self.file.report(code, message, self.place(at), label, advice)

    def report_key(self, code: str, message: str, key: str, advice: str, label: str = "") -> None:
        """Note a finding at a key itself."""
        place = self.file.places.key.get(self.full((key,)), self.place((key,)))
        self.file.report(code, message, place, label, advice)

    def wrong_kind(self, at: Path, wanted: str, value: object) -> None:
        """Note that a value is of the wrong kind."""
        message = f"{self.dotted(at)} must be {wanted}"
        self.report("MIL503", message, at, f"this is {_kind_of(value)}")

    def dotted(self, at: Path = ()) -> str:
        """Return the name of a place from the top of the file: controller.origins.G54[2]."""
        parts = (f"[{each + 1}]" if isinstance(each, int) else f".{each}" for each in self.full(at))
        return "".join(parts).removeprefix(".")

    def finish(self) -> None:
        """Note each key that nobody asked for, with the nearest one that is known."""
        known = set(self.known)
        for key in self.values:
            if key in known or self.file.full:
                continue
            close = get_close_matches(key.lower(), self.known, 1, 0.5)
            listed = ", ".join(sorted(known))
            advice = f"did you mean {close[0]}?" if close else f"known here: {listed}"
            where = f"[{self.dotted()}]" if self.path else "the file"
            self.report_key("MIL502", f"{where} has no key {key}", key, advice, "not known")


def _kind_of(value: object) -> str:
    kinds = {bool: "true or false", int: "a number", float: "a number", str: "a text"}
    kinds |= {list: f"a list of {len(value)}" if isinstance(value, list) else "", dict: "a table"}
    return kinds.get(type(value), "a date or time")
