"""Cuts the passes of a raster all in one direction, lifting between them.

All passes are cut conventional unless the job asks for climb. A pass against that direction is cut
from its other end: lift, go back at the clearance, come down clear of the stock, cut, lift, and
come down again where the pass began, which is where the program's own step-over starts. Everything
else stays as it is, so every step-over is still cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.find_cuts import shape_at_one_z
from gpre.cuts.levels import levels, slopes_of
from gpre.cuts.milling_side import pass_climbs
from gpre.cuts.passes import Pass, Raster, read_raster
from gpre.editing.at_each import at_each
from gpre.editing.called_once import AGAIN
from gpre.editing.context import Context
from gpre.editing.preview import rehearse
from gpre.editing.proposal import Claim, Proposal, Refusal, fewer_reversals
from gpre.editing.skip import Skip, skip_if
from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.job import Job
from gpre.motion.motion import Motion
from gpre.motion.state import scale_of
from gpre.rewrites.one_way.climbs import climbs_turned
from gpre.rewrites.one_way.turned_pass import PassTurner, Turned
from gpre.room.entries import Air, air_of, one_zero, reach_of

NAME = "one-way"
SMALL_BACKLASH = 0.02  # mm; the least that a worn mill shows, common practice, no source


def one_way(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose for each raster to cut its passes one way, or say why it stays."""
    found = [cut for cut in context.cuts if _shape(context, cut) is Shape.RASTER]
    return at_each(NAME, context, found, lambda cut: _propose(context, cut))


def _shape(context: Context, cut: Cut) -> Shape:
    """Return the shape of a cut, of a surface the one that it would have at one Z."""
    surface = cut.shape is Shape.SURFACE and not context.motion.rotary.size
    return shape_at_one_z(context.motion, cut) if surface else cut.shape


def _need_one_z(context: Context, cut: Cut) -> None:
    if cut.shape is Shape.RASTER:
        return
    body = slice(cut.body_first, cut.body_last)
    spread = float(np.ptp(context.motion.end[body, 2]))
    raise Skip(
        f"Z changes by {spread:.4f} mm along its passes, and the resolution of the Z axis is "
        f"{context.mill.z.resolution:g} mm: only passes at one Z are cut one way"
    )


def _propose(context: Context, cut: Cut) -> Proposal:
    _need_one_z(context, cut)
    motion = context.motion
    turner = _prepare(context, cut)
    rasters = []
    for level in levels(motion, cut.body_first, cut.body_last):
        raster = read_raster(motion, level.body, level.last)
        if raster is None:
            raise Skip("not every level is a raster")
        rasters.append(raster)
    ways = [_way(context.job, motion, raster) for raster in rasters]
    against = [
        [each for each in raster.passes if each.way != way]
        for raster, way in zip(rasters, ways, strict=True)
    ]
    turned = _that_may_turn(context, rasters, against, turner.air)
    started = _write(turner, rasters, turned)
    brings = turner.draft.preview()
    # what a better start alone brings is no reason to turn passes
    alone = rehearse(context.mill, motion, turner.draft.changes[:1]).gained if started else 0
    if brings.gained <= alone:
        raise Skip("one way would not reduce the reversals while cutting")
    summary = _summary(turner, rasters, ways, brings.gained) + _told(against, turned)
    return turner.draft.proposal(NAME, Claim.SAME_METAL, summary, (cut.first, cut.last), brings)


def _prepare(context: Context, cut: Cut) -> PassTurner:
    """Look at everything that must hold for a raster as a whole."""
    motion, editable, clearance = context.motion, context.editable, context.clearance
    skip_if(editable.why_not_cut_anew(cut.body_first))
    if called := editable.why_called(motion.block_of(cut.first)):
        raise Skip("it stands in a subprogram" if called == AGAIN else called)
    reach = reach_of(motion, cut)
    if reach is None or not clearance.known_before(reach.first, 2):
        raise Skip("no rapid leads down to it from a height that the program states")
    air = air_of(context.job, motion, cut.body_first)
    if not isinstance(air, Air):
        reason = "every second pass needs a new way in, and where there is metal is not known"
        raise Skip(reason, air)
    if not one_zero(motion):
        raise Skip("the program uses several work offsets; the stock is known in one only")
    # each way back runs above a pass, where the tool stood at depth, so no clamp is in its way:
    # the lowest height at which the program itself travels is enough
    low = clearance.travel_level(cut.body_first)
    if air.stock.max[2] + RESOLUTION < low < reach.clearance:
        reach = replace(reach, clearance=low)
    floor = air.floor(reach, motion.state_of(cut.body_first).scale)
    if floor is None:
        top = f"Z{air.stock.max[2]:g}"
        raise Skip(f"the program travels there at Z{reach.clearance:g}, the stock reaches {top}")
    return PassTurner(context, reach, air, floor, cut)


def _way(job: Job, motion: Motion, raster: Raster) -> int:
    """Return the way of all passes: +1 that of the first, -1 the other.

    Conventional unless climb is asked for: with backlash a climbing cutter pulls the work along.
    """
    row = raster.passes[0].first
    if not motion.state_of(row).spindle_way:
        raise Skip("the spindle is stopped there, so it is not known which direction would climb")
    if not _has_side(job, motion, raster):
        if job.cut == "as-is":
            return 1
        number = motion.state_of(row).tool
        raise Skip(f"tool {number} leaves metal on both sides of a pass: no side is climb")
    climb = 1 if pass_climbs(motion, raster, 1) else -1
    return climb if job.cut == "climb" else -climb


def _has_side(job: Job, motion: Motion, raster: Raster) -> bool:
    """Return whether passes meet the metal on one side: no slots."""
    tool = job.tools.get(motion.state_of(raster.passes[0].first).tool)
    return tool is None or float(raster.steps.max()) <= tool.diameter


def _that_may_turn(
    context: Context, rasters: list[Raster], against: list[list[Pass]], air: Air
) -> list[list[Pass]]:
    """Return the passes of each level to turn: none that climbs more then, unless that is asked."""
    if context.job.cut == "climb":
        return against
    motion = context.motion
    turned = [
        [each for each in level if not climbs_turned(motion, raster, each, air)]
        for raster, level in zip(rasters, against, strict=True)
    ]
    if any(against) and not any(turned):
        raise Skip("cut from the other end its passes would climb, which nobody asked for")
    return turned


def _told(against: list[list[Pass]], turned: list[list[Pass]]) -> str:
    """Say how many passes stay as they are since they would climb."""
    count = sum(map(len, against)) - sum(map(len, turned))
    if not count:
        return ""
    return f"; {count} pass{' is' if count == 1 else 'es are'} left as before, to climb no more"


def _write(turner: PassTurner, rasters: list[Raster], against: list[list[Pass]]) -> bool:
    """Write all edits in order; tell whether the first makes only a better start.

    against: the passes of each level to turn.
    """
    cut = turner.cut
    heads = [each.first for level in against for each in level]
    leads = slice(cut.first, cut.body_first), slice(cut.body_last, cut.last)
    upright = [bool(slopes_of(turner.context.motion, rows).upright.all()) for rows in leads]
    turned_before = True  # nothing leads up to the first level
    for level, raster in enumerate(rasters):
        first, last = raster.passes[0], raster.passes[-1]
        if not level and first not in against[level]:
            turner.start()
        elif first not in against[level] and not turned_before:
            turner.between(rasters[level - 1].passes[-1].last, first.first)
        for each in against[level]:
            follows = min((head for head in heads if head > each.first), default=cut.last)
            ends = each.first == cut.body_first, each.last == cut.body_last
            ends = ends[0] and upright[0], ends[1] and upright[1]
            turner.turn(Turned(raster, each, *ends, follows))
        turned_before = last in against[level]
    return bool(turner.draft.changes) and rasters[0].passes[0] not in against[0]


def _summary(turner: PassTurner, rasters: list[Raster], ways: list[int], gained: int) -> str:
    context = turner.context
    count = sum(len(raster.passes) for raster in rasters)
    cut = context.job.cut if context.job.cut == "climb" else "conventional"
    how = f", {cut}" if _has_side(context.job, context.motion, rasters[0]) else ""
    text = f"{count} passes cut one way{how}, back at {_height(turner)}"
    text += f": {fewer_reversals(gained)}"
    raster, way = rasters[0], ways[0]
    backlash = max(
        context.mill.axes[axis].greatest_lost_motion
        for axis in range(2)
        if abs(raster.along[axis]) > RESOLUTION
    )
    if backlash > SMALL_BACKLASH and pass_climbs(context.motion, raster, way):
        text += f"; they climb, and with {backlash:g} mm lost motion the cutter can pull the table"
    return text


def _height(turner: PassTurner) -> str:
    units = turner.context.motion.state_of(turner.cut.body_first).units
    name = " in" if units == 20 else ""
    return f"Z{turner.reach.clearance / scale_of(units):g}{name}"
