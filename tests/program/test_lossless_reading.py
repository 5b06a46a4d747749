"""Reading loses nothing, never fails, and says the same whatever way it goes."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from program_texts import assert_same, programs

from gpre.diagnostics.codes import TABLE
from gpre.program.read import read
from gpre.program.words import BlockFlag
from gpre.source.text import SourceText

ANY = st.one_of(
    st.binary(max_size=200),
    programs(),
    st.lists(
        st.sampled_from(
            [bytes([code]) for code in b"GXYNMO0123456789.+-#[]()%/:;=\t \r\n\x00\x01\xff~"]
        )
    ).map(b"".join),
)


@given(ANY)
def test_any_bytes_come_back(data: bytes) -> None:
    assert read(data).text == data


@given(ANY)
def test_columns_and_findings_fit_the_text(data: bytes) -> None:
    program = read(data)
    words, blocks, source = program.words, program.blocks, program.source
    assert len(blocks.flags) == len(blocks.number) == len(source) == len(program)
    assert blocks.first_word[0] == 0
    assert blocks.first_word[-1] == len(words.letter)
    assert np.array_equal(
        np.repeat(np.arange(len(source)), np.diff(blocks.first_word)), words.block
    )
    assert (words.start < words.end).all()
    assert (words.end[:-1] <= words.start[1:]).all()
    assert (source.starts[words.block] <= words.start).all()
    assert (words.end <= source.ends[words.block]).all()
    for finding in program.findings:
        assert finding.code in TABLE
        assert finding.message
        assert finding.span is None or 0 <= finding.span.start <= finding.span.end <= len(data)
    for block in program.statements:
        assert blocks.flags[block] & BlockFlag.STATEMENT
        assert blocks.first_word[block] == blocks.first_word[block + 1]
    statement_blocks = np.flatnonzero(blocks.flags & np.uint16(BlockFlag.STATEMENT)).tolist()
    assert statement_blocks == sorted(program.statements)


@given(ANY)
def test_what_was_not_understood_is_always_named(data: bytes) -> None:
    program = read(data)
    outside = np.uint16(BlockFlag.OUTSIDE)
    strange = np.uint16(BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE)
    flags = program.blocks.flags
    flagged = np.flatnonzero(((flags & strange) != 0) & ((flags & outside) == 0)).tolist()
    named = {program.source.block_of(each.span.start) for each in program.findings if each.span}
    assert set(flagged) <= named or any(each.code == "SRC106" for each in program.findings)


@given(programs(), st.sampled_from([1, 7, 40, 300]))
def test_the_size_of_a_chunk_changes_nothing(data: bytes, chunk: int) -> None:
    assert_same(read(data), read(data, chunk=chunk))


@given(ANY, st.integers(0, 2**20))
def test_declining_any_blocks_changes_nothing(data: bytes, mask: int) -> None:
    program = read(data)
    assert_same(program, read(data, decline=lambda block: bool(mask >> block % 20 & 1)))
    assert_same(program, read(data, decline=lambda _: True))


def test_many_comments_in_one_chunk_are_read_as_few_are() -> None:
    few = b"G1 X1 (text) Y2\n(more)\n; last (x)\n"
    many = b"N1 G1 X1 (text) Y2 (more)\n(X5)\n" * 500
    torn = b"(X1\nX2)\n" * 500
    turned = b") X1 (\n" * 500
    for data in (
        torn,
        turned,
        many + b"; X1 (\n",
        many,
        many + b"(never closed\n" + many,
        many + few + many,
        many + b"X1)\n",
    ):
        assert_same(read(data), read(data, chunk=200))
        assert_same(read(data), read(data, decline=lambda _: True))


def test_a_source_text_is_taken_as_it_is() -> None:
    source = SourceText.of(b"G1 X5\n", "plate.ngc")
    assert read(source).source is source
    assert read(b"G1", "plate.ngc").source.name == "plate.ngc"
