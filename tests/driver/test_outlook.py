"""What a rewritten program comes to: the figures of `gpre predict`, and those of the bench."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))

import effect as bench
from effect_parts import PARTS

from gpre.driver.counting import count
from gpre.driver.outlook import Outlook, outlooks
from gpre.driver.predicting import predict_program
from gpre.driver.rewrite import rewrite
from gpre.mill.job import Job
from gpre.mill.mill import Compensation
from gpre.report.outlook import compensation_text, outlook_table, unknown_text
from gpre.source.text import SourceText

RING = b"G21 G90 G17 G64\nT1 M6\nS3000 M3\nG0 X9 Y0\nG0 Z5\nG1 Z-2 F100\nG3 I-9 F300\nG0 Z5\nM30\n"
SLOT = b"G20 G90 G64\nS3000 M3\nG0 X0 Y0\nG0 Z1\nG1 Z-1 F5\nG1 X1 F12\nG1 X0\nG0 Z1\nM30\n"


def part(name):
    return next(each for make in PARTS if (each := make()).name == name)


@pytest.mark.parametrize("by", bench.MODES)
@pytest.mark.parametrize("name", ["ring pocket", "rounded outline"])
def test_the_figures_are_those_of_the_bench(name, by):
    found = bench.effect(part(name), by)
    mill = found.part.on(by)
    sides = outlooks(found.rewritten, mill, found.part.job)
    for one, figures in zip(sides, (found.before, found.after), strict=True):
        assert one.marks == figures.marks
        assert one.stands == pytest.approx(figures.standing)
        assert one.cycle_time == pytest.approx(figures.seconds)
        assert one.error == pytest.approx(figures.error, abs=1e-6)
        assert one.unknown == 1  # the way to the first place, from where nobody knows


def test_a_carried_take_up_is_held_against_the_path_before_it():
    """A quarter of the ring turns X and Y: 0.045 and 0.03 mm to either side without it."""
    mill = part("ring pocket").on("program")
    done = rewrite(SourceText.of(RING), mill)
    before, after = outlooks(done, mill, Job())
    assert done.untaken.program.text == RING
    assert before.error > 0.03
    assert after.error <= mill.limits.tolerance
    left = predict_program(count(SourceText.of(done.data), mill), mill, Job())
    assert left.prediction.greatest > 0.03  # against its own coordinates it is off by the backlash


def test_an_unchanged_program_has_the_same_figures_twice():
    mill = part("ring pocket").on("none")
    done = rewrite(SourceText.of(SLOT), mill)
    before, after = outlooks(done, mill, Job())
    assert not done.changed
    assert before == after


def test_the_table_is_in_the_units_of_the_program_and_names_what_is_not_known():
    one = Outlook(marks=1234, stands=4.16, cycle_time=167.4, unknown=2, error=0.0254)
    cells = [list(column.cells) for column in outlook_table(one, one, 20).columns]
    assert cells[0][-1] == "greatest error, in"
    assert cells[1] == cells[2] == ["1,234", "4.2", "2:47", "0.0010"]
    assert outlook_table(one, one, 21).columns[1]._cells[-1] == "0.025"
    assert unknown_text(one) == "not counted: 2 moves of unknown time"
    assert not unknown_text(replace(one, unknown=0))


@pytest.mark.parametrize(
    ("by", "text", "said"),
    [
        ("none", RING, "nothing takes the backlash up"),
        ("controller", RING, "its compensation stays ON"),
        ("program", RING, "the controller's own compensation must be OFF"),
        ("program", RING.replace(b"G3", b"G41 D1 G3"), "does not carry the backlash"),
    ],
)
def test_what_the_controller_has_to_do_is_said(by, text, said):
    mill = replace(part("ring pocket").on(by), compensation=Compensation(by=by))
    done = rewrite(SourceText.of(text), mill)
    assert said in " ".join(compensation_text(done, mill).split())
