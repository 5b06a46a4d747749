"""The worked example of DEVELOPERS.md: shown as it is, run, proved, and where it stays away."""

from pathlib import Path

import pytest
from known_mill import KNOWN
from loop_above import loop_above

from gpre.driver import rewrite as driver
from gpre.driver.rewrite import Rewritten, rewrite
from gpre.mill.job import Box, Job
from gpre.source.text import SourceText

HERE = Path(__file__)
DOCUMENT = HERE.parents[2] / "DEVELOPERS.md"

# two grooves of our clamp ring (invented): X comes to the first against its cut, to the second not
GROOVES = """G21 G90 G17 G94
S1000 M3
G0 X0 Y0 Z5
X40 Y10
G1 Z-2 F100
X0 F300
Y30
G0 Z5
X10 Y40
G1 Z-2 F100
X30 F300
G0 Z5
M5
M2
"""


@pytest.fixture(autouse=True)
def _alone(monkeypatch):
    monkeypatch.setattr(driver, "CATALOGUE", (("loop-above", loop_above),))
    monkeypatch.setattr(driver, "NAMES", ("loop-above",))


def run(text: str, job: Job | None = None) -> Rewritten:
    return rewrite(SourceText.of(text.encode(), "grooves.ngc"), KNOWN, job)


def reasons(result: Rewritten) -> list[str]:
    return [each.reason for each in result.plan.refused]


def test_the_document_shows_this_very_text():
    shown = (HERE.parent / "loop_above.py").read_text()
    assert f"```python\n{shown}```\n" in DOCUMENT.read_text()
    assert len(shown.splitlines()) <= 60


def test_a_loop_takes_the_backlash_up_above_the_start():
    result = run(GROOVES)
    expected = GROOVES.replace("X40 Y10\n", "X40 Y10\nX41.25 (take up backlash)\nX40\n")
    assert result.data.decode() == expected
    assert result.proof.holds
    before, after = (int(each.reversals.in_cut.sum()) for each in (result.before, result.after))
    assert before - after == 1 == result.plan.chosen[0].gained
    assert not run(expected).changed


@pytest.mark.parametrize(
    ("changed", "to", "block"),
    [
        ("X40 Y10\n", "G91\nX40 Y10\nZ-3\nG90\n", "X1.25 (take up backlash)\nX-1.25\n"),
        ("G21", "G20", "X40.05 (take up backlash)\nX40\n"),
    ],
    ids=["incremental", "inch"],
)
def test_the_text_follows_the_modes_in_force(changed, to, block):
    result = run(GROOVES.replace(changed, to))
    assert block in result.data.decode()
    assert result.proof.holds


def test_where_it_is_not_clear_nothing_is_done():
    low = GROOVES.replace("G1 Z-2 F100\nX0", "Z1\nG1 Z-2 F100\nX0")
    result = run(low, Job(stock=Box((-20.0, -20.0, -10.0), (60.0, 60.0, 6.0))))
    assert result.data.decode() == low
    assert any("not above the stock" in each for each in reasons(result))


TWICE = """G21 G90 G17 G94
S1000 M3
G0 X0 Y0 Z5
M98 P100
G0 X-10
M98 P100
M5
M2
O100
G0 X40 Y10
G1 Z-2 F100
X0 F300
G0 Z5
M99
"""


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (GROOVES.replace("G1 Z-2 F100\nX0", "G41 D1\nG1 Z-2 F100\nX0"), "radius compensation"),
        (GROOVES.replace("M3\n", "M3\n/G0 X5\n"), "can be switched off"),
        (TWICE, "runs more than once"),
    ],
    ids=["compensation", "block delete", "subprogram"],
)
def test_it_says_why_it_does_nothing(text, why):
    result = run(text)
    assert result.data.decode() == text
    assert any(why in each for each in reasons(result))


def test_an_axis_that_goes_on_as_it_came_needs_nothing():
    result = run(GROOVES.replace("X40 Y10\n", "X-5 Y10\n").replace("X0 F300", "X-40 F300"))
    assert not result.changed
    assert not result.plan.refused
