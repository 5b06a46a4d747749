"""A block of metal as a height field, cut move by move: the tests' own model of what is removed."""

import numpy as np

from gpre.geometry import path as paths
from gpre.motion.motion import Kind, Motion

CELL = 0.5  # mm


class Metal:
    """Cells of the stock, each with the height to which it stands."""

    def __init__(self, least, greatest):
        self.x = np.arange(least[0] + CELL / 2, greatest[0], CELL)
        self.y = np.arange(least[1] + CELL / 2, greatest[1], CELL)
        self.height = np.full((len(self.x), len(self.y)), float(greatest[2]))

    def under(self, point, radius):
        """The slices and the mask of the cells under a tool."""
        i = np.searchsorted(self.x, [point[0] - radius, point[0] + radius])
        j = np.searchsorted(self.y, [point[1] - radius, point[1] + radius])
        rows, columns = slice(i[0], i[1]), slice(j[0], j[1])
        dx = self.x[rows, None] - point[0]
        dy = self.y[None, columns] - point[1]
        return (rows, columns), dx**2 + dy**2 <= radius**2

    def standing(self, point, radius):
        """The greatest height under a tool, -inf where there is no stock."""
        window, mask = self.under(point, radius)
        return float(np.where(mask, self.height[window], -np.inf).max(initial=-np.inf))

    def cut(self, point, radius):
        """Remove what a flat tool at the point removes; give the volume and its side sums."""
        window, mask = self.under(point, radius)
        before = self.height[window]
        after = np.where(mask, np.minimum(before, point[2]), before)
        self.height[window] = after
        return before - after


def run(motion: Motion, least, greatest, radius):
    """Cut a whole program. Gives the metal, what each move removed (mm3), and rapid collisions."""
    metal = Metal(least, greatest)
    removed = np.zeros(len(motion))
    crashes = []
    for row in range(len(motion)):
        for point in samples(motion, row):
            if motion.kind[row] == Kind.RAPID:
                if metal.standing(point, radius - CELL) > point[2] + 1e-6:
                    crashes.append((row, tuple(point)))
                    break
            else:
                removed[row] += metal.cut(point, radius).sum() * CELL * CELL
    return metal, removed, crashes


def samples(motion: Motion, row: int):
    """Points along a move, 0.4 mm apart at the most."""
    one = paths.take(motion, slice(row, row + 1))
    steps = max(int(np.ceil(paths.lengths(one)[0] / 0.4)), 1)
    many = paths.take(one, np.zeros(steps + 1, np.intp))
    return paths.points(many, np.linspace(0.0, 1.0, steps + 1))


def side_of(motion: Motion, row: int, least, greatest, radius):
    """Volumes that a straight move removes on the left and on the right of its way.

    All moves before it are cut first.
    """
    metal = Metal(least, greatest)
    for earlier in range(row):
        if motion.kind[earlier] != Kind.RAPID:
            for point in samples(motion, earlier):
                metal.cut(point, radius)
    before = metal.height.copy()
    for point in samples(motion, row):
        metal.cut(point, radius)
    gone = before - metal.height
    along = motion.end[row, :2] - motion.start[row, :2]
    across = along[0] * (metal.y[None, :] - motion.start[row, 1]) - along[1] * (
        metal.x[:, None] - motion.start[row, 0]
    )
    return float(gone[across > 0].sum()), float(gone[across < 0].sum())
