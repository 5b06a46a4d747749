"""Every program of the corpus and every sample comes back byte for byte."""

from __future__ import annotations

from pathlib import Path

import pytest

from gpre.program.read import read

ROOT = Path(__file__).resolve().parents[2]
CORPUS = sorted((ROOT / "tests" / "identity").glob("*.ngc"))
SAMPLES = sorted((ROOT / "samples").glob("*.ngc"))


def test_corpus_is_there() -> None:
    assert len(CORPUS) >= 120
    assert len(SAMPLES) >= 8


@pytest.mark.parametrize("path", [*CORPUS, *SAMPLES], ids=lambda path: path.stem)
def test_text_comes_back_byte_for_byte(path: Path) -> None:
    data = path.read_bytes()
    program = read(data, path.name)
    assert program.text == data
    # what stands between the blocks belongs to them too: line ends alone lie outside
    source = program.source
    blocks = b"".join(
        source.data[source.starts[i] : source.block_end(i)] for i in range(len(source))
    )
    mark = b"\xef\xbb\xbf"
    assert (mark if data.startswith(mark) else b"") + blocks == data


@pytest.mark.parametrize("path", [*CORPUS, *SAMPLES], ids=lambda path: path.stem)
def test_spans_lie_in_the_text_in_order(path: Path) -> None:
    data = path.read_bytes()
    program = read(data, path.name)
    words = program.words
    assert (words.start < words.end).all()
    assert (words.end[:-1] <= words.start[1:]).all()
    for row in range(len(words.letter)):
        block = int(words.block[row])
        assert program.source.starts[block] <= words.start[row]
        assert words.end[row] <= program.source.ends[block]
        written = data[words.start[row]]
        assert written & 0xDF == words.letter[row] or chr(written) == ":"
    for finding in program.findings:
        if finding.span is not None:
            assert 0 <= finding.span.start <= finding.span.end <= len(data)


@pytest.mark.parametrize("ending", [b"\r\n", b"\r"], ids=["crlf", "cr"])
@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_other_line_ends_change_no_word(path: Path, ending: bytes) -> None:
    data = path.read_bytes()
    if b"\r" in data:
        pytest.skip("has line ends of its own")
    twin = data.replace(b"\n", ending)
    plain, other = read(data, path.name), read(twin, path.name)
    assert other.text == twin
    assert plain.words.value.tobytes() == other.words.value.tobytes()
    assert plain.words.letter.tolist() == other.words.letter.tolist()
    assert plain.words.block.tolist() == other.words.block.tolist()
    assert plain.blocks.flags.tolist() == other.blocks.flags.tolist()
    assert [f.code for f in plain.findings] == [f.code for f in other.findings]
