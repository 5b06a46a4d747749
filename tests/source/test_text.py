"""Lines of a text, against a plain walk over its bytes."""

from hypothesis import example, given
from hypothesis import strategies as st

from gpre.source.text import SourceText

BITS = st.lists(
    st.sampled_from([b"\n", b"\r", b"\r\n", b"G1", b" ", b"\xef\xbb\xbf", b"\x85", b"\x0c"])
).map(b"".join)


def lines_by_walking(data: bytes) -> list[tuple[int, int]]:
    """A line ends with LF, CR LF or a lone CR (NISTIR 6556, 3.3: CR, LF or both)."""
    at = start = 3 if data.startswith(b"\xef\xbb\xbf") else 0
    found = []
    while at < len(data):
        if data[at] not in b"\r\n":
            at += 1
            continue
        found.append((start, at))
        at += 2 if data[at : at + 2] == b"\r\n" else 1
        start = at
    if start < len(data):
        found.append((start, len(data)))
    return found


@given(BITS)
@example(b"\r")
@example(b"\xef\xbb\xbf")
@example(b"\xef\xbb\xbf\n")
def test_lines_are_those_of_a_plain_walk(data: bytes) -> None:
    source = SourceText.of(data)
    found = list(zip(source.starts.tolist(), source.ends.tolist(), strict=True))
    assert found == lines_by_walking(data)
    assert len(source) == len(found)


@given(BITS, st.integers(0, 40))
def test_places_count_from_one(data: bytes, offset: int) -> None:
    source = SourceText.of(data)
    place = source.place(min(offset, len(data)))
    assert place.line >= 1
    assert place.column >= 1


def test_a_text_longer_than_one_piece_has_all_its_lines() -> None:
    data = b"G1 X1\r\n" * 100_000
    source = SourceText.of(data)
    assert len(source) == 100_000
    assert source.block_bytes(99_999) == b"G1 X1"
    assert source.newline == b"\r\n"


def test_columns_count_characters_and_the_encoding_is_found() -> None:
    utf8 = SourceText.of("(für) X1".encode())
    assert utf8.encoding == "utf-8"
    assert utf8.place(7).column == 7
    latin = SourceText.of("(für) X1".encode("latin-1"))
    assert latin.encoding == "latin-1"
    assert latin.place(6).column == 7
    assert latin.line_text(1) == "(für) X1"
    assert latin.line_text(2) == ""


def test_newline_and_block_end_of_small_texts() -> None:
    assert SourceText.of(b"").newline == b"\n"
    assert SourceText.of(b"G1\rG2\rG3\n").newline == b"\r"
    source = SourceText.of(b"G1\nG2")
    assert (source.block_end(0), source.block_end(1)) == (3, 5)
    assert source.block_of(4) == 1
    assert SourceText.of(b"").block_of(4) == 0
    assert SourceText.of(b"").place(3) == (1, 1)
