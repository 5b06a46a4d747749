"""Reads fixture files of pairs: two programs, and what the proof says of them.

Markers are lines that no program can hold::

    ==== mill                 TOML of a profile, with origins (before the first pair: for all)
    ==== job                  TOML of a job file with tools and stock, likewise
    ==== before               the first program; before the first pair: of all that have none
    ==== pair: a name         each pair may have a mill, a job and a first program of its own
    ==== known: nothing, all  in which states of knowledge; left out: in all that the file allows
    ==== after                the second program in full, or
    ==== edit                 what was changed in the first one, see `edited`
    ==== proved: yes          or `no`; the pair's verdict in each of its states of knowledge
    ==== says                 lines that the proof must say, see `Said`
    ==== says: tools, all     likewise, in these states only

The states of knowledge: `nothing`, no profile and no job file; `origins`, the profile alone;
`tools`, the job file alone; `all`, both. A line that starts with # after `==== pair` and before
the next marker says why, and is left out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path

from marked_sections import read_sections

STATES = ("nothing", "origins", "tools", "all")
_KINDS = "mill|job|before|pair|known|after|edit|proved|says"
_SAID = re.compile(
    r"^(?P<verdict>ok|differs|FAIL|--) +(?P<name>[^:@]+?)"
    r"(?: @ (?P<before>\d+|-) (?P<after>\d+|-))?: (?P<phrase>.+)$"
)


@dataclass(frozen=True)
class Said:
    """A line of the proof: `VERDICT NAME: PHRASE` or `VERDICT NAME @ BEFORE AFTER: PHRASE`.

    verdict: ok, differs, FAIL or --. name: of the obligation. before, after: its lines in the two
    programs, `-` for none; None: not looked at. phrase: its figure holds it.
    """

    verdict: str
    name: str
    before: str | None
    after: str | None
    phrase: str


@dataclass(frozen=True)
class PairCase:
    """One pair. says: for each line the states in which it must be said."""

    name: str
    mill: str = ""
    job: str = ""
    before: str = ""
    after: str = ""
    known: tuple[str, ...] = STATES
    proved: bool = False
    says: tuple[tuple[Said, tuple[str, ...]], ...] = ()


@dataclass
class _Draft:
    title: str
    parts: dict[str, str] = field(default_factory=dict)
    says: list[tuple[Said, tuple[str, ...]]] = field(default_factory=list)


def read_pair_file(path: Path) -> list[PairCase]:
    """Read a file of pairs; raises ValueError, with the place, where it is not one."""
    shared = _Draft("")
    drafts: list[_Draft] = []
    for number, kind, title, body in read_sections(path, _KINDS, remarks="pair"):
        here = drafts[-1] if drafts else shared
        try:
            if kind == "pair":
                drafts.append(_Draft(title))
            elif kind == "says":
                here.says += [(_said(line), _states(title)) for line in body.splitlines() if line]
            else:
                _need(kind not in here.parts, f"a second {kind}")
                here.parts[kind] = title if kind in {"known", "proved"} else body
        except ValueError as error:
            raise ValueError(f"{path.name}:{number}: {error}") from error
    return [_pair(path, draft, shared) for draft in drafts]


def _pair(path: Path, draft: _Draft, shared: _Draft) -> PairCase:
    parts = {**shared.parts, **draft.parts}
    try:
        _need(("after" in parts) != ("edit" in parts), "needs one of after and edit")
        _need(parts.get("proved") in {"yes", "no"}, "proved is yes or no")
        before = parts["before"]
        after = parts["after"] if "after" in parts else edited(before, parts["edit"])
        _need(after != before, "both programs are the same")
        known = tuple(
            state
            for state in _states(parts.get("known"))
            if ("mill" in parts or state in {"nothing", "tools"})
            and ("job" in parts or state in {"nothing", "origins"})
        )
        _need(bool(known), "no state of knowledge is left")
    except (KeyError, ValueError) as error:
        raise ValueError(f"{path.name}: {draft.title}: {error}") from error
    case = PairCase(draft.title, parts.get("mill", ""), parts.get("job", ""), before, after)
    return replace(
        case, known=known, proved=parts["proved"] == "yes", says=(*shared.says, *draft.says)
    )


def _need(holds: bool, what: str) -> None:
    if not holds:
        raise ValueError(what)


def edited(before: str, edit: str) -> str:
    """Return a program with changes made to it.

    Each line of `edit` starts with a blank (it stays), - (it goes) or + (it is new); a line `...`
    stands between two changes. The lines that stay and go must stand in the program together, at
    one place only behind the change before. Raises ValueError where they do not.
    """
    lines = before.splitlines()
    result: list[str] = []
    for change in re.split(r"^\.\.\.\n", edit, flags=re.MULTILINE):
        rows = change.splitlines()
        if any(row[:1] not in {" ", "-", "+"} for row in rows):
            raise ValueError(f"no change: {change!r}")
        old = [row[1:] for row in rows if row[0] != "+"]
        places = [at for at in range(len(lines)) if lines[at : at + len(old)] == old]
        if len(places) != 1 or not old:
            raise ValueError(f"stands at {len(places)} places: {old}")
        result += lines[: places[0]]
        result += [row[1:] for row in rows if row[0] != "-"]
        lines = lines[places[0] + len(old) :]
    return "".join(f"{line}\n" for line in (*result, *lines))


def _states(title: str | None) -> tuple[str, ...]:
    named = tuple(each.strip() for each in title.split(",")) if title else STATES
    if unknown := set(named) - set(STATES):
        raise ValueError(f"no state of knowledge: {sorted(unknown)}")
    return named


def _said(line: str) -> Said:
    found = _SAID.match(line)
    if not found:
        raise ValueError(f"not understood: {line}")
    return Said(found["verdict"], found["name"], found["before"], found["after"], found["phrase"])
