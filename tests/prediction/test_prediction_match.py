"""Which place of an intended path a place of the table path belongs to: plain geometry."""

from __future__ import annotations

import numpy as np
import pytest
from prediction_maker import mill, motion

from gpre.motion.controller import Controller
from gpre.prediction.deviation import deviation_from
from gpre.prediction.match import REACH, MatchedLine, match
from gpre.prediction.samples import Frames
from gpre.prediction.table_path import table_path


def line(*runs: list[tuple[float, float]]) -> MatchedLine:
    """Runs of straight moves from point to point, each a move of its own."""
    point = np.array([(x, y, 0.0) for run in runs for x, y in run])
    number = np.repeat(np.arange(len(runs)), [len(run) for run in runs])
    return MatchedLine(point, number, np.arange(len(point)), np.ones(len(point)))


def test_of_several_walls_near_by_the_nearest_counts() -> None:
    target = line([(0, 0), (10, 0)], [(0, 0.3), (10, 0.3)], [(0, -0.5), (10, -0.5)])
    found = match(line([(2, 0.1), (4, 0.25), (6, -0.3), (8, 0.02)]), target, 0.4)
    assert found.distance.tolist() == pytest.approx([0.1, 0.05, 0.2, 0.02])
    assert found.point[:, 1].tolist() == pytest.approx([0.0, 0.3, -0.5, 0.0])
    assert found.point[:, 0].tolist() == pytest.approx([2.0, 4.0, 6.0, 8.0])


def test_nothing_is_found_farther_away_than_a_millimetre() -> None:
    target = line([(0, 0), (10, 0)], [(0, 50), (10, 50)])
    found = match(line([(2, 0.999), (4, 1.001), (6, 49.5)]), target, 0.4)
    assert found.distance.tolist() == pytest.approx([0.999, REACH, 0.5])
    assert np.isnan(found.point[:, 0]).tolist() == [False, True, False]
    nothing = match(line([(0, 0), (1, 0)]), line([(0, 9), (1, 9)], [(0, 8), (1, 8)]), 0.4)
    assert nothing.distance.tolist() == [REACH, REACH]


def test_very_many_places_are_looked_at_in_parts() -> None:
    """More than go together: each one against its own nearest place."""
    x = np.linspace(0.0, 10.0, 45_001)
    y = 0.2 * np.sin(x)
    many = MatchedLine(
        np.column_stack((x, y, 0.0 * x)), np.zeros(len(x), np.intp), np.arange(len(x)), 0.0 * x
    )
    found = match(many, line([(0, 0), (10, 0)], [(0, 30), (10, 30)]), 0.4)
    np.testing.assert_allclose(found.distance, np.abs(y), atol=1e-12)
    np.testing.assert_allclose(found.point[:, 0], x, atol=1e-9)


def test_each_run_ends_where_it_ends() -> None:
    # two walls 5 mm apart, each displaced by half the backlash of Y
    first, second = ("G0 X-9 Y-9", "Y0 X-5", "G1 X3", "X10"), ("G1 X3", "X10")
    made = motion(*first, "G0 Y5 Z5", "G0 X-5 Y3", "Y5 Z0", *second)
    found = deviation_from(made, table_path(made, mill(0.0, 0.09)), made, 0.4)
    np.testing.assert_allclose(found.size, 0.045, atol=1e-9)


def test_in_order_a_long_run_is_followed_however_its_length_differs() -> None:
    """A wavering path is 2.6 % longer; places far along it still belong to their own."""
    x = np.linspace(0.0, 200.0, 2001)
    y = 0.05 * np.sin(x * 4.6)
    waves = line(list(zip(x.tolist(), y.tolist(), strict=True)))
    assert waves.length[-1] > 202.0
    found = match(waves, line([(0, 0), (70, 0), (140, 0), (200, 0)]), 0.1)
    np.testing.assert_allclose(found.distance, np.abs(y), atol=1e-9)
    np.testing.assert_allclose(found.point[:, 0], x, atol=1e-9)
    there_and_back = line([(0, 0), (200, 0), (0, 0)])
    again = line([*zip(x.tolist(), y.tolist(), strict=True), (100.0, 0.1), (0.0, 0.1)])
    found = match(again, there_and_back, 0.1)
    assert found.row[:1900].max() <= 1
    assert found.row[-2:].min() >= 1


def test_half_way_between_the_bounds() -> None:
    made = motion("G1 X5", "Y5")
    path = table_path(made, mill(0.09, 0.06))
    np.testing.assert_allclose(path.middle, (path.low + path.high) / 2.0)
    # where nothing is known yet it is the place of the program
    np.testing.assert_allclose(path.middle[0], path.samples.point[0], atol=1e-12)


def test_each_move_has_the_origin_of_its_own_system() -> None:
    controller = Controller(origins={1: (100.0, 50.0, -20.0), 2: (300.0, 60.0, -25.0)})
    made = motion("G54 G0 X1 Y1", "X5", "G55 G0 X1 Y1", "X5", controller=controller)
    frames = Frames.of(made)
    assert len(frames.origin) == len(made)
    assert frames.origin[1].tolist() == [100.0, 50.0, -20.0]
    assert frames.origin[-1].tolist() == [300.0, 60.0, -25.0]
    alone = motion("G0 X1 Y1", "X5", controller=controller)
    assert Frames.of(alone).origin.tolist() == [[100.0, 50.0, -20.0]]


@pytest.mark.parametrize("change", [0.02, -0.02])
def test_what_a_controller_lacks_is_on_either_side_at_first(change: float) -> None:
    """It takes up 0.09 mm and there is 0.02 more, or less: half of that either way."""
    made = motion("G1 Y1", "X5", "X2")
    path = table_path(made, mill(0.09, by="controller"), change=(change, 0.0, 0.0))
    low, high = (each[:, 0] - path.samples.point[:, 0] for each in (path.low, path.high))
    assert (low[0], high[0]) == (pytest.approx(-0.01), pytest.approx(0.01))
    ends = np.flatnonzero(path.samples.along == 1.0)
    assert low[ends].tolist() == pytest.approx([-0.01, -change / 2.0, change / 2.0])
    assert high[ends].tolist() == pytest.approx([0.01, -change / 2.0, change / 2.0])
