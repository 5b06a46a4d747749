"""The plan, the proof and the counts as people see them."""

import pytest
from rich.console import Console

from gpre.editing.proposal import Claim, Plan, Proposal, Refusal
from gpre.proof.proof import Obligation, Proof
from gpre.report.count import AxisCount
from gpre.report.plan import render_plan, what_more
from gpre.report.records.encode import plain as in_json
from gpre.report.records.proofs import proof_record
from gpre.report.records.rewriting import proposal_record, refusal_record
from gpre.report.rewrite import before_and_after, cautions, render_proof


def hole(number, summary="reached from +X and +Y", **more):
    return Proposal(
        "approach", (), Claim.SAME_CUTS, summary, 10 * number, 10 * number, holes=1, **more
    )


def plain(table):
    console = Console(width=80)
    with console.capture() as capture:
        console.print(table)
    return [line.rstrip() for line in capture.get().splitlines()]


def test_what_was_done_is_told_with_its_place_and_gain():
    raster = Proposal(
        "one-way", (), Claim.SAME_METAL, "6 passes, all climb", 40, 59, 11, 0, 123.456, 2
    )
    assert render_plan(Plan((raster,))).plain == (
        "done\n"
        "  one-way  lines 41-60\n"
        "    6 passes, all climb\n"
        "    together: 11 reversals fewer while cutting; 123.5 mm more in the air; 2\n"
        "    places where a mark may now stand\n"
    )


def test_places_that_are_alike_are_told_once_with_their_number():
    text = render_plan(Plan(tuple(hole(number) for number in range(12)))).plain
    assert text.count("reached from +X and +Y") == 1
    assert "approach  12 places: lines 1, 11, 21, ... 111\n" in text
    assert "together: 12 positions reached from the right side" in text


def test_places_that_differ_in_numbers_alone_are_put_together_and_that_is_said():
    plan = Plan((hole(1, "moved by 1.25 mm"), hole(2, "moved by 2.5 mm"), hole(3, "cannot move")))
    text = render_plan(plan).plain
    assert "2 places: lines 11, 21\n    moved by 1.25 mm, and so on\n" in text
    assert "line 31\n    cannot move\n" in text


def test_what_was_refused_is_told_with_the_reason_and_wrapped():
    reason = (
        "the way in to the second pass is not known to be clear of metal, and nothing tells where"
    )
    text = render_plan(Plan(refused=(Refusal("one-way", reason, 4, 9),))).plain
    assert text.startswith("skipped\n  one-way  lines 5-10\n    the way in ")
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_proposal_that_was_not_taken_is_told_apart():
    text = render_plan(Plan(declined=(hole(1),))).plain
    assert text.startswith("not worth it\n  approach  line 11\n")
    assert "together" not in text


def test_of_very_many_things_only_the_first_are_told():
    reasons = [f"{'i' * number} is in the way" for number in range(1, 31)]
    plan = Plan(refused=tuple(Refusal("one-way", each, 1, 1) for each in reasons))
    text = render_plan(plan).plain
    assert text.count("is in the way") == 20
    assert text.endswith("  and 10 more places; --json has all\n")


def test_a_plan_with_nothing_in_it_says_so():
    assert render_plan(Plan()).plain == "nothing to do: no rewrite applies to this program\n"


def test_one_line_tells_what_tool_and_stock_would_bring():
    plan = Plan(
        refused=(
            Refusal("one-way", "r", 1, 1, ("tool 12", "stock")),
            Refusal("one-way", "r", 2, 2, ("tool 3",)),
            Refusal("one-way", "r", 3, 3),
        )
    )
    assert what_more(plan) == (
        "more: name tool 3, tool 12 and the stock, and 2 more places can be looked at: "
        "--tool 3=DIAMETER --tool 12=DIAMETER --stock XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX"
    )
    assert what_more(Plan(refused=(Refusal("one-way", "r", 3, 3),))) == ""
    assert what_more(Plan()) == ""


def test_control_characters_of_the_program_cannot_steer_the_terminal():
    plan = Plan((hole(1, "a\x1b[2Jb"),), (Refusal("x", "c\x1b[2Jd", 0, 0),))
    assert "\x1b" not in render_plan(plan).plain


def test_json_has_each_place_by_itself():
    plan = Plan((hole(1, gained=2),), (Refusal("one-way", "why", 4, 9, ("stock",)),))
    assert in_json(tuple(map(proposal_record, plan.chosen))) == [
        {
            "rewrite": "approach",
            "lines": [11, 11],
            "summary": "reached from +X and +Y",
            "claim": "same cuts, other air moves",
            "reversals_gained": 2,
            "holes": 1,
            "longer": 0.0,
            "witness_marks": 0,
        }
    ]
    assert in_json(tuple(map(refusal_record, plan.refused))) == [
        {"rewrite": "one-way", "lines": [5, 10], "reason": "why", "needs": ["stock"]}
    ]


def test_the_proof_gives_each_figure_and_the_place_of_a_failure():
    proof = Proof(
        (
            Obligation("cutting path", True, "greatest distance 0.0003 mm", 0.0003, 0.002, 1, 1),
            Obligation(
                "state", False, "the feed is 300 mm/min, it was 150 mm/min", None, None, 3, 5
            ),
        )
    )
    text = render_proof(proof).plain
    assert text.splitlines()[:2] == [
        "proof: FAILED",
        "  ok    cutting path  greatest distance 0.0003 mm",
    ]
    assert "  FAIL  state         the feed is 300 mm/min" in text
    assert "line 4 before" in text
    assert "line 6 after" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    shape = in_json(proof_record(proof))
    assert shape["holds"] is False
    assert shape["obligations"][0] == {
        "name": "cutting path",
        "holds": True,
        "figure": "greatest distance 0.0003 mm",
        "value": 0.0003,
        "limit": 0.002,
        "line_before": 2,
        "line_after": 2,
        "looked": True,
    }
    assert render_proof(Proof(proof.obligations[:1])).plain.startswith("proof: holds\n")


def test_a_proof_that_says_the_same_of_everything_is_told_in_one_line():
    proof = Proof(tuple(Obligation(name, True, "same bytes") for name in ("state", "feed")))
    assert render_proof(proof).plain == "proof: holds, same bytes\n"


def test_what_is_longer_and_what_is_shorter_is_told():
    assert "1.5 mm less in the air" in render_plan(Plan((hole(1, longer=-1.5),))).plain
    assert "in the air" not in render_plan(Plan((hole(1, longer=0.01),))).plain


def test_what_else_is_needed_points_to_the_job_file():
    plan = Plan(refused=(Refusal("helix", "r", 1, 1, ("steepest ramp of tool 3",)),))
    assert what_more(plan).endswith("1 more place can be looked at: --job FILE")


def test_counts_stand_side_by_side():
    def counts(*in_cut):
        return {axis: AxisCount(n + 3, n, {}) for axis, n in zip("xyz", in_cut, strict=True)}

    assert plain(before_and_after(counts(12, 1234, 0), counts(2, 4, 0))) == [
        "reversals  cutting:  before  after  total:  before  after",
        "X                        12      2              15      5",
        "Y                     1,234      4           1,237      7",
        "Z                         0      0               3      3",
        "all                   1,246      6           1,255     15",
    ]


@pytest.mark.parametrize("word", ["dry run", "feed hold", "eye protection", "first run", "climb"])
def test_the_cautions_name_what_can_hurt(word):
    assert word in cautions().lower().replace("\n", " ")


def test_what_is_said_of_several_rewrites_is_said_once():
    refused = tuple(Refusal(name, "it has an error in line 3", 0, 8) for name in ("helix", "order"))
    text = render_plan(Plan(refused=refused)).plain
    assert text == "skipped\n  helix, order  lines 1-9\n    it has an error in line 3\n"
