"""turn-round obeys what is asked, with either way of the spindle, and leaves alone what it must."""

import numpy as np
import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

STOCK = Box((-1.0, -1.0, -10.0), (41.0, 31.0, 0.0))
HEAD = "G21 G90 G17\nT1 M6\nS2000 {}\nG0 Z5\nX-10 Y-10\nX20 Y-3\n"
LOOP = "G1 Z-2 F100\nX43 F300\nY33\nX-3\nY-3\nX20\n"
TAIL = "G0 Z5\nX-10 Y-10\nM30\n"
PLAIN = HEAD.format("M3") + LOOP + TAIL


def run(text: str, cut: str, job: Job | None = None) -> Rewritten:
    job = job or Job({1: Tool(6.0, flutes=2)}, STOCK, cut)
    result = rewrite(
        SourceText.of(text.encode()),
        known_mill(),
        job,
        Options(only=("turn-round",), comments=False),
    )
    assert result.proof.holds
    return result


def way(result: Rewritten) -> int:
    """+1 where the contour is cut counter-clockwise: twice its area, by the corners (geometry)."""
    motion = result.after.motion
    rows = motion.kind != Kind.RAPID
    start, end = motion.start[rows], motion.end[rows]
    return int(np.sign((start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1]).sum()))


@pytest.mark.parametrize(
    ("spindle", "cut", "after"),
    [
        # round the outside of a part M3 climbs clockwise, with the metal on the right: by omega x r
        # (tests/reversals/test_milling_side.py), and as textbooks have it (from memory)
        ("M3", "climb", -1),
        ("M3", "conventional", 1),
        ("M3", "as-is", 1),
        ("M4", "climb", 1),
        ("M4", "conventional", -1),
        ("M4", "as-is", 1),
    ],
)
def test_which_way_round_follows_from_what_is_asked(spindle: str, cut: str, after: int) -> None:
    result = run(HEAD.format(spindle) + LOOP + TAIL, cut)
    assert way(result) == after
    assert result.changed == (after != 1)


@pytest.mark.parametrize(
    "text",
    [
        PLAIN.replace("G1 Z-2 F100\n", "G1 Z-2 F100\nG41 D1\n").replace(
            "G0 Z5\nX-10", "G40\nG0 Z5\nX-10"
        ),
        PLAIN.replace("Y33\n", "Y33 (mind the clamp)\n"),
        PLAIN.replace("Y33\n", "Y33 M8\n"),
        PLAIN.replace("Y33\n", "G4 P1\nY33\n"),
        PLAIN.replace("Y33\n", "/Y33\n"),
        PLAIN.replace("X43 F300", "G93 X43 F5").replace(
            "\nY33\nX-3\nY-3\nX20\n", " \nY33 F5\nX-3 F5\nY-3 F5\nX20 F5\nG94\n"
        ),
        PLAIN.replace("\nX20\nG0", "\nX25\nG0"),  # it runs on past where it began
        PLAIN.replace("Y33\n", "Y33 Z-3\n"),
        PLAIN.replace("X-3\nY-3\nX20\n", "X-3\n"),  # open
    ],
)
def test_what_it_cannot_turn_stays(text: str) -> None:
    assert text != PLAIN
    assert not run(text, "climb").changed


def test_without_stock_or_tool_nobody_knows_how_it_mills() -> None:
    for job in (Job(cut="climb"), Job({1: Tool(6.0)}, cut="climb"), Job({}, STOCK, "climb")):
        result = run(PLAIN, "climb", job)
        assert not result.changed
        assert result.plan.refused


def test_a_slot_has_metal_on_both_sides() -> None:
    job = Job({1: Tool(6.0)}, Box((-20.0, -20.0, -10.0), (60.0, 50.0, 0.0)), "climb")
    result = run(PLAIN, "climb", job)
    assert not result.changed
    assert any("both sides" in each.reason for each in result.plan.refused)


def test_each_stretch_keeps_its_own_feed() -> None:
    text = PLAIN.replace("Y33\n", "Y33 F250\n").replace("X-3\n", "X-3 F200\n")
    motions = [each.motion for each in (run(text, "as-is").after, run(text, "climb").after)]
    fed = [
        {
            (frozenset((tuple(start), tuple(end))), feed)
            for start, end, feed in zip(
                one.start.tolist(), one.end.tolist(), one.feed.tolist(), strict=True
            )
            if feed == feed  # noqa: PLR0124  (rapids have none)
        }
        for one in motions
    ]
    assert fed[0] == fed[1]


def test_only_the_depths_that_mill_the_other_way_are_turned() -> None:
    other = "G1 Z-4 F100\nX-3 F300\nY33\nX43\nY-3\nX20\n"
    result = run(HEAD.format("M3") + LOOP + other + TAIL, "climb")
    assert result.changed
    assert other.encode() in result.data
