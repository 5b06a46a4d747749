"""What a key of a settings file takes: how its value is checked, and how that is said."""

from __future__ import annotations

import json
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from numbers import Real
from typing import Any

from gpre.settings.table import Settings
from gpre.settings.toml_places import Path

LENGTH = "mm or inch"  # as the file says; held in mm
DEGREES = "degrees"  # held in radians
_ANY = 1e5  # of places, which have no bounds of their own
_CODE = re.compile(r"([A-Z])0*(\d+)(?:\.0*(\d+?)0*)?", re.ASCII)


class Setting(ABC):
    """What a key takes."""

    @property
    @abstractmethod
    def wanted(self) -> str:
        """What it takes, in words, after "must be"."""

    def read(self, table: Settings, key: str) -> Any:  # noqa: ANN401
        """Return the value of a key as gpre holds it; None where it is missing or faulty."""
        value = table.take(key)
        return None if value is None else self.checked(table, (key,), value)

    @abstractmethod
    def checked(self, table: Settings, at: Path, value: object) -> Any:  # noqa: ANN401
        """Return a value as gpre holds it; None, with a finding at its place, if it is faulty."""

    def shown(self, value: object) -> str:
        """Return a value that gpre holds as a file has it; what no file can have, as a text."""
        return in_toml(value)


def in_toml(value: object) -> str:
    """Return a value as TOML has it; what TOML has no place for, as a text."""
    if isinstance(value, bool | str):
        return json.dumps(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Real):
        return repr(float(value))
    if isinstance(value, tuple | list | frozenset | set):
        each = sorted(value, key=str) if isinstance(value, frozenset | set) else value
        return f"[{', '.join(map(in_toml, each))}]"
    return json.dumps(repr(value))


@dataclass(frozen=True)
class Plain(Setting):
    """A value of one type of TOML, taken as it is."""

    type: type
    words: str

    @property
    def wanted(self) -> str:
        """The words for the type."""
        return self.words

    def checked(self, table: Settings, at: Path, value: object) -> Any:  # noqa: ANN401
        """Return the value."""
        if type(value) is self.type:
            return value
        table.wrong_kind(at, self.wanted, value)
        return None


FLAG = Plain(bool, "true or false")
TEXT = Plain(str, "a text in quotes")


@dataclass(frozen=True)
class Amount(Setting):
    """A number of a unit, from `min` to `max`, and more than `above` where that is given.

    whole: without a fraction, held as an integer.
    """

    unit: str = ""
    min: float = -_ANY
    max: float = _ANY
    above: float | None = None
    whole: bool = False

    @property
    def wanted(self) -> str:
        """The range and the unit: `from 0 to 5 mm`."""
        if self.above is None:
            bounds = f"from {self.min:,.10g} to {self.max:,.10g}"
        else:
            bounds = f"more than {self.above:,.10g}, at most {self.max:,.10g}"
        return f"{'a whole number ' * self.whole}{bounds} {self.unit}".rstrip()

    def holds(self, number: float) -> bool:
        """Return whether a number is in range."""
        enough = self.min <= number if self.above is None else self.above < number
        return enough and number <= self.max

    def checked(self, table: Settings, at: Path, value: object) -> float | None:
        """Return a length in mm, an angle in radians, another number as it is."""
        if type(value) is not int and (self.whole or type(value) is not float):
            table.wrong_kind(at, "a whole number" if self.whole else "a number", value)
            return None
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if self.holds(number):
            if self.whole:
                return value
            scale = table.file.scale if self.unit == LENGTH else 1.0
            return math.radians(number) if self.unit == DEGREES else scale * number
        message = f"{table.dotted(at)} is out of range"
        table.report("MIL504", message, at, f"must be {self.wanted}")
        return None

    def shown(self, value: object) -> str:
        """Return a number in its unit; lengths are mm."""
        if self.unit == DEGREES and isinstance(value, int | float):
            value = math.degrees(value)
        return in_toml(value)


@dataclass(frozen=True)
class Amounts(Setting):
    """A list of so many numbers; where they are a range, the lower end comes first."""

    count: int
    item: Amount
    a_range: bool = False

    @property
    def wanted(self) -> str:
        """How many of which unit."""
        return f"{self.count} numbers, {self.item.unit}{', lower one first' * self.a_range}"

    def checked(self, table: Settings, at: Path, value: object) -> tuple[float, ...] | None:
        """Return the numbers, each as `item` has it."""
        if not isinstance(value, list) or len(value) != self.count:
            table.wrong_kind(at, f"a list of {self.count} numbers", value)
            return None
        found = [self.item.checked(table, (*at, place), each) for place, each in enumerate(value)]
        kept = tuple(each for each in found if each is not None)
        if len(kept) != self.count:
            return None
        if self.a_range and kept[0] >= kept[1]:
            message = f"the lower end of {at[-1]} is not below its upper end"
            table.report("MIL507", message, at, "lower end first")
            return None
        return kept


@dataclass(frozen=True)
class Choice(Setting):
    """One of a few words, and what gpre holds for each."""

    values: Mapping[str, Any]

    @classmethod
    def of(cls, *words: str) -> Choice:
        """Return words that stand for themselves."""
        return cls({each: each for each in words})

    @property
    def wanted(self) -> str:
        """The words."""
        return "one of " + ", ".join(f'"{each}"' for each in self.values)

    def checked(self, table: Settings, at: Path, value: object) -> Any:  # noqa: ANN401
        """Return what is held for the word."""
        if not isinstance(value, str):
            table.wrong_kind(at, self.wanted, value)
            return None
        if value in self.values:
            return self.values[value]
        close = get_close_matches(value.lower(), self.values, 1)
        advice = f'did you mean "{close[0]}"?' if close else ""
        message = f"{table.dotted(at)} does not take this word"
        table.report("MIL505", message, at, f"must be {self.wanted}", advice)
        return None

    def shown(self, value: object) -> str:
        """Return the word for what is held."""
        words = (word for word, held in self.values.items() if held == value)
        return json.dumps(next(words, repr(value)))


class CodeList(Setting):
    """A list of words of a program, each held in one spelling: `m08` is `M8`."""

    wanted = 'a list of words like ["G5.1", "M97"]'

    def checked(self, table: Settings, at: Path, value: object) -> frozenset[str] | None:
        """Return the words that can be read."""
        if not isinstance(value, list):
            table.wrong_kind(at, self.wanted, value)
            return None
        found: set[str] = set()
        for place, each in enumerate(value):
            match = _CODE.fullmatch(each.strip().upper()) if isinstance(each, str) else None
            if match is None:
                table.wrong_kind((*at, place), 'a word like "G5.1" or "M97"', each)
            else:
                letter, whole, part = match.groups()
                found.add(f"{letter}{whole}{f'.{part}' if part else ''}")
        return frozenset(found)
