"""Plain blocks: three scanners agree, and numbers are bit-equal to `float(text)`."""

import struct

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st
from program_texts import BLANKS, numbers, programs, words

from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.line import scan_line
from gpre.program.read import read
from gpre.program.statement import read_statement
from gpre.program.words import BlockFlag


def bits(value: float) -> bytes:
    return struct.pack("<d", value)


@given(st.lists(numbers(), min_size=1, max_size=30))
@example(["-0", "+0.", "-.0", "00000000000000000000", "0.000000000000000000001"])
@example(["9007199254740993", "123456789.123456789", "999999999999999", "99999999999999.9"])
@example(
    ["12345678", "1234567.8", ".12345678", "123456789", "12345678.", "12345678.9", "1.23456789"]
)
@example(["1" * 300, "1" * 308 + ".5", "0." + "0" * 330 + "1"])
def test_values_are_bit_equal_to_float(texts: list[str]) -> None:
    data = "\n".join(f"X{text}" for text in texts).encode()
    values = read(data).words.value
    assert [bits(value) for value in values.tolist()] == [bits(float(text)) for text in texts]


@given(st.integers(0, 10**15), st.integers(0, 15), st.sampled_from(["", "-"]))
def test_every_width_of_number_is_bit_equal_to_float(digits: int, places: int, sign: str) -> None:
    text = f"{digits:016d}"
    texts = [sign + text[at : 16 - places] + "." + text[16 - places :] for at in range(16 - places)]
    program = read("".join(f"G1X{each}F{each}\n" for each in texts).encode())
    rows = program.words.value.reshape(-1, 3)
    for each, (_, x, f) in zip(texts, rows.tolist(), strict=True):
        assert bits(x) == bits(f) == bits(float(each))


@given(st.lists(st.tuples(words(), BLANKS), min_size=1, max_size=8))
def test_bulk_one_line_and_grammar_read_the_same_words(parts: list[tuple[str, str]]) -> None:
    text = "".join(word + blank for word, blank in parts).encode()
    program = read(text)
    found = [
        (word.letter, bits(word.value.value), word.span)
        for word in block_words(program, 0)
        if isinstance(word.value, Number)
    ]
    line = scan_line(text, 0, len(text))
    assert found == [
        (chr(letter), bits(value), (start, end)) for letter, value, start, end in line.words
    ]
    statement = read_statement(text, 0, len(text), 0).statement
    assert statement is not None
    assert found == [
        (word.letter, bits(word.value.value), word.span)
        for word in statement.words
        if isinstance(word.value, Number)
    ]


@given(st.lists(st.tuples(words(), BLANKS, BLANKS), min_size=1, max_size=5), st.integers(0, 3))
def test_blanks_behind_letters_change_no_word(
    parts: list[tuple[str, str, str]], width: int
) -> None:
    loose = "".join(word[0] + " " * width + blank + word[1:] + end for word, blank, end in parts)
    tight = "".join(word for word, _, _ in parts)
    one, other = read(loose.encode()), read(tight.encode())
    assert one.words.letter.tobytes() == other.words.letter.tobytes()
    assert one.words.value.tobytes() == other.words.value.tobytes()
    assert one.blocks.flags.tolist() == other.blocks.flags.tolist()
    written = [
        loose[start:end].replace(" ", "").replace("\t", "")
        for start, end in zip(one.words.start, one.words.end, strict=True)
    ]
    assert written == [word for word, _, _ in parts]


@given(programs(odd=False))
def test_plain_blocks_are_never_statements(data: bytes) -> None:
    assert not read(data).statements


def test_the_example_of_the_standard_with_blanks_within_numbers() -> None:
    # NISTIR 6556, 3.3: "g0x +0. 12 34y 7" is equivalent to "g0 x+0.1234 y7".
    odd, plain = read(b"g0x +0. 12 34y 7"), read(b"g0 x+0.1234 y7")
    assert odd.words.value.tobytes() == plain.words.value.tobytes()
    assert odd.words.letter.tobytes() == plain.words.letter.tobytes()
    assert [each.code for each in odd.findings] == ["REA236"]
    assert not plain.findings


def test_a_word_reaches_from_its_letter_to_its_last_digit() -> None:
    data = b"G1 X 5 Y-2.50 (text)\n/N10 Z+.5"
    program = read(data)
    texts = [
        data[start:end] for start, end in zip(program.words.start, program.words.end, strict=True)
    ]
    assert texts == [b"G1", b"X 5", b"Y-2.50", b"Z+.5"]
    assert [word.span for word in block_words(program, 1)] == [(26, 30)]
    assert block_words(program, 1)[0].value.span == (27, 30)


def test_columns_have_the_types_that_are_promised() -> None:
    for data in (b"", b"G1 X5\n", b"X 5\n#1=2\n", b"G1\n" * 100_000):
        program = read(data)
        words, blocks = program.words, program.blocks
        assert words.letter.dtype == np.uint8
        assert words.value.dtype == np.float64
        assert words.start.dtype == words.end.dtype == np.int32
        assert words.block.dtype == np.int32
        assert blocks.first_word.dtype == np.int32
        assert blocks.number.dtype == np.int64
        assert blocks.flags.dtype == np.uint16


def test_block_numbers_block_delete_and_blank_blocks() -> None:
    program = read(b"N10 G1\n/N20 X1\n\n  N5\n/\n(c)\n%\nn00300x1\n  /N7X1\n")
    assert program.blocks.number.tolist() == [10, 20, -1, 5, -1, -1, -1, 300, 7]
    flags = [BlockFlag(flag) for flag in program.blocks.flags.tolist()]
    assert flags == [
        BlockFlag.NUMBERED,
        BlockFlag.NUMBERED | BlockFlag.DELETE,
        BlockFlag.BLANK,
        BlockFlag.NUMBERED | BlockFlag.BLANK,
        BlockFlag.DELETE | BlockFlag.BLANK,
        BlockFlag.COMMENT,
        BlockFlag.PERCENT,
        BlockFlag.NUMBERED,
        BlockFlag.NUMBERED | BlockFlag.DELETE,
    ]


def test_the_columns_grow_past_what_the_first_chunk_lets_expect() -> None:
    data = b"(a long comment and hardly a word beside it, forty times) X1\n" * 2000
    data += b"X1Y2Z3\n" * 60_000
    program = read(data, chunk=1 << 14)
    assert len(program.words.letter) == 2000 + 180_000
    assert program.words.value[-3:].tolist() == [1.0, 2.0, 3.0]
    assert program.words.block[-1] == 61_999
