"""The driver: runs, proves, takes back, reports; and leaves alone what it must."""

from collections.abc import Iterator

import pytest
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from known_mill import KNOWN

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.faults import ProofFault, UsageFault
from gpre.driver import rewrite as driver
from gpre.driver.origins import Origins
from gpre.driver.rewrite import Options, rewrite
from gpre.driver.trial import Trial
from gpre.editing.context import Context
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.mill.job import Box, Job
from gpre.mill.mill import Mill
from gpre.proof.directions import Directions
from gpre.proof.proof import Obligation, Proof
from gpre.proof.prove import prove
from gpre.proof.side import Pair
from gpre.source.edit import Edit, EditSet
from gpre.source.text import SourceText

GRID = b"""G21 G17 G90 G94
G0 Z5
G0 X10 Y10
G1 Z-2 F100
G0 Z5
X5
G1 Z-2
G0 Z5
X20 Y5
G1 Z-2
G0 Z5
M30
"""


def source(text: bytes) -> SourceText:
    return SourceText.of(text, "plate.ngc")


def test_rewrites_proves_and_counts():
    result = rewrite(source(GRID), KNOWN)
    assert result.changed
    assert result.proof.holds
    assert result.data.count(b"approach") == 2
    assert result.before.program.text == GRID
    assert result.after.program.text == result.data
    assert [each.rewrite for each in result.plan.chosen] == ["approach", "approach"]


def test_places_are_those_of_the_original():
    result = rewrite(source(GRID), KNOWN)
    second = result.plan.chosen[1]
    assert GRID.splitlines()[second.first_block] == b"X20 Y5"


HOLES = b"""G21 G90 G17
T3 M6
S1800 M3
G0 X11.25 Y11.25 Z25.5
G99 G83 X11.25 Y11.25 Z-12.5 R2.5 Q4.5 F80
X31.25
X31.25 Y26.25
X11.25
G80
G0 Z25.5
M5
M30
"""


def test_new_whole_numbers_have_a_point_where_all_lengths_have_one():
    """The approach to the last hole begins 1.25 mm before X11.25."""
    result = rewrite(source(HOLES), KNOWN)
    assert b"G0 X10.0 (approach X+)" in result.data
    bare = result.data.replace(b"X10.0 ", b"X10 ")
    failed = prove(source(HOLES), source(bare)).failed
    assert [each.name for each in failed] == ["readable"]


def test_no_rewrite_same_bytes():
    for options in (Options(skip=("approach",)), Options(only=("straighten",))):
        result = rewrite(source(GRID), KNOWN, options=options)
        assert result.data == GRID
        assert not result.changed
        assert result.proof.holds


def test_comments_can_be_left_out():
    assert b"(" not in rewrite(source(GRID), KNOWN, options=Options(comments=False)).data


@pytest.mark.parametrize("options", [Options(only=("smooth",)), Options(skip=("smooth",))])
def test_a_rewrite_that_does_not_exist(options: Options):
    with pytest.raises(UsageFault, match="no rewrite named smooth"):
        rewrite(source(GRID), KNOWN, options=options)


@pytest.mark.parametrize(
    "text",
    [b"", b"\n\n", b"%\n%\n", b"(nothing)\n", b"\xef\xbb\xbf", b"\x00\x01\xff", b"M30", b"G0 X1"],
)
def test_programs_without_cuts_come_back_as_they_are(text: bytes):
    result = rewrite(source(text), KNOWN)
    assert result.data == text
    assert result.proof.holds


def test_a_program_with_an_error_is_left_alone_with_the_reason():
    text = GRID.replace(b"X20 Y5", b"G2 X20 Y5")
    result = rewrite(source(text), KNOWN)
    assert result.data == text
    assert {each.rewrite for each in result.plan.refused} == set(driver.NAMES)
    assert "line 9" in result.plan.refused[0].reason
    assert [each.code for each in result.findings] == ["REW501"]


def test_what_tool_and_stock_would_give_is_one_line():
    text = GRID.replace(b"Z5", b"Z-18").replace(b"Z-2 ", b"Z-22 ").replace(b"Z-2\n", b"Z-22\n")
    result = rewrite(source(text), KNOWN)
    assert len(result.notes) == 1
    assert "the stock" in result.notes[0]
    assert "REW503" in [each.code for each in result.findings]
    known = rewrite(source(text), job=Job(stock=Box((0, 0, -40), (50, 50, -20))))
    assert known.notes == ()
    assert known.changed


def test_every_code_that_is_used_is_in_the_table():
    assert {"REW501", "REW502", "REW503"} <= set(TABLE)


def breaking(context: Context) -> Iterator[Proposal | Refusal]:
    """Three proposals, of which the second drills another hole."""
    text = context.program.text
    for number, (old, new) in enumerate(
        [
            (b"G0 X10 Y10\n", b"G0 X8 Y8\nG0 X10 Y10\n"),
            (b"X5\n", b"X6\n"),
            (b"X20 Y5\n", b"X20 Y5 \n"),
        ]
    ):
        at = text.find(old)
        if at >= 0 and new not in text:
            block = context.program.source.block_of(at)
            edit = Edit(at, at + len(old), new)
            yield Proposal("breaking", (edit,), Claim.SAME_CUTS, str(number), block, block, 1)


def test_a_change_that_breaks_its_claim_is_taken_back_alone(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(driver, "CATALOGUE", (("breaking", breaking),))
    monkeypatch.setattr(driver, "NAMES", ("breaking",))
    result = rewrite(source(GRID), KNOWN)
    assert b"G0 X8 Y8\nG0 X10 Y10\n" in result.data
    assert b"X20 Y5 \n" in result.data
    assert b"\nX5\n" in result.data
    taken = [each for each in result.plan.refused if each.reason.startswith("taken back")]
    assert [(each.first_block, each.last_block) for each in taken] == [(5, 5)]
    finding = next(each for each in result.findings if each.code == "REW502")
    assert finding.span is not None
    assert GRID[finding.span.start : finding.span.end] == b"X5"


def test_a_proof_that_fails_at_the_end_is_a_fault(monkeypatch: pytest.MonkeyPatch):
    failing = Proof((Obligation("cutting path", holds=False, figure="0.5 mm apart"),))
    monkeypatch.setattr(Trial, "whole_proof", lambda *_: failing)
    with pytest.raises(ProofFault, match="cutting path") as raised:
        rewrite(source(GRID), KNOWN)
    assert raised.value.exit_status == 4
    assert "0.5 mm apart" in raised.value.message


def test_where_the_metal_differs_what_does_it_is_taken_back(monkeypatch: pytest.MonkeyPatch):
    def judge(pair: Pair, _: Directions) -> tuple[Obligation, ...]:
        differs = b"X3.75" in pair.after.program.text
        return (Obligation("metal removed", holds=not differs, figure="0.1 mm too deep"),)

    whole = rewrite(source(GRID), KNOWN)
    assert b"X3.75" in whole.data
    monkeypatch.setattr("gpre.proof.prove.stock_obligations", judge)
    result = rewrite(source(GRID), KNOWN)
    assert result.proof.holds
    assert b"X3.75" not in result.data
    assert b"Y3.75" in result.data
    assert any("0.1 mm too deep" in each.reason for each in result.plan.refused)


def test_proofs_have_an_end(monkeypatch: pytest.MonkeyPatch):
    """Many changes that all break: halving stops, all are taken back, the rest is kept."""
    monkeypatch.setattr("gpre.driver.trial.MOST_PROOFS", 5)
    trial = Trial(source(GRID), Mill(), Job())
    at = GRID.index(b"X5\n")
    proposals = [
        Proposal("breaking", (Edit(at + 1 + step, at + 2 + step, b"7"),), Claim.SAME_CUTS, "", 5, 5)
        for step in (0, 5, 10)
    ]
    bad = [each for each in proposals if GRID[each.edits[0].start : each.edits[0].end].isdigit()]
    kept, broken = trial.keep(GRID, bad)
    assert len(kept.proposals) + len(broken) == len(bad)
    assert trial.proof(kept.data).holds


lines = st.lists(st.sampled_from([b"A", b"BB", b"", b"CCC"]), min_size=1, max_size=12)


@share(0.8)
@given(lines=lines, data=st.data())
def test_origins_follow_whole_blocks(lines: list[bytes], data: st.DataObject):
    """Blocks that no edit names keep their origin; new ones have that of their place."""
    text = b"".join(line + b"\n" for line in lines)
    old = SourceText.of(text)
    edits, expected = [], []
    for block in range(len(old)):
        do = data.draw(st.sampled_from(["keep", "keep", "drop", "before", "replace"]))
        start, end = int(old.starts[block]), old.block_end(block)
        if do == "before":
            edits.append(Edit(start, start, b"new\n"))
            expected += [block, block]
        elif do == "drop":
            edits.append(Edit(start, end, b""))
        elif do == "replace":
            edits.append(Edit(start, end, b"one\ntwo\n"))
            expected += [block, block]
        else:
            expected.append(block)
    chosen = EditSet.of(edits)
    new = SourceText.of(chosen.apply(text))
    found = Origins.same(len(old)).after(chosen, old, new)
    assert found.blocks.tolist() == expected


def test_origins_of_edits_within_a_block():
    old = SourceText.of(b"G0 X1\nG0 X2\nG0 X3\n")
    edits = EditSet.of([Edit(4, 5, b"100"), Edit(10, 11, b"200"), Edit(12, 12, b"G0 Z5\n")])
    new = SourceText.of(edits.apply(old.data))
    found = Origins.same(3).after(edits, old, new)
    assert found.blocks.tolist() == [0, 1, 2, 2]


def test_crlf_and_the_last_block_without_a_line_end():
    text = GRID.replace(b"\n", b"\r\n").removesuffix(b"\r\n")
    result = rewrite(source(text), KNOWN)
    twin = rewrite(source(GRID), KNOWN)
    assert result.data == twin.data.replace(b"\n", b"\r\n").removesuffix(b"\r\n")


def test_the_same_twice_over():
    assert rewrite(source(GRID), KNOWN) is not None
    assert rewrite(source(GRID), KNOWN).data == rewrite(source(GRID), KNOWN).data
