"""The reversal error of ISO 230-2 and the lost motion of a profile are one and the same figure.

B_i = mean of the readings upwards - mean of those downwards at target i; B = max |B_i|, and the
mean reversal error is the mean of all B_i (ISO 230-2:2014, formulas from memory). The readings are
those of a public test report of a motion axis (3 November 2021), with the figures printed there.
gpre has no other figure of that standard.
"""

from __future__ import annotations

import numpy as np
import pytest
from prediction_maker import mill, motion

from gpre.prediction.table_path import table_path

TARGETS = np.array([15.0, 25.2, 35.4, 45.6, 55.8])  # mm
UPWARDS = np.array(
    [
        [15.00335, 15.00233, 15.00172, 15.00213, 15.00172],
        [25.19974, 25.20015, 25.20096, 25.20056, 25.20056],
        [35.40102, 35.39960, 35.40225, 35.40306, 35.40449],
        [45.59151, 45.59090, 45.59212, 45.59090, 45.58947],
        [55.80583, 55.80624, 55.80685, 55.80562, 55.80562],
    ]
)
DOWNWARDS = np.array(
    [
        [15.00518, 15.00518, 15.00416, 15.00335, 15.00314],
        [25.19628, 25.19607, 25.19567, 25.19587, 25.19526],
        [35.39817, 35.39837, 35.39980, 35.39939, 35.40000],
        [45.59232, 45.59191, 45.59293, 45.59191, 45.59151],
        [55.80705, 55.80725, 55.80705, 55.80705, 55.80644],
    ]
)
PRINTED = (-1.96, 4.56, 2.93, -1.14, -0.94)  # B_i, micrometres
PRINTED_B, PRINTED_MEAN = 4.56, 0.69


def reversal_errors(up: np.ndarray, down: np.ndarray) -> np.ndarray:
    """B_i of readings (targets, runs), mm."""
    return (up - TARGETS[:, None]).mean(axis=1) - (down - TARGETS[:, None]).mean(axis=1)


def test_the_formula_gives_what_the_report_prints() -> None:
    # the report rounds its readings to five decimals: a hundredth of a micrometre is left
    found = reversal_errors(UPWARDS, DOWNWARDS) * 1000.0
    assert found == pytest.approx(PRINTED, abs=0.0105)
    assert np.abs(found).max() == pytest.approx(PRINTED_B, abs=0.0105)
    assert found.mean() == pytest.approx(PRINTED_MEAN, abs=0.0105)


@pytest.mark.parametrize("larger", [1.0, 20.0])
def test_a_profile_with_that_lost_motion_is_predicted_to_read_so(larger: float) -> None:
    """Five runs both ways, as the standard has them; the play is symmetric, so |B_i| counts."""
    lost = larger * np.abs(reversal_errors(UPWARDS, DOWNWARDS))
    ways = [*(f"X{each}" for each in TARGETS), "X70", *(f"X{each}" for each in TARGETS[::-1]), "X0"]
    made = motion("G0 X-5", "G1 X0", *(ways * 5))
    on = mill(tuple(zip(TARGETS.tolist(), lost.tolist(), strict=True)))
    path = table_path(made, on)
    ends = np.flatnonzero(path.samples.along == 1.0)[2:].reshape(5, 12)
    assert (path.low[ends, 0] == path.high[ends, 0]).all()
    table = path.low[ends, 0]
    up, down = table[:, :5].T, table[:, 6:11][:, ::-1].T
    found = reversal_errors(up, down)
    assert found == pytest.approx(-lost, abs=1e-9)  # upwards the table lags below the target
    assert np.abs(found).max() == pytest.approx(larger * PRINTED_B / 1000.0, abs=larger * 1.05e-5)
