"""What must hold of the metal: the same is taken, none at rapid, and no bite is greater."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.proof.helices import Helices
from gpre.proof.predicted import NAME as PREDICTED
from gpre.proof.predicted import predicted_error
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.proof.stock.twins import Difference, Twins, run_both, why_not

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

NAMES = (
    "metal removed",
    "metal at rapid",
    "depth of cut",
    "width of cut",
    "metal a tooth",
    "climb share",
    PREDICTED,
)
ROUNDING = 1e-4  # mm
CHIP_SLACK = 0.05  # share; what cells and the joints of moves make of the same cut
OF_BITES = (("depth of cut", "depth"), ("width of cut", "width"))


def stock_obligations(pair: Pair) -> tuple[Obligation, ...]:
    """Look at the metal; where a tool is not known nothing can be shown, and that is said."""
    reason = why_not(pair)
    if reason:
        first = f"not looked at: {reason}; the paths alone are compared, which is weaker"
        figures = (first, *("not looked at" for _ in NAMES[1:]))
        return tuple(
            Obligation(name, holds=True, figure=figure, looked=False)
            for name, figure in zip(NAMES, figures, strict=True)
        )
    twins = run_both(pair)
    return (
        _same_metal(pair, twins),
        _rapids(pair, twins),
        *(_bites(pair, twins, name, what) for name, what in OF_BITES),
        _chips(pair, twins),
        _climb(pair, twins),
        _predicted(pair, twins),
    )


def _predicted(pair: Pair, twins: Twins) -> Obligation:
    taking = twins.before.volume > 0.0, twins.after.volume > 0.0
    return predicted_error(pair, taking)


def _block(side: Side, row: int) -> int | None:
    return int(side.motion.block[row]) if 0 <= row < len(side.motion) else None


def _same_metal(pair: Pair, twins: Twins) -> Obligation:
    name = NAMES[0]
    found: list[tuple[str, Difference]] = []
    if twins.deeper is not None and twins.deeper.much > ROUNDING:
        found.append(("too much is taken", twins.deeper))
    if twins.higher is not None and twins.higher.much > ROUNDING:
        found.append(("metal is left", twins.higher))
    stock = "the stock box" if twins.boxed else "metal taken to be everywhere"
    cells = f"{twins.cells:,} cells of {twins.cell:.3g} mm, {stock}"
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
        before=_block(pair.before, worst.before),
        after=_block(pair.after, worst.after),
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
        return Obligation(NAMES[1], holds=True, figure=f"{len(rows)} rapids meet none{more}")
    row = int(rows[int(over.argmax())])
    return Obligation(
        NAMES[1],
        holds=False,
        figure=f"a rapid runs {depth[row]:.3f} mm deep through metal at {_place(twins, row)}",
        value=float(depth[row]),
        limit=limit,
        before=_block(pair.before, int(pair.partner[row])),
        after=_block(side, row),
    )


def _place(twins: Twins, row: int) -> str:
    x, y = twins.after.place[row].tolist()
    return f"X{x:.3f} Y{y:.3f}"


def _bites(pair: Pair, twins: Twins, name: str, what: str) -> Obligation:
    """Show that a tool nowhere cuts deeper, or wider, than it did at its worst."""
    new: Floats = getattr(twins.after, what)
    more = twins.grown * (2.0 if what == "width" else 1.0)
    old: Floats = np.maximum(getattr(twins.before, what) - more, 0.0)
    slack = 2.0 * twins.tolerance + RESOLUTION
    slack += twins.cell if what == "width" else 0.0
    excused = _ramps(pair) if what == "depth" else np.zeros(len(new), bool)
    said, worst = [], None
    for tool, mine, theirs in _by_tool(pair):
        was = float(old[theirs].max(initial=0.0))
        rows = mine[~excused[mine]]
        now = float(new[rows].max(initial=0.0))
        said.append(f"T{tool} {was:.3f} to {float(new[mine].max(initial=0.0)):.3f} mm")
        if now > was + slack and (worst is None or now - was > worst[0]):
            worst = now - was, tool, int(rows[int(new[rows].argmax())]), was, now, theirs
    if worst is None:
        return Obligation(name, holds=True, figure=f"at most, {'; '.join(said)}")
    _, tool, row, was, now, theirs = worst
    return Obligation(
        name,
        holds=False,
        figure=f"T{tool} cuts {now:.3f} mm at {_place(twins, row)}; the original {was:.3f} at most",
        value=now,
        limit=was + slack,
        before=_block(pair.before, _greatest(theirs, old[theirs])),
        after=_block(pair.after, row),
    )


def _greatest(rows: Ints, values: Floats) -> int:
    """Give the row with the greatest of (k,) values, -1 where there is none above nothing."""
    if not values.max(initial=0.0) > 0.0:
        return -1
    return int(rows[int(values.argmax())])


def _ramps(pair: Pair) -> Bools:
    """(m,): moves of helices in fewer turns, and their floors: the job says how steep they may be.

    How much metal they may find is an obligation of its own.
    """
    result = np.zeros(len(pair.after.motion), bool)
    result[Helices(pair, ~pair.steady[1]).stands_for()] = True
    return result


def _by_tool(pair: Pair) -> list[tuple[int, Ints, Ints]]:
    """Give each tool that cuts, its moves at feed in the new program and in the original."""
    tools = sorted({*pair.after.tool[pair.after.feeding].tolist()})
    return [
        (
            tool,
            *(side.feeding[side.tool[side.feeding] == tool] for side in (pair.after, pair.before)),
        )
        for tool in tools
    ]


def _chips(pair: Pair, twins: Twins) -> Obligation:
    """Show that no tooth takes more metal than the worst of the original's, by tool."""
    name = NAMES[4]
    excused = _ramps(pair)
    said = []
    for tool, mine, theirs in _by_tool(pair):
        old = twins.before.bite[theirs] * _advance(pair.before, theirs)
        rows = mine[~excused[mine]]
        new = twins.after.bite[rows] * _advance(pair.after, rows)
        was, now = float(old.max(initial=0.0)), float(new.max(initial=0.0))
        flutes = pair.job.tools[tool].flutes
        unit = "mm³ a tooth" if flutes else "mm³ a turn"
        said.append(f"T{tool} {was / (flutes or 1):.3g} to {now / (flutes or 1):.3g} {unit}")
        row = int(rows[int(new.argmax())]) if len(rows) else -1
        if now > was * (1.0 + CHIP_SLACK) + _noise(pair.after, twins, row):
            return Obligation(
                name,
                holds=False,
                figure=f"{said[-1]} at {_place(twins, row)}",
                value=now,
                limit=was,
                before=_block(pair.before, _greatest(theirs, old)),
                after=_block(pair.after, row),
            )
    return Obligation(name, holds=True, figure=f"at most, {'; '.join(said)}")


def _noise(side: Side, twins: Twins, row: int) -> float:
    """Give what one row of cells more would make of a rate, mm³ a turn."""
    if row < 0:
        return 0.0
    return float(twins.cell * twins.after.depth[row] * _advance(side, np.array([row], np.intp))[0])


def _advance(side: Side, rows: Ints) -> Floats:
    """(k,) mm: how far the tool goes while it turns once; in G95 the feed is that already."""
    speed = np.array([abs(state.spindle) for state in side.motion.states])[side.motion.state[rows]]
    with np.errstate(divide="ignore", invalid="ignore"):
        result: Floats = side.motion.feed[rows] / np.where(speed > 0.0, speed, 1.0)
    return np.nan_to_num(result)


def _climb(pair: Pair, twins: Twins) -> Obligation:
    """Tell how much of the metal is cut climbing; it is a figure, no condition."""
    shares = []
    for side, taken in ((pair.before, twins.before), (pair.after, twins.after)):
        ways = np.array([state.spindle_way for state in side.motion.states] or [0])
        way = ways[side.motion.state] if len(side.motion) else ways[:0]
        rows = side.feeding[taken.width[side.feeding] > 0.0]
        rows = rows[way[rows] != 0]
        right = np.where(way[rows] > 0, taken.right[rows], taken.volume[rows] - taken.right[rows])
        total = float(taken.volume[rows].sum())
        shares.append(f"{100.0 * float(right.sum()) / total:.0f} %" if total > 0.0 else "nothing")
    figure = f"{shares[0]} of the metal cut climbing before, {shares[1]} after"
    return Obligation(NAMES[5], holds=True, figure=figure)
