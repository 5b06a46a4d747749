"""What must hold of the metal: the same is taken, none at rapid, and no bite is greater."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.proof.directions import Directions
from gpre.proof.metal.clear_of_metal import ClearOfMetal
from gpre.proof.metal.climb import NAME as CLIMB_SHARE
from gpre.proof.metal.climb import climb_share, watched
from gpre.proof.metal.loads import RAMP, TOOTH, Loads, by_tool, fullest, shortened
from gpre.proof.metal.stock_pair import Difference, Twins, run_both, unseen_cuts, why_not
from gpre.proof.predicted import NAME as PREDICTED
from gpre.proof.predicted import predicted_error
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

NAMES = (
    "metal removed",
    "rapid into material",
    "rapid clearance",
    "depth of cut",
    "width of cut",
    TOOTH,
    RAMP,
    CLIMB_SHARE,
    PREDICTED,
)
OF_BITES = (("depth of cut", "depth"), ("width of cut", "width"))


def stock_obligations(pair: Pair, directions: Directions) -> tuple[Obligation, ...]:
    """Look at the metal; where a tool is not known nothing can be shown, and that is said."""
    reason = why_not(pair)
    if reason:
        first = f"not looked at: {reason}; the paths alone are compared, which is weaker"
        figures = (first, *("not looked at" for _ in NAMES[1:]))
        return tuple(
            Obligation(name, holds=True, figure=figure, looked=False)
            for name, figure in zip(NAMES, figures, strict=True)
        )
    twins = run_both(pair, directions.against if watched(pair, directions) else None)
    excused = shortened(pair)
    loads = Loads(pair, twins, excused)
    return (
        _same_metal(pair, twins),
        _rapids(pair, twins),
        rapid_clearance(pair),
        *(_bites(pair, twins, name, what, excused) for name, what in OF_BITES),
        loads.teeth(),
        loads.ramps(),
        climb_share(pair, twins),
        _predicted(pair, twins),
    )


def _predicted(pair: Pair, twins: Twins) -> Obligation:
    taking = twins.before.volume > 0.0, twins.after.volume > 0.0
    return predicted_error(pair, taking)


def _same_metal(pair: Pair, twins: Twins) -> Obligation:
    name = NAMES[0]
    found: list[tuple[str, Difference]] = []
    if twins.deeper is not None and twins.deeper.much > RESOLUTION:
        found.append(("too much is taken", twins.deeper))
    if twins.higher is not None and twins.higher.much > RESOLUTION:
        found.append(("metal is left", twins.higher))
    stock = "the stock box" if twins.boxed else "metal taken to be everywhere"
    cells = f"{twins.cells:,} cells of {twins.cell:.3g} mm, {stock}"
    if unseen := unseen_cuts(pair.before):
        what = "1 cutting move that stays" if unseen == 1 else f"{unseen} cutting moves that stay"
        cells += f"; without {what} as written"
    if not found:
        figure = f"the same within {twins.tolerance:g} mm; {cells}"
        return Obligation(name, holds=True, figure=figure, value=0.0, limit=twins.tolerance)
    what, worst = max(found, key=lambda each: each[1].much)
    x, y, _ = worst.place
    much = f"{worst.much:.3f} mm" if worst.much < 1e6 else "full depth"
    return Obligation(
        name,
        holds=False,
        figure=f"{what}, {much} high, at X{x:.3f} Y{y:.3f}; {cells}",
        value=worst.much,
        limit=twins.tolerance,
        before=pair.before.block_of(worst.before),
        after=pair.after.block_of(worst.after),
    )


def _rapids(pair: Pair, twins: Twins) -> Obligation:
    """Show that no rapid meets metal that the same rapid of the original did not meet."""
    limit = twins.tolerance + RESOLUTION
    side, depth = pair.after, twins.after.depth
    rows = side.rapids
    partner = pair.partner[rows]
    allowed = np.zeros(len(rows))
    allowed[partner >= 0] = twins.before.depth[partner[partner >= 0]]
    over = depth[rows] - allowed
    own = float(twins.before.depth[pair.before.rapids].max(initial=0.0)) - twins.grown
    more = f"; the original's own meets {own:.3f} mm" if own > limit else ""
    if not len(rows) or float(over.max()) <= limit:
        return Obligation(
            NAMES[1], holds=True, figure=f"{len(rows)} rapids, none touches material{more}"
        )
    row = int(rows[int(over.argmax())])
    return Obligation(
        NAMES[1],
        holds=False,
        figure=f"a rapid runs {depth[row]:.3f} mm deep through metal at {twins.met(row)}",
        value=float(depth[row]),
        limit=limit,
        before=pair.before.block_of(int(pair.partner[row])),
        after=side.block_of(row),
    )


def rapid_clearance(pair: Pair) -> Obligation:
    """Show that new rapids keep clear of the metal that stands when they run."""
    name, clearance = NAMES[2], pair.mill.limits.rapid_clearance
    found = ClearOfMetal(pair).first()
    if found is None:
        count = int((pair.partner[pair.after.rapids] < 0).sum())
        new = {0: "no new rapids; they keep", 1: "1 new rapid keeps"}.get(
            count, f"{count} new rapids keep"
        )
        figure = f"{new} {clearance:g} mm from walls and floors"
        return Obligation(name, holds=True, figure=figure, limit=clearance)
    known = bool(np.isfinite(found.distance))
    figure = found.what
    if known:
        x, y = found.place.tolist()
        figure = (
            f"a rapid comes within {found.distance:.3f} mm of {found.what} at X{x:.3f} Y{y:.3f};"
            f" new ones keep {clearance:g} mm"
        )
    return Obligation(
        name,
        holds=False,
        figure=figure,
        value=found.distance if known else None,
        limit=clearance,
        before=pair.before.block_of(int(pair.partner[found.row])),
        after=pair.after.block_of(found.row),
    )


def _bites(pair: Pair, twins: Twins, name: str, what: str, ramps: Bools) -> Obligation:
    """Show that a tool nowhere cuts deeper, or wider, than it did at its worst."""
    new: Floats = getattr(twins.after, what)
    more = twins.grown * (2.0 if what == "width" else 1.0)
    old: Floats = np.maximum(getattr(twins.before, what) - more, 0.0)
    if what == "width":  # counted in cells, a cut as wide as its tool may come out wider
        old, new = (
            np.minimum(each, pair.widths(side, unknown=np.inf))
            for each, side in ((old, pair.before), (new, pair.after))
        )
    backlash = 2.0 * twins.tolerance + RESOLUTION
    backlash += twins.cell if what == "width" else 0.0
    excused = ramps if what == "depth" else np.zeros(len(new), bool)
    said, worst = [], None
    for tool, mine, theirs in by_tool(pair):
        was = float(old[theirs].max(initial=0.0))
        rows = mine[~excused[mine]]
        now = float(new[rows].max(initial=0.0))
        said.append(f"T{tool} {was:.3f} to {now:.3f} mm")
        if (down := float(new[mine].max(initial=0.0))) > max(was + backlash, now):
            said[-1] += f" ({down:.3f} mm in a helix of fewer turns: see {RAMP})"
        if now > was + backlash and (worst is None or now - was > worst[0]):
            worst = now - was, tool, int(rows[int(new[rows].argmax())]), was, now, theirs
    if worst is None:
        return Obligation(name, holds=True, figure=f"at most, {'; '.join(said)}")
    _, tool, row, was, now, theirs = worst
    return Obligation(
        name,
        holds=False,
        figure=f"T{tool} cuts {now:.3f} mm at {twins.met(row)}; the original {was:.3f} at most",
        value=now,
        limit=was + backlash,
        before=pair.before.block_of(fullest(theirs, old[theirs])),
        after=pair.after.block_of(row),
    )
