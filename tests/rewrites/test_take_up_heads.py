"""Take-up on programs with the heads and tails that posts and hands write.

What the table does is judged by the second reading and by the play operator of the tests alone.
"""

from dataclasses import replace

import pytest
from cam_heads import EVERY, HEADS, TAILS, program
from take_up_bench import MILL, carried, take_up, worst_error

BACKLASH = (0.09, 0.06, 0.0)
ANYWHERE = replace(MILL, controller=replace(MILL.controller, start_known=False))


@pytest.mark.parametrize(("head", "body", "tail"), EVERY)
def test_it_is_carried_and_the_table_runs_where_it_is_meant(head, body, tail):
    before = program(head, body, tail)
    after = carried(before, ANYWHERE)
    untouched = worst_error(before, before, BACKLASH, ANYWHERE)
    assert untouched > 0.02
    assert worst_error(before, after, BACKLASH, ANYWHERE) <= ANYWHERE.limits.tolerance + 1e-4


def test_all_heads_and_tails_are_tried():
    assert len(EVERY) >= 30
    assert {head for head, _, _ in EVERY} == set(HEADS)
    assert {tail for _, _, tail in EVERY} == set(TAILS)


@pytest.mark.parametrize("body", ["outline", "pocket"])
def test_what_moves_where_nobody_knows_keeps_its_words(body):
    text = program("G53 and G43", body, "home by G53")
    after = take_up(text, ANYWHERE).data.decode().splitlines()
    kept = [line for line in text.splitlines() if "G53" in line or line.startswith(("G43", "M"))]
    assert [line for line in after if line in kept] == kept
