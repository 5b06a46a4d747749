"""The speeds along a chain of moves that can gain and lose speed only so fast, and their times.

With one acceleration a along a piece of length L, v_out² <= v_in² + 2 a L and the other way round
(the textbook's trapezoid). In squares of speeds that is a running minimum, e[k+1] = min(c[k+1],
e[k] + g[k]) with g = 2 a L, so that with the sums S of g it is min-accumulate(c - S) + S: no step
per move. One such pass backwards and one forwards give the greatest speeds that keep both.
"""

from __future__ import annotations

import numpy as np

from gpre.geometry.arc import Floats


def junction_speeds(caps: Floats, length: Floats, acceleration: Floats) -> Floats:
    """(m + 1,) mm/s: the speed at the start of each piece, and at the end of the last.

    caps: (m + 1,) mm²/s², the greatest squares there, finite; 0 is a stop. length: (m,) mm.
    acceleration: (m,) mm/s².
    """
    gain = 2.0 * acceleration * length
    backwards = _pass(caps[::-1], gain[::-1])[::-1]
    result: Floats = np.sqrt(_pass(backwards, gain))
    return result


def _pass(caps: Floats, gain: Floats) -> Floats:
    """(m + 1,): e[0] = caps[0], e[k+1] = min(caps[k+1], e[k] + gain[k])."""
    total = np.zeros(len(caps))
    # no gain counts beyond the cap it leads to: so the sums stay small, and keep their digits
    np.cumsum(np.minimum(gain, caps[1:]), out=total[1:])
    reached = np.minimum.accumulate(caps - total)
    reached += total
    result: Floats = np.clip(reached, 0.0, caps)
    return result


def times(speeds: Floats, top: Floats, length: Floats, acceleration: Floats) -> Floats:
    """(m,) s: the time for each piece: gain speed, hold `top` if it is reached, lose speed.

    speeds: (m + 1,) mm/s at the ends of the pieces. top: (m,) mm/s, length: (m,) mm, acceleration:
    (m,) mm/s², all above 0.
    """
    enters, leaves = speeds[:-1], speeds[1:]
    both = enters**2 + leaves**2
    peak = np.minimum(np.sqrt(both / 2.0 + acceleration * length), top)
    ramps = (2.0 * peak - enters - leaves) / acceleration
    # the last digits may leave a little less than nothing
    held = np.maximum(length - (2.0 * peak**2 - both) / (2.0 * acceleration), 0.0) / peak
    result: Floats = np.maximum(ramps, 0.0) + held
    return result
