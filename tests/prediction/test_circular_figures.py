"""F, G and H of ISO 230-4 against closed forms and against a circular test followed step by step.

No published example with numbers was found; the closed forms are plane geometry.
"""

from __future__ import annotations

import math

import circle_simulation as simulation
import pytest
from circle_simulation import Faults
from prediction_maker import mill, motion

from gpre.prediction.circles import Circle
from gpre.prediction.predict import predict
from gpre.reversals.find import find_reversals

WAYS = (1, 1, -1, -1)


def steps_of(radius: float) -> int:
    """Chords of a round, a twelfth of a millimetre and shorter: finer than the play."""
    return 4 * round(20.0 * radius)


def predicted(radius: float, faults: Faults) -> tuple[Circle, ...]:
    """gpre's figures of the four rounds, of a program that goes where the screws shall."""
    rounds = simulation.commanded(radius, faults, WAYS, steps_of(radius))
    lead = f"G0 X{radius + 5} Y-8\nG0 X{rounds[0][0, 0]:.7f} Y-5\n"  # X came down, Y goes up
    points = [place for each in rounds for place in each]
    made = motion(lead + "G1 " + "\n".join(f"X{x:.7f} Y{y:.7f}" for x, y in points))
    arcs = [f"G{3 if way > 0 else 2} X{radius} Y0 I-{radius}" for way in WAYS]
    wanted = motion(f"G0 X{radius + 5} Y-8\nG0 X{radius} Y-5\nG1 Y0", *arcs)
    found = predict(
        made,
        find_reversals(made),
        mill(*faults.backlash, by="program"),
        intended=wanted,
        uncertain=False,
    )
    return found.circles


@pytest.mark.parametrize("radius", [6.0, 20.0])
@pytest.mark.parametrize("scale", [(4e-4, 1e-4), (-3e-4, 2e-4), (2e-4, 2e-4)])
def test_scales_make_an_ellipse(radius, scale):
    found = predicted(radius, Faults(scale=scale))
    assert len(found) == 4
    for each in found:
        # the semi-axes are R (1 + s)
        assert each.f_max == pytest.approx(radius * max(scale), abs=1e-6)
        assert each.f_min == pytest.approx(radius * min(scale), abs=1e-6)
        assert each.g == pytest.approx(radius * abs(scale[0] - scale[1]), abs=1e-6)
        assert each.h == pytest.approx(0.0, abs=1e-6)  # one path, there and back


@pytest.mark.parametrize("radius", [6.0, 20.0])
@pytest.mark.parametrize("lean", [3e-4, -1e-3])
def test_axes_out_of_square_make_an_ellipse_across_the_quadrants(radius, lean):
    found = predicted(radius, Faults(lean=lean))
    # the singular values of [[1, lean], [0, 1]] are sqrt(1 + lean²/4) ± lean/2
    middle, half = math.sqrt(1.0 + lean**2 / 4.0), abs(lean) / 2.0
    for each in found:
        assert each.f_max == pytest.approx(radius * (middle + half - 1.0), abs=1e-6)
        assert each.f_min == pytest.approx(radius * (middle - half - 1.0), abs=1e-6)
        assert each.g == pytest.approx(radius * abs(lean), abs=1e-6)
        assert each.h == pytest.approx(0.0, abs=1e-6)


FAULTS = [
    Faults(backlash=(0.1, 0.06)),
    Faults(backlash=(0.05, 0.0), scale=(2e-4, -3e-4)),
    Faults(backlash=(0.03, 0.08), lean=4e-4),
    Faults(backlash=(0.09, 0.06), scale=(-2e-4, 5e-4), lean=-3e-4),
    Faults(backlash=(0.01, 0.012), scale=(1e-3, 8e-4), lean=1e-3),
]


@pytest.mark.parametrize("radius", [6.0, 20.0])
@pytest.mark.parametrize("faults", FAULTS)
def test_play_scales_and_squareness_together_are_as_followed_step_by_step(radius, faults):
    found = predicted(radius, faults)
    # the same rounds in six times as many steps
    rounds = simulation.commanded(radius, faults, WAYS, 6 * steps_of(radius))
    made = simulation.followed(rounds, faults, (1.0, -1.0))
    for number, (each, trace) in enumerate(zip(found, made, strict=True)):
        # the first round each way does not close: what lies at its ends counts to what comes before
        # it, within a chord
        close = (0.002 if number in {1, 3} else 0.006) * max(faults.backlash)
        assert each.known
        least, greatest = simulation.radial(trace, radius)
        assert each.f_min == pytest.approx(least, abs=close)
        assert each.f_max == pytest.approx(greatest, abs=close)
        assert each.g == pytest.approx(simulation.circular(trace), abs=close)
        other = 2 if number < 2 else 1  # the nearest one the other way round
        assert each.h == pytest.approx(simulation.hysteresis(trace, made[other]), abs=2 * close)
