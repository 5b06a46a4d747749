"""Cuts the passes of a raster all in one direction, lifting between them.

A pass against the chosen direction is cut from its other end: lift, go back at the clearance, come
down clear of the stock, cut, lift, and come down again where the pass began, which is where the
program's own step-over starts. Everything else stays as it is, so every step-over is still cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.job import Job
from gpre.motion.motion import Motion
from gpre.reversals.cuts import Cut, Shape
from gpre.reversals.levels import LEVEL, levels, slopes_of
from gpre.reversals.passes import Pass, Raster, read_raster
from gpre.rewrites.aftermath import freedom_after, place_stated, wanted_after, why_not_rows
from gpre.rewrites.barriers import Ground, ground_of
from gpre.rewrites.clearance import Clearance
from gpre.rewrites.proposal import Claim, Context, Proposal, Refusal
from gpre.rewrites.rehearsal import Change, Track, rehearse
from gpre.rewrites.staying import Stays
from gpre.rewrites.ways_in import (
    Air,
    Reach,
    air_of,
    first_ways,
    heading_before,
    last_ways,
    one_zero,
    reach_of,
    take_up_point,
)
from gpre.source.edit import Edit

NAME = "one-way"
_THERE = 0.01  # mm; a plunge of the original at the same place
SMALL_SLACK = 0.02  # mm; the least that a worn mill shows, common practice, no source


@dataclass(frozen=True)
class _Job:
    """One raster on its way to being rewritten."""

    context: Context
    ground: Ground
    clearance: Clearance
    reach: Reach
    air: Air
    floor: float
    cut: Cut


@dataclass(frozen=True)
class _Turned:
    """A pass that is cut the other way, and what stands around it.

    follows: one past the last row that is cut before the next pass that is turned.
    """

    raster: Raster
    rows: Pass
    first_of_cut: bool
    last_of_cut: bool
    follows: int


def one_way(context: Context) -> Iterable[Proposal | Refusal]:
    """Propose for each raster to cut its passes one way, or say why it stays."""
    found = [cut for cut in context.cuts if cut.shape is Shape.RASTER]
    if not found:
        return
    ground = ground_of(context.program, context.motion)
    clearance = Clearance(ground, context.mill, context.job)
    for cut in found:
        block = context.motion.block
        first, last = int(block[cut.first]), int(block[cut.last - 1])
        try:
            proposal = _propose(context, ground, clearance, cut)
        except Stays as why:
            yield Refusal(NAME, why.reason, first, last, why.needs)
        else:
            yield proposal


def _propose(context: Context, ground: Ground, clearance: Clearance, cut: Cut) -> Proposal:
    motion = context.motion
    job = _prepare(context, ground, clearance, cut)
    rasters = []
    for level in levels(motion, cut.body_first, cut.body_last):
        raster = read_raster(motion, level.body, level.last)
        if raster is None:
            raise Stays("not every level is a raster")
        rasters.append(raster)
    changes: list[Change] = []
    edits: list[Edit] = []
    ways = [_way(context.job, motion, raster) for raster in rasters]
    head = _take_up(job, rasters[0], ways[0])
    if head is not None:
        edits.append(head[0])
        changes.append(head[1])
    for turned in _turned(cut, rasters, ways):
        edit, change = _turn(job, turned, changes)
        edits.append(edit)
        changes.append(change)
    outcome = rehearse(context.mill, motion, changes)
    first = rehearse(context.mill, motion, [head[1]]).gained if head is not None else 0
    if outcome.gained <= first:
        raise Stays("one way would leave as many reversals in the cut")
    block = motion.block
    return Proposal(
        NAME,
        tuple(edits),
        Claim.SAME_METAL,
        _summary(job, rasters, ways, outcome.gained),
        int(block[cut.first]),
        int(block[cut.last - 1]),
        gained=outcome.gained,
        longer=outcome.longer,
    )


def _prepare(context: Context, ground: Ground, clearance: Clearance, cut: Cut) -> _Job:
    """Look at everything that must hold for a raster as a whole."""
    motion = context.motion
    if ground.whole:
        raise Stays(ground.whole)
    state = motion.state_of(cut.body_first)
    if state.feed_mode != 94:
        raise Stays("the feed is not stated as a length a minute")
    if state.compensation != 40:
        raise Stays("cutter radius compensation is on")
    if motion.called[cut.first]:
        raise Stays("it stands in a subprogram")
    reach = reach_of(motion, cut)
    if reach is None or not clearance.known_before(reach.first, 2):
        raise Stays("no rapid leads down to it from a height that the program states")
    air = air_of(context.job, motion, cut.body_first)
    if not isinstance(air, Air):
        reason = "every second pass needs a new way in, and where there is metal is not known"
        raise Stays(reason, air)
    if not one_zero(motion):
        raise Stays("the program counts from several zeros; the stock is known in one only")
    floor = air.floor(reach, 25.4 if state.units == 20 else 1.0)
    if floor is None:
        top = f"Z{air.stock.greatest[2]:g}"
        raise Stays(f"the program travels there at Z{reach.clearance:g}, the stock reaches {top}")
    return _Job(context, ground, clearance, reach, air, floor, cut)


def _way(job: Job, motion: Motion, raster: Raster) -> int:
    """Give the way of all passes: +1 that of the first, -1 the other."""
    if job.cut == "as-is":
        return 1
    row = raster.passes[0].first
    spindle = motion.state_of(row).spindle_way
    if not spindle:
        raise Stays(f"{job.cut} was asked for, and the spindle stands still")
    number = motion.state_of(row).tool
    tool = job.tools.get(number)
    if tool is not None and float(raster.steps.max()) > tool.diameter:
        raise Stays(f"tool {number} leaves metal on both sides of a pass: no side is climb")
    right = np.array([raster.along[1], -raster.along[0]])
    climb = 1 if float(right @ raster.step) * spindle > 0 else -1
    return climb if job.cut == "climb" else -climb


def _turned(cut: Cut, rasters: list[Raster], ways: list[int]) -> Iterator[_Turned]:
    """Give the passes that run against the chosen way, in order."""
    found = [
        (raster, each)
        for raster, way in zip(rasters, ways, strict=True)
        for each in raster.passes
        if each.way != way
    ]
    for at, (raster, each) in enumerate(found):
        follows = found[at + 1][1].first if at + 1 < len(found) else cut.last
        first = each.first == cut.body_first
        yield _Turned(raster, each, first, each.last == cut.body_last, follows)


def _turn(job: _Job, turned: _Turned, earlier: list[Change]) -> tuple[Edit, Change]:
    """Write one pass the other way round."""
    ground, motion = job.ground, job.context.motion
    first, last = turned.rows.first, turned.rows.last
    start = motion.end[last - 1]  # where the pass will start, and where what follows starts
    if not job.air.clear_of(start):
        line = int(motion.block[first]) + 1
        place = f"X{start[0]:g} Y{start[1]:g}"
        raise Stays(
            f"the pass in line {line} would start at {place}, not clear of the stock by the "
            "tool's radius: coming down there would plunge into metal"
        )
    if turned.first_of_cut and not why_not_rows(ground, job.reach.first, last):
        first = job.reach.first
    last = _with_lift(job, turned, first)
    reason = why_not_rows(ground, first, last)
    if reason:
        raise Stays(reason)
    first_block, last_block = int(motion.block[first]), int(motion.block[last - 1])
    writer = ground.writer(first_block, comments=job.context.comments)
    track = Track.of(writer, _heading(motion, first, earlier))
    try:
        _write(job, turned, track)
        _leave(job, turned, track, last)
        writer.restore(wanted_after(ground, last_block, writer.modes))
    except ValueError as fault:
        raise Stays(f"the new blocks cannot be written: {fault}") from fault
    edit = ground.replacement(first_block, last_block, writer)
    return edit, Change(first, last, track)


def _with_lift(job: _Job, turned: _Turned, first: int) -> int:
    """Give one past the last row to write anew: the lift behind the last pass, if it can be."""
    motion, last = job.context.motion, turned.rows.last
    if not turned.last_of_cut:
        return last
    stop = last
    while stop < len(motion) and slopes_of(motion, slice(stop, stop + 1)).upright[0]:
        if motion.end[stop, 2] < motion.start[stop, 2] - LEVEL:
            break
        stop += 1
    for end in (stop, job.cut.last):
        if end > last and not why_not_rows(job.ground, first, end):
            return end
    return last


def _write(job: _Job, turned: _Turned, track: Track) -> None:
    """Write: up, back, down in the air, along the pass."""
    motion, rows = job.context.motion, turned.rows
    start = motion.end[rows.last - 1]
    track.rapid((None, None, job.reach.clearance), "lift")
    _go(job, track, start, _ways(turned))
    _down(job, track, float(start[2]), rows.first)
    for row in range(rows.last - 1, rows.first - 1, -1):
        goal = motion.start[row]
        track.line((goal[0], goal[1], None), float(motion.feed[row]))


def _leave(job: _Job, turned: _Turned, track: Track, last: int) -> None:
    """Let what follows find the tool: where the pass began, or lifted behind the last one."""
    motion, rows, clearance = job.context.motion, turned.rows, job.reach.clearance
    start, height = motion.end[rows.last - 1], float(motion.end[last - 1, 2])
    lifted = last > rows.last
    if lifted and height >= clearance - LEVEL and last < len(motion):
        track.rapid((None, None, height), "lift")
        if not place_stated(job.ground, last):
            track.rapid((start[0], start[1], None))
        return
    track.rapid((None, None, clearance), "lift")
    if lifted:
        track.rapid((start[0], start[1], None))
        if height >= job.floor:
            track.rapid((None, None, height))
            return
    elif turned.last_of_cut:
        free = freedom_after(job.ground, rows.last, clearance)
        if rows.last == job.cut.last and free.z:
            if not free.xy:
                track.rapid((start[0], start[1], None))
            return
        track.rapid((start[0], start[1], None))
    else:
        following = first_ways(motion, rows.last, turned.follows)
        _go(job, track, start, np.where(following == 0, _ways(turned), following).astype(np.int8))
    _down(job, track, height, rows.first)


def _ways(turned: _Turned) -> NDArray[np.int8]:
    """(3,): the way of X and of Y along the turned pass; at right angles to it, of the steps."""
    along = -turned.rows.way * turned.raster.along
    slanted = np.abs(along) > RESOLUTION
    ways = np.zeros(3, np.int8)
    ways[:2] = np.where(slanted, np.sign(along), np.sign(turned.raster.step))
    return ways


def _go(job: _Job, track: Track, goal: NDArray[np.float64], wanted: NDArray[np.int8]) -> None:
    """Go to a place at the clearance so that X and Y have their slack taken up."""
    unit = track.writer.modes.scale
    point = take_up_point(job.context.mill, track.position, goal, track.heading, wanted, unit=unit)
    for axis in range(2):
        reason = job.clearance.why_not_there(job.cut.body_first, axis, float(point[axis]))
        if reason:
            raise Stays(reason)
    track.rapid((point[0], point[1], None), "take up slack")
    track.rapid((goal[0], goal[1], None))


def _down(job: _Job, track: Track, depth: float, row: int) -> None:
    """Come down: at rapid above the stock, then at feed."""
    track.rapid((None, None, job.floor))
    track.line((None, None, depth), _plunge_feed(job, row, track.position))


def _plunge_feed(job: _Job, row: int, place: NDArray[np.float64]) -> float:
    """Give the feed to come down at: no faster than the pass, than the cut's plunges, than there."""
    motion, cut = job.context.motion, job.cut
    delta = motion.end - motion.start
    down = np.flatnonzero(motion.at_feed & (delta[:, 2] < -LEVEL))
    down = down[np.abs(delta[down, :2]).max(axis=1, initial=0.0) <= RESOLUTION]
    there = np.abs(motion.end[down, :2] - place[:2]).max(axis=1, initial=0.0) <= _THERE
    own = (down >= cut.first) & (down < cut.last)
    feeds = motion.feed[down[there | own]]
    return float(np.nanmin([*feeds, motion.feed[row]]))


def _take_up(job: _Job, raster: Raster, way: int) -> tuple[Edit, Change] | None:
    """Let the first pass, if it stays, start with the slack of X and Y taken up."""
    ground, motion, reach = job.ground, job.context.motion, job.reach
    first = raster.passes[0]
    row = reach.first
    height = float(motion.start[row, 2])
    if first.way != way or first.first != job.cut.body_first:
        return None
    if job.clearance.why_not_level(height, row)[0]:
        return None
    upright = np.abs(motion.end[row : first.first, :2] - motion.start[row, :2]).max(initial=0.0)
    block = int(motion.block[row])
    own_block = int(ground.first_row[block]) == row
    if upright > RESOLUTION or not own_block or ground.why_not_insert(block):
        return None
    wanted = first_ways(motion, row, job.cut.last)
    writer = ground.writer(block, comments=job.context.comments)
    track = Track.of(writer, heading_before(motion, row))
    here = motion.start[row]
    point = take_up_point(job.context.mill, here, here, track.heading, wanted)
    if float(np.abs(point - here[:2]).max()) <= RESOLUTION:
        return None
    try:
        _go(job, track, here, wanted)
        writer.restore(wanted_after(ground, block - 1, writer.modes))
    except ValueError:
        return None
    return ground.insertion(block, writer), Change(row, row, track)


def _heading(motion: Motion, row: int, earlier: list[Change]) -> NDArray[np.int8]:
    """(3,): how each axis travelled last before a row, the changes made earlier included."""
    if not earlier:
        return heading_before(motion, row)
    since = last_ways(motion, earlier[-1].last, row)
    return np.where(since == 0, earlier[-1].track.heading, since).astype(np.int8)


def _summary(job: _Job, rasters: list[Raster], ways: list[int], gained: int) -> str:
    context = job.context
    count = sum(len(raster.passes) for raster in rasters)
    asked = "" if context.job.cut == "as-is" else f", {context.job.cut}"
    text = f"{count} passes cut one way{asked}, back at {_height(job)}"
    text += f": {gained} reversal{'' if gained == 1 else 's'} fewer in the cut"
    raster, way = rasters[0], ways[0]
    slack = max(
        context.mill.axes[axis].greatest_lost_motion
        for axis in range(2)
        if abs(raster.along[axis]) > RESOLUTION
    )
    if slack > SMALL_SLACK and _is_climb(context.motion, raster, way):
        text += f"; they climb, and with {slack:g} mm lost motion the cutter can pull the table"
    return text


def _height(job: _Job) -> str:
    units = job.context.motion.state_of(job.cut.body_first).units
    scale, name = (25.4, " in") if units == 20 else (1.0, "")
    return f"Z{job.reach.clearance / scale:g}{name}"


def _is_climb(motion: Motion, raster: Raster, way: int) -> bool:
    right = np.array([raster.along[1], -raster.along[0]]) * way
    spindle = motion.state_of(raster.passes[0].first).spindle_way
    return float(right @ raster.step) * spindle > 0
