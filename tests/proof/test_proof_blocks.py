"""The comparison of blocks: right for any texts, short for small changes, quick for large ones."""

from difflib import SequenceMatcher

from hypothesis import given
from hypothesis import strategies as st
from steps import steps

from gpre.proof.blocks import compare_blocks, compare_by_rank, increasing
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.proof.texts import first_missing
from gpre.source.text import SourceText

block = st.sampled_from([b"G1 X1", b"G1 X2", b"G1 X3", b"G0 Z5", b"M3", b""])
blocks = st.lists(block, max_size=30)


@given(blocks, blocks)
def test_same_blocks_are_equal_and_in_order_and_hunks_hold_the_rest(
    before: list[bytes], after: list[bytes]
) -> None:
    result = compare_blocks(before, after)
    assert all(before[one] == after[other] for one, other in result.same)
    assert list(result.same) == sorted(set(result.same))
    for (a, b), (c, d) in zip(result.same, result.same[1:], strict=False):
        assert a < c
        assert b < d
    rebuilt: list[bytes] = []
    at = 0
    for hunk in result.hunks:
        rebuilt += before[at : hunk.before] + after[hunk.after : hunk.after_end]
        at = hunk.before_end
    assert rebuilt + before[at:] == after
    assert len(result.same) + result.changed + result.gone == len(before)
    assert len(result.same) + result.changed + result.added == len(after)


@given(blocks, blocks)
def test_with_lesser_blocks_too_the_first_and_the_last_are_looked_at(
    before: list[bytes], after: list[bytes]
) -> None:
    result = compare_by_rank(before, after, lambda each: each.startswith(b"G0"))
    assert all(before[one] == after[other] for one, other in result.same)
    for (a, b), (c, d) in zip(result.same, result.same[1:], strict=False):
        assert a < c
        assert b < d
    assert len(result.same) + result.changed + result.gone == len(before)
    assert len(result.same) + result.changed + result.added == len(after)
    same = compare_by_rank(before, list(before), lambda each: each.startswith(b"G0"))
    assert not same.hunks


@given(blocks)
def test_equal_texts_have_no_hunks(before: list[bytes]) -> None:
    result = compare_blocks(before, list(before))
    assert not result.hunks
    assert len(result.same) == len(before)


@given(st.lists(st.integers(0, 999), unique=True, max_size=40), st.data())
def test_few_changes_to_many_kinds_of_blocks_are_found_as_well_as_by_difflib(
    numbers: list[int], data: st.DataObject
) -> None:
    before = [b"X%d" % number for number in numbers]
    after = list(before)
    for _ in range(data.draw(st.integers(0, 3))):
        at = data.draw(st.integers(0, len(after)))
        after[at:at] = [b"Y1"]
    for _ in range(data.draw(st.integers(0, 3))):
        if after:
            del after[data.draw(st.integers(0, len(after) - 1))]
    found = len(compare_blocks(before, after).same)
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    assert found >= sum(size for _, _, size in matcher.get_matching_blocks())


@given(st.lists(st.integers(0, 20), max_size=15))
def test_the_longest_increasing_run_is_as_long_as_by_search(values: list[int]) -> None:
    places = increasing(values)
    run = [values[at] for at in places]
    assert run == sorted(set(run))
    best = [0] * (len(values) + 1)
    for at, value in enumerate(values):
        best[at] = 1 + max((best[j] for j in range(at) if values[j] < value), default=0)
    assert len(places) == max(best, default=0)


def test_the_work_on_texts_of_repeated_blocks_grows_as_they_do() -> None:
    def compare(squares: int) -> int:
        before = [b"X1", b"Y1", b"X-1", b"Y-1"] * squares
        after = list(before)
        for at in range(500, squares * 4 - 500, 700):
            after[at:at] = [b"X0.5", b"X0.5"]
        assert len(compare_blocks(before, after).same) > squares * 2
        return steps(lambda: compare_blocks(before, after))

    assert compare(12_000) <= 4.5 * compare(3_000)


def test_what_is_missing_is_the_first_out_of_order() -> None:
    assert first_missing([b"a", b"b"], [b"x", b"a", b"x", b"b"]) is None
    assert first_missing([b"b", b"a"], [b"a", b"b"]) == 1
    assert first_missing([b"c"], [b"a"]) == 0
    assert first_missing([], []) is None


PLATE = "G21 G90 G17\n(PLATE)\nT1 M6 (END MILL)\nM3 S2000\nG0 X1 Y1 Z5\nG1 Z-1 F90\nG0 Z5\nM30\n"


def said(name: str, old: str = "", new: str = "") -> Obligation:
    assert old in PLATE
    texts = (SourceText.of(each.encode()) for each in (PLATE, PLATE.replace(old, new, 1)))
    return next(each for each in prove(*texts).obligations if each.name == name)


def test_how_many_comments_were_kept_and_added_is_told() -> None:
    assert said("comments", "G1 Z", "G01 Z").figure == "all 2 kept, 0 added"
    assert said("comments", "G1 Z", "(SLOWLY)\nG1 Z").figure == "all 2 kept, 1 added"
    assert said("comments", "G1 Z", "(SLOWLY)\n(NOW)\nG1 Z").figure == "all 2 kept, 2 added"


def test_a_new_block_is_a_comment_where_it_has_no_words_beside() -> None:
    name = "untouched blocks"
    assert said(name, "G1 Z", "(M8)\nG1 Z").holds
    for new in ("M8 (COOLANT)", "M8", "M8 (COOLANT)\n(ON)", "(COOLANT) M8"):
        found = said(name, "G1 Z", f"{new}\nG1 Z")
        assert not found.holds
        shown = new.split("\n", maxsplit=1)[0]
        assert f"new though it is more than motion: {shown}" in found.figure
        assert found.after == 5
    for old in ("(PLATE)\n", "T1 M6 (END MILL)\n"):
        assert f"gone though it is more than motion: {old.strip()}" in said(name, old).figure
