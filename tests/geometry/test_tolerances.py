"""What the named tolerances mean where they are used, and that all of them have names."""

import ast
import math
import re
from pathlib import Path

import numpy as np
import pytest

from gpre.cuts.contours import find_loop
from gpre.geometry import path
from gpre.geometry.path import Moves
from gpre.mill.mill import Mill
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals


@pytest.mark.parametrize("radius", [0.5, 7.0, 150.0])
def test_chords_leave_an_arc_by_a_tenth_of_a_micrometre_at_the_most(radius: float) -> None:
    start = np.array([[radius, 0.0, 0.0]])
    circle = Moves(start, start, np.zeros((1, 3)), np.array([math.tau]), np.array([17], np.uint8))
    point = path.sample(circle)[2]
    middle = (point[1:] + point[:-1])[:, :2] / 2.0
    # the sagitta: R less the distance of a chord's middle from the centre
    sagitta = radius - np.hypot(*middle.T)
    assert 0.5e-4 < sagitta.max() <= 1e-4 * (1.0 + 1e-9)


def turns(back: float) -> int:
    text = f"G21 G90 G0 X0 Y0 Z0\nG1 X10 F100\nX{10.0 - back:.6f}\n"
    return len(find_reversals(trace(read(text.encode()))))


def test_an_axis_that_comes_back_by_a_tenth_of_a_micrometre_has_not_turned() -> None:
    assert (turns(0.00009), turns(0.00011)) == (0, 1)
    assert {each.resolution for each in Mill().axes} == {1e-4}


@pytest.mark.parametrize(("gap", "closes"), [(0.0019, True), (0.0021, False)])
def test_a_contour_that_ends_two_micrometres_beside_its_start_is_closed(
    gap: float, closes: bool
) -> None:
    text = f"G21 G90 G0 X0 Y0 Z0\nG1 X10 F100\nY10\nX0\nX0 Y{gap}\n"
    motion = trace(read(text.encode()))
    assert (find_loop(motion, 1, len(motion)) is not None) is closes
    assert Mill().limits.tolerance == 0.002


GPRE = Path(__file__).parents[2] / "gpre"
WRITTEN_AS_TOLERANCE = re.compile(r"\d*\.?\d*e-\d+|0?\.00\d+|0\.01", re.IGNORECASE)
# what is written like a tolerance and is none, each with its reason
NOT_TOLERANCES = {
    ("cuts/metal_beside.py", "1e-3"): "how far beyond the cutter's rim is looked, of its radius",
    ("cuts/metal_beside.py", "0.008"): "where between middle and rim is looked, of the radius",
    ("geometry/arc.py", "1e-6"): "rad; below it the chord's formula loses its digits",
    ("editing/worth.py", "0.01"): "mm; what the profile's weight of errors is for",
    ("mill/job.py", "0.001"): "the smallest diameter that is taken for a tool's",
    ("mill/junctions.py", "1e-12"): "s²/mm; an axis without acceleration, not one less",
    ("mill/mill.py", "0.0001"): "default of a key of the profile",
    ("mill/mill.py", "0.002"): "default of a key of the profile",
    ("mill/mill.py", "0.01"): "default of a key of the profile",
    ("motion/column_arcs.py", "1e-4"): "of a radius; which arcs Python works out instead of numpy",
    ("motion/content.py", "1e-4"): "NISTIR 6556, 3.3.2.1: how near to a whole number a code is",
    ("motion/controller.py", "0.01"): "default of a key of the profile",
    ("prediction/curves.py", "1e-11"): "mm; where Newton's steps end",
    ("prediction/dwells.py", "0.005"): "s; the shortest stay that leaves a mark, a trade figure",
    ("proof/feeds.py", "0.01"): "of the original's feed: slower rubs, a trade figure",
    ("proof/metal/climb.py", "0.01"): "of all metal cut: less has no share worth telling",
    ("rewrites/loops_off/places.py", "1e-3"): "rad; a corner that bends less needs no loop",
    ("rewrites/order/rewrite.py", "0.01"): "mm of way in the air; what saves less is not worth it",
    ("rewrites/straighten/vertex_edits.py", "1e-7"): "of the program's unit; the decimals it wrote",
    ("report/diff.py", "0.0005"): "what three decimals show as zero",
    ("report/quantities.py", "1e-4"): "the decimals that are shown",
    ("report/quantities.py", "1e-3"): "the decimals that are shown",
}


def tolerances_in(path: Path) -> set[tuple[str, str]]:
    """The module and each float from 1e-12 to 1e-2 in it that is written like a tolerance."""
    text = path.read_text(encoding="utf-8")
    found = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Constant) and isinstance(node.value, float):
            written = ast.get_source_segment(text, node) or ""
            if 1e-12 <= node.value <= 1e-2 and WRITTEN_AS_TOLERANCE.fullmatch(written):
                found.add((path.relative_to(GPRE).as_posix(), written))
    return found


def test_each_tolerance_has_its_name_in_one_place():
    modules = [
        path for path in sorted(GPRE.rglob("*.py")) if path != GPRE / "geometry" / "tolerance.py"
    ]
    assert len(modules) > 200
    found = set().union(*(tolerances_in(path) for path in modules))
    assert found - NOT_TOLERANCES.keys() == set()
    assert NOT_TOLERANCES.keys() - found == set()  # what is gone is taken off the list


def test_a_number_written_like_a_tolerance_is_found():
    path = GPRE / "geometry" / "tolerance.py"
    assert ("geometry/tolerance.py", "1e-9") in tolerances_in(path)
    assert len(tolerances_in(path)) >= 9


def test_each_tolerance_says_what_it_is_for():
    text = (GPRE / "geometry" / "tolerance.py").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if re.match(r"[A-Z_]+ = ", line)]
    assert all("  # " in line for line in lines)  # each says what it is
