"""Judges a rewritten text by the second reading alone; it shares no code with gpre.

What a rewrite may do goes by its name: `approach` adds rapids and nothing else, `straighten` bends
cuts by no more than the tolerance, `take-up` is judged by the table of a mill with backlash, the
others cut the same metal on other ways. Says what it does not like.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import groupby

import numpy as np
import own_clamps
import own_count
import own_safety
import own_stock
from own_paths import moves, walked
from own_reading import read_on
from own_steps import Event, Move, Step

from gpre.mill.job import Job
from gpre.mill.mill import Mill

SAME = 1e-6  # mm
STEP = 0.1  # mm, between the places of a cut that are looked at
WALK = 5e-4  # mm; what chords and steps add to a distance
IN_ORDER = ("tool change", "stop", "message", "end", "not ended")
Runs = list[list[Move]]


def complaints(name: str, before: str, after: str, mill: Mill, job: Job) -> list[str]:
    """Say what is wrong with a text that the rewrite `name` made of another one."""
    old, new = read_on(before, mill), read_on(after, mill)
    said = [each for each in own_safety.faults(new) if len(own_safety.faults(old)) == 0]
    said += _events(old, new)
    if name == "take-up":
        return said + _taken_up(before, after, mill)
    said += _turns(old, new)
    if name in {"approach", "straighten"}:
        said += _same_cuts(old, new, mill.limits.tolerance if name == "straighten" else 0.0)
    own_safety.PATH = mill.limits.tolerance + WALK
    said += own_safety.complaints(old, new, job)
    said += own_clamps.complaints(old, new)
    if job.stock is not None and job.tools:
        said += own_stock.complaints(old, new, job)
    return said


def _events(old: Sequence[Step], new: Sequence[Step]) -> list[str]:
    """What happens besides motion: the same in the same order, dwells in any."""
    pairs = []
    for steps in (old, new):
        events = [each for each in steps if isinstance(each, Event)]
        inside = [(e.what, e.text) for e in events if e.what.startswith(IN_ORDER)]
        pairs.append((inside, Counter((e.what, e.text) for e in events)))
    said = []
    if pairs[0][0] != pairs[1][0]:
        said.append("stops, tool changes and messages are others, or in another order")
    if pairs[0][1] != pairs[1][1]:
        said.append("other things happen")
    stands = [
        [each for each in steps if isinstance(each, Event) and each.what.startswith(IN_ORDER[:2])]
        for steps in (old, new)
    ]
    for one, other in zip(*stands, strict=False):
        if other.place[2] < one.place[2] - SAME:
            said.append(f"line {other.line}: {other.what} {one.place[2] - other.place[2]:g} lower")
    return said


def _turns(old: Sequence[Step], new: Sequence[Step]) -> list[str]:
    before, after = own_count.in_cut(old), own_count.in_cut(new)
    return [f"reversals at feed {before} to {after}"] if sum(after) > sum(before) else []


def _cuts(steps: Sequence[Step]) -> Runs:
    """Return the stretches of moves at feed between rapids and what happens besides."""
    made = [step for step in steps if isinstance(step, Event) or list(moves([step]))]
    fed = groupby(made, key=lambda step: isinstance(step, Move) and not step.rapid)
    return [[each for each in run if isinstance(each, Move)] for cuts, run in fed if cuts]


def _same_cuts(old: Sequence[Step], new: Sequence[Step], tolerance: float) -> list[str]:
    """The same cuts one after the other: within a tolerance both ways, as fast, the same in force.

    With a tolerance of 0 each move of a cut is the same.
    """
    cuts, others = _cuts(old), _cuts(new)
    if len(cuts) != len(others):
        return [f"{len(others)} cuts, before {len(cuts)}"]
    said = []
    for one, other in zip(cuts, others, strict=True):
        far = _far(one, other)
        if far > tolerance + (WALK if tolerance else SAME):
            said.append(f"line {other[0].line}: a cut is off by {far:.4f} mm")
        ends = [np.subtract(one[at].path[at], other[at].path[at]) for at in (0, -1)]
        if np.linalg.norm(ends, axis=1).max() > tolerance + SAME:
            said.append(f"line {other[0].line}: a cut starts or ends elsewhere")
        if not tolerance and len(one) != len(other):
            said.append(f"line {other[0].line}: a cut of {len(other)} moves, before {len(one)}")
        if [_held(one[at]) for at in (0, -1)] != [_held(other[at]) for at in (0, -1)]:
            said.append(f"line {other[0].line}: something else is in force in a cut")
    return said


def _held(move: Move) -> tuple[object, ...]:
    return move.force, round(move.feed, 9)


def _far(one: list[Move], other: list[Move]) -> float:
    """Return the greatest distance between two cuts, mm, in order from their starts.

    Both are walked; each place of one must lie near a place of the other that is no earlier than
    where the place before it was found.
    """
    paths = [np.concatenate([walked(move, STEP) for move in cut]) for cut in (one, other)]
    if any(np.isnan(path).any() for path in paths):
        same = [[m.path for m in cut] for cut in (one, other)]
        return 0.0 if str(same[0]) == str(same[1]) else math.inf
    return max(_from(paths[0], paths[1]), _from(paths[1], paths[0]))


def _from(places: np.ndarray, path: np.ndarray) -> float:
    start, along = path[:-1], np.diff(path, axis=0)
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    worst, at = 0.0, 0
    for place in places:
        share = np.clip(((place - start[at:]) * along[at:]).sum(axis=1) / square[at:], 0.0, 1.0)
        gaps = np.linalg.norm(start[at:] + along[at:] * share[:, None] - place, axis=1)
        near = int(np.argmax(gaps <= max(float(gaps.min()), worst) + 1e-9))
        worst = max(worst, float(gaps[near]))
        at += near
    return worst


def _taken_up(before: str, after: str, mill: Mill) -> list[str]:
    """The table of a mill with this backlash runs where the original does, as fast at most."""
    import take_up_bench

    axes = (mill.x, mill.y, mill.z)
    backlash = [0.0 if each.gravity_loaded else each.greatest_lost_motion for each in axes]
    off = take_up_bench.worst_error(before, after, backlash, mill)
    said = []
    if not off <= mill.limits.tolerance + 2e-4:
        said.append(f"the table leaves the path by {off:.4f} mm")
    old, new = ([m for m in moves(read_on(t, mill)) if not m.rapid] for t in (before, after))
    held = {str(move.force) for move in old}
    said += [f"line {m.line}: something else is in force" for m in new if str(m.force) not in held]
    return said + _fed_faster(old, new, max(backlash))


def _fed_faster(old: list[Move], new: list[Move], backlash: float) -> list[str]:
    """Feeds: at each place no faster than the original is anywhere within reach of the backlash."""
    at = np.concatenate([walked(move, STEP) for move in old])
    feed = np.concatenate([np.full(len(walked(move, STEP)), move.feed) for move in old])
    reach = backlash + STEP
    said = []
    for move in new:
        middle = walked(move, STEP)
        for place in middle[:: max(1, len(middle) // 8)]:
            near = np.linalg.norm(at - place, axis=1) <= reach
            if near.any() and move.feed > feed[near].max() + SAME:
                said.append(f"line {move.line}: F{move.feed:g}, before {feed[near].max():g}")
                break
    return said
