"""Which cuts of a program every rewrite skips, since where they run is not known; and why."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gpre.editing.proposal import Refusal
from gpre.motion.motion import Motion

EVERY = "every rewrite"
_AXES = "XYZ"


def cuts_not_known(motion: Motion) -> Iterator[Refusal]:
    """Yield a refusal for each stretch of moves at feed that begins or ends at an unknown place."""
    at_feed = np.concatenate(([0], np.cumsum(motion.at_feed)))
    groups: dict[tuple[int, str, int, int], list[str]] = {}
    for each in motion.unknown:
        if at_feed[each.last] > at_feed[each.first]:
            key = each.block, each.reason, each.first, each.last
            groups.setdefault(key, []).append(_AXES[each.axis])
    for (block, reason, first, last), axes in groups.items():
        verb = "is" if len(axes) == 1 else "are"
        yield Refusal(
            EVERY,
            f"{' and '.join(axes)} {verb} not known since line {block + 1}: {reason}",
            *motion.blocks_of(first, last),
        )
