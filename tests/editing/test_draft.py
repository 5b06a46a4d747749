"""Drafts and places: the text that follows from moves, and what a Skip amounts to.

What is written is held to what the interpreter reads from it afterwards.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from known_mill import KNOWN

from gpre.cuts.find_cuts import find_cuts
from gpre.editing.at_each import at_all, at_each
from gpre.editing.context import Context
from gpre.editing.draft import Draft
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.editing.skip import Skip, skip_if
from gpre.mill.job import Job
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.source.decimals import UnwritableError
from gpre.source.edit import EditSet
from gpre.source.text import SourceText

# a groove and a square corner of our mirror cell (invented); the last cut is incremental
TEXT = b"""N10 G21 G90 G17 G94
N20 S1000 M3
N30 G0 X0 Y0 Z5
N40 X10 Y10
N50 G1 Z-1 F100
N60 X30 F200
N70 G2 X40 Y0 I0 J-10
N80 G0 Z5
N90 G91
N100 G1 X5 F150
N110 X5
N120 G90 G0 X0 Y0
N130 M2
"""


def context_of(text: bytes = TEXT) -> Context:
    program = read(SourceText.of(text, "cell.ngc"))
    motion = trace(program, KNOWN.controller)
    return Context(program, motion, find_reversals(motion), find_cuts(motion), KNOWN, Job())


def row_of(context: Context, number: int) -> int:
    """Return the row of the move that the block of a number makes."""
    block = int(np.flatnonzero(context.program.blocks.number == number)[0])
    return int(context.editable.first_row[block])


def written(draft: Draft) -> bytes:
    return EditSet.of(draft.edits).apply(draft.context.program.source.data)


def places(text: bytes) -> list[tuple[int, float, float, float, float]]:
    motion = trace(read(SourceText.of(text, "new.ngc")), KNOWN.controller)
    feeds = np.where(motion.kind == Kind.RAPID, 0.0, motion.feed)
    columns = (motion.kind.tolist(), *motion.end.T.tolist(), feeds.tolist())
    return [tuple(each) for each in zip(*columns, strict=True)]


@pytest.mark.parametrize("number", [40, 50, 60, 70, 100, 110])
def test_what_is_inserted_leaves_all_that_follows_as_it_was(number):
    context = context_of()
    row, draft = row_of(context, number), Draft(context)
    track = draft.track(row)
    here = track.position.copy()
    np.testing.assert_allclose(here, context.motion.start[row])
    track.rapid((None, None, here[2] + 2.0))
    track.line((None, None, here[2]), 80.0)
    draft.insert(row, track)
    new = places(written(draft))
    old = places(TEXT)
    assert new[row][0] == Kind.RAPID
    assert new[row + 1] == (Kind.LINE, *here.tolist(), 80.0)
    np.testing.assert_allclose(new[:row] + new[row + 2 :], old, atol=1e-9)


def test_what_is_replaced_is_cut_backwards_and_what_follows_is_the_same():
    context = context_of()
    first, last = row_of(context, 60), row_of(context, 70) + 1
    draft = Draft(context)
    track = draft.track(first, last)
    end = context.motion.end[last - 1]
    track.rapid((None, None, 5.0))
    track.rapid((end[0], end[1], None))
    track.line((None, None, float(end[2])), 100.0)
    for row in range(last - 1, first - 1, -1):
        track.cut(context.motion, row, context.motion.start[row], share=-1.0)
    track.rapid((None, None, 5.0))
    track.rapid((end[0], end[1], None))
    draft.replace(first, last, track)
    new, old = places(written(draft)), places(TEXT)
    assert [each[0] for each in new[first : first + 5]] == [0, 0, 1, 2, 1]
    assert new[first + 3] == (Kind.ARC, 30.0, 10.0, -1.0, 200.0)
    np.testing.assert_allclose(new[-(len(old) - last) :], old[last:], atol=1e-9)
    assert b"N90 G91" in written(draft)


def test_a_proposal_names_all_blocks_that_it_replaces():
    context = context_of()
    first, last = row_of(context, 60), row_of(context, 70) + 1
    draft = Draft(context)
    draft.edits.append(context.editable.dropped(4))
    proposal = draft.proposal("example", Claim.SAME_METAL, "what", (first, last), 3)
    assert (proposal.first_block, proposal.last_block) == (4, 6)
    assert (proposal.gained, proposal.seconds, proposal.gained_by_axis) == (3, None, None)


def test_a_track_for_blocks_that_must_stay_is_a_skip():
    context = context_of(TEXT.replace(b"N60 X30", b"/N60 X30"))
    with pytest.raises(Skip, match="switched off"):
        Draft(context).track(row_of(context, 60), row_of(context, 60) + 1)


def test_an_axis_is_reached_in_the_way_in_which_it_goes_on():
    """The table follows the screw in the way in which that last turned (lash model)."""
    context = context_of()
    row, draft = row_of(context, 50), Draft(context)
    track = draft.track(row)
    ways = np.array([-1, 1, 0], np.int8)
    assert draft.turning(track, ways) == [0]  # X came up to 10, Y goes on as it came
    draft.arrive(track, context.motion.start[row], ways, row)
    assert track.heading.tolist()[:2] == [-1, 1]
    assert draft.turning(track, ways) == []
    np.testing.assert_allclose(track.position, context.motion.start[row])


@dataclass(frozen=True)
class Place:
    first: int
    last: int
    fault: Exception | None = None


def test_a_skip_becomes_a_refusal_with_its_place_and_the_next_one_is_asked_all_the_same():
    context = context_of()
    done = Proposal("example", (), Claim.SAME_PATH, "done", 0, 0)
    asked = [
        Place(1, 3, Skip("there is no room", ("stock",))),
        Place(2, 3, UnwritableError("a feed must be above zero")),
        Place(0, 1),
        Place(3, 4),
    ]

    def propose(place: Place) -> Proposal | None:
        if place.fault is not None:
            raise place.fault
        return done if place.first else None

    first, second, third = at_each("example", context, asked, propose)
    blocks = context.motion.block.tolist()
    assert first == Refusal("example", "there is no room", blocks[1], blocks[2], ("stock",))
    assert second == Refusal(
        "example",
        "the new blocks cannot be written: a feed must be above zero",
        blocks[2],
        blocks[2],
    )
    assert third is done


def test_a_refusal_of_all_names_all_blocks():
    context = context_of()

    def propose() -> Proposal:
        raise Skip("it is not understood")

    (refusal,) = at_all("example", context, propose)
    assert refusal == Refusal("example", "it is not understood", 0, len(context.program) - 1)


def test_no_reason_is_no_skip():
    skip_if("")
    skip_if("", ("stock",))
    with pytest.raises(Skip) as caught:
        skip_if("why", ("tool 3",))
    assert (caught.value.reason, caught.value.needs) == ("why", ("tool 3",))
