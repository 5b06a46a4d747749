"""Collects moves, states, events and findings, and makes a Motion of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.motion.entry import Stretch
from gpre.motion.events import Event
from gpre.motion.motion import Kind, Motion, Role
from gpre.motion.state import State

_FLUSH = 65_536  # rows kept as objects at most
Columns = dict[str, NDArray[np.generic]]
_ROOMY = frozenset(("start", "end", "centre", "sweep", "feed"))


@dataclass(slots=True)
class Row:
    """One move before it goes into the columns; start and end have six numbers."""

    kind: Kind
    start: tuple[float, ...]
    end: tuple[float, ...]
    centre: tuple[float, float, float]
    sweep: float
    plane: int
    feed: float
    role: Role
    block: int
    state: int
    called: bool


@dataclass
class Recorder:
    """Moves so far: `rows` of the scalar interpreter not yet in columns, `chunks` of columns.

    widest: the chunk with the most moves that has room about it, and how much; see Stretch.
    """

    rows: list[Row] = field(default_factory=list)
    chunks: list[Columns] = field(default_factory=list)
    widest: tuple[int, int] | None = None
    count: int = 0
    states: dict[State, int] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    findings: dict[Diagnostic, None] = field(default_factory=dict)

    def state_row(self, state: State) -> int:
        """Give the row of a state in the table, adding it where it is new."""
        return self.states.setdefault(state, len(self.states))

    def add(self, row: Row) -> None:
        """Take one move of the scalar interpreter."""
        self.rows.append(row)
        self.count += 1
        if len(self.rows) >= _FLUSH:
            self._flush()

    def add_stretch(self, stretch: Stretch, *, called: bool) -> None:
        """Take the moves of a run of plain blocks."""
        self.report(stretch.findings)
        size = len(stretch.kind)
        if not size:
            return
        self._flush()
        used = np.bincount(stretch.state, minlength=len(stretch.states)) > 0
        pairs = zip(stretch.states, used.tolist(), strict=True)
        numbers = [self.state_row(state) if needed else 0 for state, needed in pairs]
        rows = np.array(numbers, np.int32)
        rotary = np.array((*stretch.exit.rotary, *stretch.exit.rotary))
        if stretch.room and (
            self.widest is None or size > len(self.chunks[self.widest[0]]["kind"])
        ):
            self.widest = len(self.chunks), stretch.room
        self.chunks.append(
            {
                "kind": stretch.kind,
                "start": stretch.start,
                "end": stretch.end,
                "rotary": np.broadcast_to(rotary, (size, 6)),
                "centre": stretch.centre,
                "sweep": stretch.sweep,
                "plane": stretch.plane,
                "feed": stretch.feed,
                "role": np.zeros(size, np.uint8),
                "block": stretch.block,
                "state": rows[stretch.state],
                "called": np.full(size, called),
            }
        )
        self.count += size

    def report(self, findings: Iterable[Diagnostic]) -> None:
        """Keep findings in order, each once."""
        self.findings.update(dict.fromkeys(findings))

    def motion(self, *, rotary_used: bool, followed_to: int, walked: NDArray[np.int32]) -> Motion:
        """Make the record of it all."""
        self._flush()
        if not rotary_used:  # most programs have none: do not copy it
            for chunk in self.chunks:
                chunk["rotary"] = np.zeros((0, 6))
        columns = _join(self.chunks, self.widest) if len(self.chunks) != 1 else self.chunks[0]
        rotary = columns["rotary"]
        return Motion(
            columns["kind"].astype(np.uint8, copy=False),
            columns["start"].astype(np.float64, copy=False),
            columns["end"].astype(np.float64, copy=False),
            rotary.astype(np.float64, copy=False),
            columns["centre"].astype(np.float64, copy=False),
            columns["sweep"].astype(np.float64, copy=False),
            columns["plane"].astype(np.uint8, copy=False),
            columns["feed"].astype(np.float64, copy=False),
            columns["role"].astype(np.uint8, copy=False),
            columns["block"].astype(np.int32, copy=False),
            columns["state"].astype(np.int32, copy=False),
            columns["called"].astype(np.bool_, copy=False),
            tuple(self.states),
            tuple(self.events),
            tuple(self.findings),
            followed_to,
            walked,
        )

    def _flush(self) -> None:
        if self.rows:
            self.chunks.append(_columns(self.rows))
            self.rows = []


def _columns(rows: list[Row]) -> Columns:
    start = np.array([row.start for row in rows], np.float64)
    end = np.array([row.end for row in rows], np.float64)
    return {
        "kind": np.array([row.kind for row in rows], np.uint8),
        "start": np.ascontiguousarray(start[:, :3]),
        "end": np.ascontiguousarray(end[:, :3]),
        "rotary": np.hstack((start[:, 3:], end[:, 3:])),
        "centre": np.array([row.centre for row in rows], np.float64),
        "sweep": np.array([row.sweep for row in rows], np.float64),
        "plane": np.array([row.plane for row in rows], np.uint8),
        "feed": np.array([row.feed for row in rows], np.float64),
        "role": np.array([row.role for row in rows], np.uint8),
        "block": np.array([row.block for row in rows], np.int32),
        "state": np.array([row.state for row in rows], np.int32),
        "called": np.array([row.called for row in rows], np.bool_),
    }


def _join(chunks: list[Columns], widest: tuple[int, int] | None) -> Columns:
    if not chunks:
        empty = np.zeros((0, 6))
        result: Columns = {
            "rotary": empty,
            **dict.fromkeys(("start", "end", "centre"), np.zeros((0, 3))),
        }
        for name in ("kind", "sweep", "plane", "feed", "role", "block", "state", "called"):
            result[name] = np.zeros(0)
        return result
    columns = {name: [chunk[name] for chunk in chunks] for name in chunks[0]}
    return {
        name: _widen(parts, *widest)
        if widest is not None and name in _ROOMY
        else np.concatenate(parts)
        for name, parts in columns.items()
    }


def _widen(parts: list[NDArray[np.generic]], index: int, room: int) -> NDArray[np.generic]:
    """Join columns within the array of part `index`, which has `room` free rows at both ends."""
    before = sum(len(part) for part in parts[:index])
    after = sum(len(part) for part in parts[index + 1 :])
    whole = parts[index].base
    if whole is None or before > room or after > room:
        return np.concatenate(parts)
    last = room + len(parts[index])
    if before:
        np.concatenate(parts[:index], out=whole[room - before : room])
    if after:
        np.concatenate(parts[index + 1 :], out=whole[last : last + after])
    return whole[room - before : last + after]
