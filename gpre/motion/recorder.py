"""Collects moves, states, events and findings, and makes a Motion of them."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.motion.entry import Stretch
from gpre.motion.events import Event
from gpre.motion.motion import Motion
from gpre.motion.state import State
from gpre.motion.unknown import Lost, unknown_stretches

_FLUSH = 65_536  # moves not yet in columns at most
# a move of the scalar interpreter: start and end of six axes, centre, sweep, feed
_LENGTHS: dict[str, slice | int] = {
    "start": slice(0, 3),
    "end": slice(6, 9),
    "centre": slice(12, 15),
    "sweep": 15,
    "feed": 16,
}
_WIDTH = 17
_MARKS = {
    "kind": np.uint8,
    "plane": np.uint8,
    "role": np.uint8,
    "block": np.int32,
    "state": np.int32,
    "called": np.bool_,
}
Columns = dict[str, NDArray[Any]]
Floats = NDArray[np.float64]
_LARGE = 4096  # moves; fewer take little memory anyhow
_ROOMY = frozenset(("centre", "sweep", "feed"))
_MOSTLY_ZERO = frozenset(("sweep", "role", "called"))


@dataclass
class Recorder:
    """Moves so far: those of the scalar interpreter not yet in columns, and `chunks` of columns.

    lengths: 17 numbers a move, see `_LENGTHS`. marks: 6 a move, see `_MARKS`. widest: the chunk
    with the most moves that has room about it, and how much; see Stretch.
    """

    lengths: array[float] = field(default_factory=lambda: array("d"))
    marks: array[int] = field(default_factory=lambda: array("i"))
    chunks: list[Columns] = field(default_factory=list)
    widest: tuple[int, int] | None = None
    count: int = 0
    states: dict[State, int] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    findings: dict[Diagnostic, None] = field(default_factory=dict)
    lost: list[Lost] = field(default_factory=list)
    last: tuple[State | None, int] = (None, -1)  # the state last asked for, and its row

    def state_row(self, state: State) -> int:
        """Return the row of a state in the table, adding it where it is new."""
        last, row = self.last
        if last is not state:
            row = self.states.setdefault(state, len(self.states))
            self.last = state, row
        return row

    def add(self, lengths: tuple[float, ...], marks: tuple[int, ...]) -> None:
        """Take one move of the scalar interpreter, as `_LENGTHS` and `_MARKS` have it."""
        self.lengths.extend(lengths)
        self.marks.extend(marks)
        self.count += 1
        if len(self.marks) >= _FLUSH * len(_MARKS):
            self._flush()

    def add_stretch(self, stretch: Stretch, *, called: bool) -> None:
        """Take the moves of a run of plain blocks."""
        self.report(stretch.findings)
        size = len(stretch.kind)
        if not size:
            return
        self._flush()
        numbers = [
            self.state_row(state) if (stretch.state == row).any() else 0
            for row, state in enumerate(stretch.states)
        ]
        as_it_is = numbers == list(range(len(numbers)))
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
                "state": stretch.state if as_it_is else np.array(numbers, np.int32)[stretch.state],
                "called": np.ones(size, np.bool_) if called else np.zeros(size, np.bool_),
            }
        )
        self.count += size

    @property
    def nowhere(self) -> bool:
        """Whether no move so far ends at a place that is known on an axis."""
        if not all(np.isnan(chunk["end"]).all() for chunk in self.chunks):
            return False
        ends = (each for at in (6, 7, 8) for each in self.lengths[at::_WIDTH])
        return all(map(math.isnan, ends))

    def note(self, finding: Diagnostic) -> None:
        """Keep a finding; once, if it comes again."""
        self.findings.setdefault(finding)

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
        self.chunks = []
        rotary = columns["rotary"]
        for name in ("start", "end"):
            columns[name].flags.writeable = False  # they may be views of one array
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
            unknown_stretches(columns["start"], columns["end"], columns["block"], self.lost),
        )

    def _flush(self) -> None:
        if self.marks:
            self.chunks.append(_columns(self.lengths, self.marks))
            self.lengths, self.marks = array("d"), array("i")


def _columns(lengths: array[float], marks: array[int]) -> Columns:
    numbers = np.frombuffer(lengths, np.float64).reshape(-1, _WIDTH)
    whole = np.frombuffer(marks, np.intc).reshape(-1, len(_MARKS))
    columns: Columns = {name: numbers[:, where].copy() for name, where in _LENGTHS.items()}
    for at, (name, dtype) in enumerate(_MARKS.items()):
        columns[name] = whole[:, at].astype(dtype)
    columns["rotary"] = np.hstack((numbers[:, 3:6], numbers[:, 9:12]))
    return columns


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
    if widest is None and sum(len(chunk["kind"]) for chunk in chunks) < _LARGE:
        return {name: np.concatenate([chunk[name] for chunk in chunks]) for name in chunks[0]}
    starts = [chunk.pop("start") for chunk in chunks]
    chained = _chained(starts, [chunk["end"] for chunk in chunks])
    joined: Columns = {} if chained else {"start": np.concatenate(starts)}
    first = starts[0][:1].copy()
    starts.clear()
    for name in list(chunks[0]):
        parts = [chunk.pop(name) for chunk in chunks]  # each column goes once it is joined
        at, room = widest or (-1, 0)
        if name == "end":  # a row more stands before its own: see Stretch
            if chained:
                points = _widen([first, *parts], at + 1, room + 1)
                joined["start"], joined["end"] = points[:-1], points[1:]
            else:
                joined[name] = _widen(parts, at, room + 1)
        elif name == "centre" and all(_no_centres(part) for part in parts):
            joined[name] = np.broadcast_to(np.nan, (sum(len(part) for part in parts), 3))
        elif name in _ROOMY and at >= 0:
            joined[name] = _widen(parts, at, room)
        elif name in _MOSTLY_ZERO:
            joined[name] = _join_zeros(parts)
        else:
            joined[name] = np.concatenate(parts)
    return joined


def _chained(starts: list[Floats], ends: list[Floats]) -> bool:
    """Return whether each move starts, to the last bit, where the one before ended."""
    pairs = list(zip(starts, ends, strict=True))
    return all(_same_bits(start[1:], end[:-1]) for start, end in pairs) and all(
        _same_bits(start[:1], end[-1:]) for start, end in zip(starts[1:], ends, strict=False)
    )


def _same_bits(some: Floats, others: Floats) -> bool:
    if some.ctypes.data == others.ctypes.data:  # views of one array
        return True
    return bool(np.array_equal(some.view(np.uint64), others.view(np.uint64)))


def _no_centres(centre: Floats) -> bool:
    """Return whether a column of centres has none; most such are one NaN spread out."""
    return centre.strides[0] == 0 or bool(np.isnan(centre).all())


def _join_zeros(parts: list[NDArray[Any]]) -> NDArray[Any]:
    """Join columns that are mostly zero; rows that are not written to take no memory."""
    result = np.zeros(sum(len(part) for part in parts), parts[0].dtype)
    first = 0
    for part in parts:
        if part.any():
            result[first : first + len(part)] = part
        first += len(part)
    return result


def _widen(parts: list[NDArray[Any]], index: int, room: int) -> NDArray[Any]:
    """Join columns within the array that part `index` is a view of, from its row `room` on."""
    whole = parts[index].base if index >= 0 else None
    before = sum(len(part) for part in parts[:index])
    last = room + len(parts[index])
    after = sum(len(part) for part in parts[index + 1 :])
    if whole is None or whole.ndim == 0 or before > room or last + after > len(whole):
        return np.concatenate(parts)
    if before:
        np.concatenate(parts[:index], out=whole[room - before : room])
    if after:
        np.concatenate(parts[index + 1 :], out=whole[last : last + after])
    result: NDArray[Any] = whole[room - before : last + after]
    return result
