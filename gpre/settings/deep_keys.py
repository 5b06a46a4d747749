"""Finds keys of very many parts in a TOML text: reading one takes the square of their number.

The look comes before the text is read, so it must do with any text, in one go.
"""

from __future__ import annotations

import re

from gpre.diagnostics.diagnostic import Span

DEEPEST_KEY = 16  # parts; no key of a profile or a job file has more than three
# strings and comments may hold anything; a string counts as a part, a comment as none
_STRING = (
    r'"""(?:[^"\\]|\\.|"(?!""))*+"{3,5}'
    r"|'''(?:[^']|'(?!''))*+'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*+"'
    r"|'[^'\n]*+'"
)
_HIDDEN = re.compile(rf"(?P<string>{_STRING})|#[^\n]*+", re.DOTALL)
_DEEP = re.compile(rf"(?:\.[ \t]*+[\w-]++[ \t]*+){{{DEEPEST_KEY}}}", re.ASCII)
_PART, _NONE = "s", " "


def find_deep_key(text: str) -> Span | None:
    """Return the place, in characters, where a key has too many parts; None where none has."""
    if text.count(".") < DEEPEST_KEY:
        return None
    found = _DEEP.search(_HIDDEN.sub(_blanked, text))
    return Span(found.start(), found.end()) if found else None


def _blanked(match: re.Match[str]) -> str:
    """Return something of the same length that no key can be read out of."""
    return (_PART if match["string"] else _NONE) * len(match.group())
