"""What comes after the last cut: a higher retract, or the way home by G53 or G28.

The tool goes straight up first, and along X or Y only when it is clear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gpre.driver.harmless.edits import HarmlessEdit
from gpre.driver.harmless.home import G28, G53, is_home, not_up, takes_z, words_of
from gpre.driver.harmless.kinds import OTHER, Group, HarmlessKind
from gpre.driver.harmless.runs import ProgramRun, ProgramRuns
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import Event, EventKind
from gpre.motion.motion import Kind
from gpre.motion.order import run_order
from gpre.program.items import Pairs

_CODES = frozenset(("G", code) for code in (0.0, 28.0, 53.0, 80.0, 90.0, 91.0))
_LATER = frozenset(
    (
        EventKind.SPINDLE, EventKind.COOLANT, EventKind.MESSAGE, EventKind.MODE, EventKind.STOP,
        EventKind.END, EventKind.HOME, EventKind.DWELL, EventKind.OFFSET,
    )
)  # fmt: skip
_MOST = 12  # edits after the last cut that are tried together


def _fits(edit: HarmlessEdit) -> bool:
    moved = any(word[0] in "XYZ" for block in (*edit.old, *edit.new) for word in block)
    changed = [*edit.lost, *edit.added]
    return moved and all(word in _CODES or word[0] in "XYZ" for word in changed)


def _groups(edits: Sequence[HarmlessEdit]) -> list[Group]:
    """Take the last edits of the program together, as many as could be such a way out; then fewer.

    One that moves in another way ends the search.
    """
    tail: list[HarmlessEdit] = []
    for edit in reversed(edits):
        if edit.plain and _fits(edit):
            tail.insert(0, edit)
        elif any(word[0] in "XYZIJKRF" for word in (*edit.lost, *edit.added)):
            break
    return [tuple(tail[at:]) for at in range(len(tail))][-_MOST:]


def _homes(group: Group) -> bool:
    return bool({G28, G53} & (_codes(group, new=False) | _codes(group, new=True)))


def _codes(group: Group, *, new: bool) -> set[tuple[str, float]]:
    """Return the words that some edits have, or had."""
    blocks = (block for edit in group for block in (edit.new if new else edit.old))
    return {word for block in blocks for word in block}


def refused(runs: ProgramRuns) -> str:
    """Return why another way out is not harmless, or ""."""
    lasts = [int(np.flatnonzero(run.cuts)[-1]) if run.cuts.any() else -1 for run in _both(runs)]
    last = lasts[0]
    rows = np.arange(last + 1)
    if last < 0 or lasts[1] != last:
        return OTHER
    if not runs.same_rows(rows).all() or runs.states_differ(rows).any():
        return OTHER
    for side, run in enumerate(_both(runs)):
        if not all(_behind(run, last, place[side]) for place in runs.places):
            return OTHER
    return _Way(runs, last).refused()


def _both(runs: ProgramRuns) -> tuple[ProgramRun, ProgramRun]:
    return runs.was, runs.now


def _behind(run: ProgramRun, last: int, place: tuple[int, int]) -> bool:
    """Return whether blocks run once, after the last cut."""
    order = run_order(len(run.side.program), run.motion)
    blocks = np.arange(*place)
    if not len(blocks):
        return place[0] >= len(order.first) or bool(order.first[place[0]] > order.of_row[last])
    return bool(
        (order.runs[blocks] == 1).all() and (order.first[blocks] > order.of_row[last]).all()
    )


@dataclass(frozen=True)
class _Way:
    """The moves of `now` after the last cut, from row `last` + 1 on."""

    runs: ProgramRuns
    last: int

    def refused(self) -> str:
        """Return what is wrong with them, or ""."""
        motion = self.runs.now.motion
        if len(motion) == self.last + 1:
            return "the tool stays where the last cut ends"
        offsets = [event.move for event in motion.events if event.kind is EventKind.OFFSET]
        offset = min((move for move in offsets if move > self.last), default=len(motion))
        lifted, homed = bool(self.runs.now.ends_clear[1][self.last]), False
        clear = [lifted]
        for row in range(self.last + 1, len(motion)):
            words = words_of(self.runs.now, row)
            home = is_home(self.runs.now, row, words)
            if why := self._wrong(row, words, lifted=lifted, homed=homed):
                return why
            if row >= offset and not home and not self._stands(row):
                return "an offset is changed before it"
            if home and takes_z(self.runs.now, words):
                homed = True
            lifted = lifted or homed or bool(self.runs.now.ends_clear[1][row])
            clear.append(lifted)
        if not lifted:
            return "the tool is not lifted clear of the metal"
        return self._lower(homed=homed) or self._other_events(clear)

    def _wrong(self, row: int, words: Pairs, *, lifted: bool, homed: bool) -> str:
        """Return what is wrong with one move, or ""."""
        motion = self.runs.now.motion
        start, end = motion.start[row], motion.end[row]
        home = is_home(self.runs.now, row, words)
        aside = not np.array_equal(start[:2], end[:2], equal_nan=True)
        if aside and not lifted:
            return "X or Y moves before the tool is lifted clear"
        if aside and not homed and not self._travelled(row):
            return "X or Y moves lower than the original travels along X and Y"
        if home:
            return self._wrong_home(row, words)
        if self._stands(row):
            return ""
        if np.isnan(end[2]):
            return "" if homed else "it goes to a height that is not known"
        if lifted and not self.runs.now.ends_clear[1][row]:
            return "Z comes down again, to where it is not clear"
        if not lifted and end[2] < start[2] - RESOLUTION:
            return "Z goes down before the tool is lifted clear"
        return self._out_of_travel(row)

    def _wrong_home(self, row: int, words: Pairs) -> str:
        """Return what is wrong with a move home, or ""."""
        state = self.runs.now.motion.state_of(row)
        if G53 in words and state.distance == 91:
            return "controllers read G53 in G91 differently"
        return not_up(self.runs.now, row, words) or self._beyond(words, state.scale)

    def _stands(self, row: int) -> bool:
        """Return whether a straight move goes nowhere, as the first one of G91 G28 Z0."""
        motion = self.runs.now.motion
        same = np.array_equal(motion.start[row], motion.end[row], equal_nan=True)
        return bool(same and motion.kind[row] != Kind.ARC)

    def _beyond(self, words: Pairs, scale: float) -> str:
        """Return which axis G53 takes out of the travel of the profile, or ""; scale: mm a unit."""
        for letter, value in words if G53 in words else ():
            if letter in "XYZ":
                travel = self.runs.mill.axes["XYZ".index(letter)].travel
                if travel and not travel[0] - RESOLUTION <= value * scale <= travel[1] + RESOLUTION:
                    return f"{letter} runs out of the travel of the profile"
        return ""

    def _travelled(self, row: int) -> bool:
        """Return whether the program goes there without the edit, or as high along X and Y."""
        old, new = self.runs.was.motion, self.runs.now.motion
        low = np.fmin(new.start[row, 2], new.end[row, 2])
        tail = old.end[self.last :]
        there = np.abs(tail[:, :2] - new.end[row, :2]).max(axis=1) <= RESOLUTION
        if (low >= tail[there, 2] - RESOLUTION).any():
            return True
        if _goes_home(self.runs.was, self.last):
            return False  # it goes there higher
        mine = self.runs.was.side.setup == self.runs.was.side.setup[self.last]
        sideways = np.hypot(*(old.end - old.start)[:, :2].T) > RESOLUTION
        rows = mine & sideways & ~old.at_feed & self.runs.was.clear
        levels = np.minimum(old.start[rows, 2], old.end[rows, 2])
        return bool(len(levels) and low >= levels.max() - RESOLUTION)

    def _out_of_travel(self, row: int) -> str:
        """Return which axis leaves the travel of the profile, where both are known, or ""."""
        mill, motion = self.runs.mill, self.runs.now.motion
        state = int(motion.state[row])
        place = motion.end[row] + motion.origins[state]
        for axis, name in enumerate("XYZ"):
            travel = mill.axes[axis].travel
            if travel is None or not (motion.placed[state, axis] and np.isfinite(place[axis])):
                continue
            over = max(travel[0] - place[axis], place[axis] - travel[1])
            if over > RESOLUTION:
                return f"{name} runs {over:.3f} mm out of the travel of the profile"
        return ""

    def _lower(self, *, homed: bool) -> str:
        if homed:
            return ""
        if _goes_home(self.runs.was, self.last):
            return "the tool no longer goes home in Z"
        was, now = _retracts(self.runs)
        if now > was + RESOLUTION:
            return ""
        if now >= was - RESOLUTION:
            return OTHER  # no higher: the proof judges such moves itself
        heights = (self.runs.was.shown(self.last, each) for each in (now, was))
        return f"it is lower: {', not '.join(heights)}"

    def _other_events(self, clear: list[bool]) -> str:
        """Return what differs besides the way out. clear: after each move from `last` on."""
        old, new = (
            [event for event in run.motion.events if event.kind is not EventKind.HOME]
            for run in _both(self.runs)
        )
        if [self._key(event) for event in old] != [self._key(event) for event in new]:
            return "more than the way out has changed"
        for one, other in zip(old, new, strict=True):
            if other.move <= self.last:
                continue
            if other.kind not in _LATER:
                return f"the {other.kind.value} {other.value} comes after the last cut, too"
            places = (
                self.runs.was.motion.end[one.move - 1],
                self.runs.now.motion.end[other.move - 1],
            )
            same = np.allclose(*places, rtol=0.0, atol=RESOLUTION, equal_nan=True)
            if not same and not clear[other.move - 1 - self.last]:
                return f"{other.value} comes while the tool is not clear of the metal"
        return ""

    def _key(self, event: Event) -> tuple[str, str, int]:
        return event.kind.value, event.value, min(event.move, self.last + 1)


def _retracts(runs: ProgramRuns) -> tuple[float, float]:
    """Return the greatest heights that both reach after the last cut, mm."""
    result = []
    for run in _both(runs):
        last = int(np.flatnonzero(run.cuts)[-1])
        z = run.motion.end[last:, 2]
        result.append(float(z[np.isfinite(z)].max(initial=-np.inf)))
    return result[0], result[1]


def _goes_home(run: ProgramRun, last: int) -> bool:
    """Return whether G28 or G53 takes Z home after the last cut."""
    rows = ((row, words_of(run, row)) for row in range(last + 1, len(run.motion)))
    return any(is_home(run, row, words) and takes_z(run, words) for row, words in rows)


def _figure_home(runs: ProgramRuns, group: Group, at: int) -> str:
    del runs, at
    old, new = (_codes(group, new=each) for each in (False, True))
    by = [name for code, name in ((G28, "G28"), (G53, "G53")) if code in (new & {G28, G53} or old)]
    what = "goes home by" if new & {G28, G53} else "no longer goes home by"
    return (
        f"the tool {what} {' and '.join(by)} after the last cut, clear in Z before it moves "
        "along X or Y"
    )


def _figure_retract(runs: ProgramRuns, group: Group, at: int) -> str:
    del group, at
    last = int(np.flatnonzero(runs.was.cuts)[-1])
    heights = _retracts(runs)
    was, now = (runs.was.shown(last, height) for height in heights)
    if was == now:
        return "after the last cut X or Y go elsewhere, and the tool is clear in Z before they do"
    return f"after the last cut the tool goes up to {now}, not {was}, straight up first"


LAST_RETRACT = HarmlessKind(
    "last retract",
    lambda edits: [group for group in _groups(edits) if not _homes(group)],
    refused,
    _figure_retract,
)
HOME = HarmlessKind(
    "move home",
    lambda edits: [group for group in _groups(edits) if _homes(group)],
    refused,
    _figure_home,
)
