"""Edits as byte ranges: sorted, disjoint, and what none of them names comes back as it was."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.source.edit import Edit, EditSet, OverlapError, collide


@st.composite
def texts_and_edits(draw: st.DrawFn) -> tuple[bytes, list[Edit]]:
    """A text and disjoint edits of it, in any order."""
    kept = draw(st.lists(st.binary(min_size=1, max_size=6), min_size=1, max_size=6))
    edits, data = [], b""
    for piece in kept:
        data += piece
        old, new = draw(st.binary(max_size=4)), draw(st.binary(max_size=6))
        edits.append(Edit(len(data), len(data) + len(old), new))
        data += old
    return data + b"end", draw(st.permutations(edits))


@given(texts_and_edits())
def test_disjoint_edits_commute_and_leave_the_rest(case: tuple[bytes, list[Edit]]) -> None:
    data, edits = case
    together = EditSet.of(edits).apply(data)
    one_by_one = data
    for edit in sorted(edits, reverse=True):  # from the end, so that offsets stay true
        one_by_one = EditSet.of([edit]).apply(one_by_one)
    assert together == one_by_one
    at = 0
    for edit in sorted(edits):
        assert data[at : edit.start] in together
        at = edit.end


@given(st.binary(max_size=30))
def test_no_edit_changes_nothing(data: bytes) -> None:
    assert EditSet.of([]).apply(data) == data


@pytest.mark.parametrize(
    ("left", "right", "expected"),
    [
        (Edit(0, 3, b""), Edit(3, 4, b""), False),
        (Edit(0, 3, b""), Edit(2, 4, b""), True),
        (Edit(2, 2, b"a"), Edit(2, 2, b"b"), True),  # which comes first would be chance
        (Edit(2, 2, b"a"), Edit(2, 4, b"b"), True),
        (Edit(4, 5, b""), Edit(0, 9, b""), True),
        (Edit(0, 2, b""), Edit(2, 2, b"a"), False),
    ],
)
def test_what_collides(left: Edit, right: Edit, expected: bool) -> None:
    assert collide(left, right) is collide(right, left) is expected
    if expected:
        with pytest.raises(OverlapError):
            EditSet.of([left, right])
    else:
        assert EditSet.of([right, left]).edits == (left, right)


@pytest.mark.parametrize("edit", [Edit(-1, 0, b""), Edit(3, 2, b""), Edit(0, 9, b"")])
def test_ranges_outside_the_text_are_refused(edit: Edit) -> None:
    with pytest.raises(IndexError):
        EditSet((edit,)).apply(b"G1 X5")


def test_the_first_byte_and_the_place_before_it_may_be_edited() -> None:
    assert EditSet.of([Edit(0, 0, b"%\n")]).apply(b"G1 X5") == b"%\nG1 X5"
    assert EditSet.of([Edit(0, 2, b"G0")]).apply(b"G1 X5") == b"G0 X5"
    assert EditSet.of([Edit(0, 5, b"")]).apply(b"G1 X5") == b""
    assert EditSet.of([Edit(5, 5, b"\n")]).apply(b"G1 X5") == b"G1 X5\n"
