"""The planner: what gains nothing is declined, of two that collide the better one stays."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.rewrites.catalogue import CATALOGUE, NAMES
from gpre.rewrites.planner import choose
from gpre.source.edit import Edit, EditSet, collide


def proposal(*spans: tuple[int, int], gained: int = 1, holes: int = 0, block: int = 0) -> Proposal:
    edits = tuple(Edit(start, end, b"x") for start, end in spans)
    return Proposal("approach", edits, Claim.SAME_CUTS, "do", block, block, gained, holes)


def test_all_that_do_not_meet_are_chosen_in_order_of_place():
    late, early = proposal((20, 25), block=5), proposal((3, 3), block=1)
    plan = choose([late, early])
    assert plan.chosen == (early, late)
    assert plan.refused == ()
    assert plan.declined == ()


def test_of_two_that_collide_the_better_one_stays():
    small, large = proposal((3, 9), gained=1), proposal((8, 12), gained=3, block=2)
    plan = choose([small, large])
    assert plan.chosen == (large,)
    assert [each.reason for each in plan.refused] == ["another change at the same place gains more"]


def test_two_insertions_at_one_place_collide():
    plan = choose([proposal((3, 3), gained=2), proposal((3, 3), gained=1)])
    assert len(plan.chosen) == 1
    assert plan.chosen[0].gained == 2


def test_positions_reached_are_a_gain_and_nothing_is_none():
    nearer = replace(proposal((1, 2), gained=0, holes=1), nearer=0.02)
    plan = choose([nearer, proposal((5, 6), gained=0)])
    assert plan.chosen == (nearer,)
    assert len(plan.declined) == 1
    assert choose([proposal(gained=5)]).chosen == ()  # no edits, nothing to do


def test_what_was_asked_for_is_done_though_it_gains_nothing():
    asked = replace(proposal((1, 2), gained=0), asked=True)
    assert choose([asked]).chosen == (asked,)
    better = proposal((1, 4), gained=1, block=3)
    assert choose([asked, better]).chosen == (better,)


def test_refusals_are_sorted_by_place():
    refusals = [Refusal("approach", "b", 9, 9), Refusal("approach", "a", 2, 3)]
    assert [each.reason for each in choose(refusals).refused] == ["a", "b"]


spans = st.tuples(st.integers(0, 60), st.integers(0, 5)).map(lambda s: (s[0], s[0] + s[1]))


def disjoint(each: list[tuple[int, int]]) -> bool:
    edits = [Edit(start, end, b"") for start, end in each]
    return not any(collide(a, b) for i, a in enumerate(edits) for b in edits[i + 1 :])


@given(
    said=st.lists(
        st.tuples(st.lists(spans, min_size=1, max_size=3).filter(disjoint), st.integers(0, 4)),
        max_size=12,
    )
)
def test_chosen_edits_never_collide_and_nothing_is_lost(said):
    proposals = [
        proposal(*each, gained=gained, block=index) for index, (each, gained) in enumerate(said)
    ]
    plan = choose(proposals)
    EditSet.of(edit for each in plan.chosen for edit in each.edits)  # raises where two collide
    assert len(plan.chosen) + len(plan.refused) + len(plan.declined) == len(proposals)
    for refused in plan.refused:  # each left out does collide with one that gains as much
        mine = proposals[refused.first_block]
        assert any(
            collide(edit, other) and each.gained >= mine.gained
            for each in plan.chosen
            for other in each.edits
            for edit in mine.edits
        )


def test_the_catalogue_is_in_its_order():
    assert NAMES == (
        "straighten", "helix", "one-way", "turn-round", "order", "start-point", "approach",
        "corner-loop", "lift-over", "take-up",
    )  # fmt: skip
    for name, rewrite in CATALOGUE:
        assert rewrite.__name__ == name.replace("-", "_")
