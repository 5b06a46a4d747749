"""An arc whose radii are made equal: both ends kept, the centre hardly moved."""

import numpy as np
import pytest

from gpre.geometry.balanced_arc import evened
from gpre.geometry.tolerance import PATH


@pytest.mark.parametrize("first", [0.0, 0.9, 2.5, -1.2])
@pytest.mark.parametrize("sweep", [0.4, 1.5, 3.0, -0.4, -2.0, 4.0, -5.0])
def test_both_radii_are_equal_and_the_turn_is_kept(sweep: float, first: float) -> None:
    centre = np.array([3.0, -2.0, 1.0])
    start = centre + 7.0 * np.array([np.cos(first), np.sin(first), 0.0])
    last = first + sweep
    end = centre + 7.0003 * np.array([np.cos(last), np.sin(last), 0.0])
    moved, turn = evened(start, end, centre, sweep)
    radii = [float(np.hypot(*(each - moved)[:2])) for each in (start, end)]
    assert radii[0] == pytest.approx(radii[1], abs=1e-12)
    assert turn == pytest.approx(sweep, abs=1e-3)
    # the shift along the chord: r times the difference of the radii by the chord's length
    chord = float(np.hypot(*(end - start)[:2]))
    assert np.hypot(*(moved - centre)[:2]) == pytest.approx(7.0 * 3e-4 / chord, rel=1e-3)
    assert moved[2] == 1.0


def test_a_full_circle_or_a_great_difference_stays() -> None:
    centre, start = np.zeros(3), np.array([5.0, 0.0, 0.0])
    assert evened(start, start, centre, 2.0 * np.pi)[0] is centre
    end = np.array([0.0, 5.0 + 3.0 * PATH, 0.0])
    assert evened(start, end, centre, np.pi / 2.0)[0] is centre
