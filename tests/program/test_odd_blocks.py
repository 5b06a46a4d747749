"""What programs in use hold beyond the standard: each construct is read, named and kept.

The constructs themselves are common practice, no source; the rules that they break are those of
NISTIR 6556, as cited in the table of codes.
"""

import pytest

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Severity
from gpre.program.comments import comments, message
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.read import read
from gpre.program.words import BlockFlag

F = BlockFlag


def flags(program: Program, block: int = 0) -> BlockFlag:
    return BlockFlag(int(program.blocks.flags[block]))


def text_of(program: Program, block: int = 0) -> str:
    """The words of a block with plain numbers, written anew."""
    return " ".join(
        f"{word.letter}{word.value.value:g}"
        for word in block_words(program, block)
        if isinstance(word.value, Number)
    )


READABLE = [
    # text, words, flags, codes
    ("G1 X5 ; to the side (G1 X9)", "G1 X5", F.COMMENT, []),
    ("; G1 X5", "", F.COMMENT, []),
    ("(G1 X5) X7", "X7", F.COMMENT, []),
    ("(one; two) X7", "X7", F.COMMENT, []),
    ("X(five)5", "X5", F.COMMENT, []),
    ("() X7 ()", "X7", F.COMMENT, []),
    ("(never closed G1 X5", "", F.COMMENT, ["REA206"]),
    ("G1 X5 (never closed Y7", "G1 X5", F.COMMENT, ["REA206"]),
    ("(one (two) three) X7", "X7", F.COMMENT, ["REA207"]),
    ("// second side", "", F.COMMENT, ["REA252"]),
    ("G1 X5 // to the side", "G1 X5", F.COMMENT, ["REA252"]),
    ("/G1 X5", "G1 X5", F.DELETE, []),
    ("/ N10 G1 X5", "G1 X5", F.DELETE | F.NUMBERED, []),
    ("/2 G1 X5", "G1 X5", F.DELETE, ["REA253"]),
    ("N10 /G1 X5", "G1 X5", F.DELETE | F.NUMBERED, ["REA256"]),
    ("%", "", F.PERCENT, ["REA249"]),
    (" % (title)", "", F.PERCENT | F.COMMENT, ["REA249"]),
    ("%%", "", F.PERCENT, ["REA241", "REA249"]),
    ("% CLAMP RING", "", F.PERCENT, ["REA249", "REA243"]),
    ("%O1001", "O1001", F.PERCENT | F.PROGRAM_NUMBER, ["REA242", "REA249"]),
    ("%G90 G21", "G90 G21", F.PERCENT, ["REA242", "REA249"]),
    ("M30 %", "M30", F.PERCENT, ["REA242"]),
    ("O1234", "O1234", F.PROGRAM_NUMBER, []),
    ("o0007 (mirror cell)", "O7", F.PROGRAM_NUMBER | F.COMMENT, []),
    ("N10 O1234", "O1234", F.PROGRAM_NUMBER | F.NUMBERED, []),
    ("O1000 G90 G21", "O1000 G90 G21", F.PROGRAM_NUMBER, []),
    (":1001", "O1001", F.PROGRAM_NUMBER, ["REA255"]),
    (": 10 G1 X5", "G1 X5", F.NUMBERED, ["REA255"]),
    ("N123456 G1 X5", "G1 X5", F.NUMBERED, ["REA211"]),
    ("N000009 G1 X5", "G1 X5", F.NUMBERED, ["REA211"]),
    ("G1 X#1 M#2 M3 M4 M5 M6", "G1 M3 M4 M5 M6", F.STATEMENT, ["REA213"]),
    ("G65 P#1 A1 A2", "G65 A1 A2", F.STATEMENT | F.FLOW, ["REA222"]),
    ("X10 20", "X1020", F(0), ["REA236"]),
    ("X - 2", "X-2", F(0), ["REA236"]),
    ("X -2", "X-2", F(0), []),
    ("M3 M7 M8 M48 M0", "M3 M7 M8 M48 M0", F(0), ["REA213"]),
    ("M98 P1000 L2", "M98 P1000 L2", F(0), []),
    ("M99", "M99", F(0), []),
    ("M97 P100", "M97 P100", F.FLOW, ["REA222"]),
    ("G65 P9010 A1 B2 I1 J2 I3", "G65 P9010 A1 B2 I1 J2 I3", F.FLOW, ["REA222"]),
    ("G66.1 P9010", "G66.1 P9010", F.FLOW, ["REA222"]),
    ("G70 G90", "G70 G90", F(0), ["REA218"]),
    ("G71", "G71", F(0), ["REA218"]),
    ("G0 G90 G54 X1 Y2", "G0 G90 G54 X1 Y2", F(0), []),
    ("G1 X5 (" + "long " * 60 + ")", "G1 X5", F.COMMENT, ["SRC102"]),
]


@pytest.mark.parametrize(("text", "words", "expected", "codes"), READABLE)
def test_what_is_clear_is_read(
    text: str, words: str, expected: BlockFlag, codes: list[str]
) -> None:
    program = read(text.encode())
    assert text_of(program) == words
    assert flags(program) == expected
    assert [each.code for each in program.findings] == codes
    assert program.text == text.encode()


REFUSED = [
    ("MO6", "REA203", "MO"),
    ("G1 XO.5", "REA203", "XO"),
    ("T1 MO6", "REA203", "MO"),
    ("X1O5", "REA214", "O5"),
    ("N10 21 G40", "REA204", "21"),
    ("......", "REA204", "......"),
    (". . . .", "REA204", ". . . ."),
    ("X1.2.3", "REA204", ".3"),
    ("X1(one)2", "REA204", "2"),
    ("X--3", "REA205", "X--3"),
    ("X-", "REA205", "X-"),
    ("X.", "REA205", "X."),
    ("G1 X Y5", "REA202", "X"),
    ("SECOND SIDE", "REA202", "S"),
    ("X1)", "REA208", ")"),
    ("G1 N20 X5", "REA209", "N"),
    ("N10 N20 X5", "REA209", "N"),
    ("N10.5 X5", "REA210", "N10.5 "),
    ("N-1 X5", "REA210", "N-1 "),
    ("N X5", "REA210", "N"),
    ("G1 X1 Y2 X3", "REA212", "X3"),
    ("G1 X1 Y2 X#3", "REA212", "X#3"),
    ("G1 V#3", "REA214", "V#3"),
    ("X1234567.89012345.6", "REA204", ".6"),
    ("X12345678901.2345.6", "REA204", ".6"),
    ("X1.2345678.9", "REA204", ".9"),
    ("X5-3", "REA204", "-3"),
    ("G1 X1E-3", "REA214", "E-3"),
    ("G1 X1 U2 Y3", "REA214", "U2"),
    ("G1 V1", "REA214", "V1"),
    ("G1 O5", "REA214", "O5"),
    ("O12.5", "REA214", "O12.5"),
    ("G70 I20 J30 L6", "REA219", "G70"),
    ("X5,5", "REA201", ","),
    ("X5 *71", "REA201", "*"),
    ("X=5", "REA202", "X"),
    ("X5 \x0c", "REA201", "\x0c"),
    ("X5 \x01", "REA201", "\x01"),
    ("G1 X5 % Y7", "REA201", "%"),
    ("G1 X5 /Y7", "REA250", "/"),
    ("//G1 X5", "REA251", "//"),
    ("//#1=5", "REA251", "//"),
    ("// GOTO 10", "REA251", "//"),
    ("G1 X5 // Y7", "REA251", "//"),
    (": G1 X5", "REA254", ":"),
    ("(one (two) X5", "REA207", "("),
    ("X" + "1" * 400, "REA205", "X" + "1" * 400),
    ("(one) X" + "1" * 400, "REA205", "X" + "1" * 400),
]


@pytest.mark.parametrize(("text", "code", "place"), REFUSED)
def test_what_is_not_understood_is_named_and_kept(text: str, code: str, place: str) -> None:
    program = read(b"G21\n" + text.encode() + b"\nG1 Y1 Z9")
    finding = next(each for each in program.findings if each.code[:3] == "REA")
    assert finding.code == code
    assert finding.span is not None
    assert program.text[finding.span.start : finding.span.end].decode() == place
    assert flags(program, 1) & F.UNREADABLE
    assert finding.help
    assert flags(program, 2) == F(0)
    assert text_of(program, 2) == "G1 Y1 Z9"


@pytest.mark.parametrize("text", [text for text, *_ in READABLE] + [text for text, *_ in REFUSED])
@pytest.mark.parametrize("newline", ["\r\n", "\r"])
def test_line_ends_change_nothing(text: str, newline: str) -> None:
    one = read(f"G21\n{text}\nM5\n".encode())
    other = read(f"G21{newline}{text}{newline}M5{newline}".encode())
    assert one.blocks.flags.tolist() == other.blocks.flags.tolist()
    assert one.words.value.tolist() == other.words.value.tolist()
    assert [each.code for each in one.findings] == [each.code for each in other.findings]


EXAMPLES = {
    "SRC101": "X1\x00",
    "SRC102": "(" + "x" * 300 + ")",
    "SRC103": "X1 " * 30_000,
    "SRC104": "",
    "SRC105": "\ufeff%",
    "SRC106": "\x00G\x001\x00" * 400,
    "REA217": "G71 P10 Q90 U0.5 W0.1 F0.2",
    "REA232": "X[1" + "+1" * 1000 + "]",
    "REA242": "M30 %",
    "REA245": "CLAMP RING\n%\nG1 X1\n%",
    "REA246": "G21 G90\n%\nG1 X1\n%",
    "REA247": "%\n%\nG1 X1\n%",
    "REA248": "%\nG1 X1\n%\nG0 X5",
    "REA249": "%\nG1 X1\nM30",
}


@pytest.mark.parametrize("code", [code for code in TABLE if code[:3] in {"SRC", "REA"}])
def test_every_code_of_the_reader_is_found_on_its_example(code: str) -> None:
    text = EXAMPLES.get(code, TABLE[code].example)
    assert code in {each.code for each in read(text.encode()).findings}


BLOCKS = [  # of what stands instead: those that are a block, not advice
    entry.instead
    for code, entry in TABLE.items()
    if code[:3] == "REA" and not entry.instead.endswith(".") and "," not in entry.instead
]


@pytest.mark.parametrize("text", [text for text in BLOCKS if " for " not in text])
def test_what_stands_instead_of_a_fault_is_clean(text: str) -> None:
    found = {each.code for each in read(text.encode()).findings}
    assert not {each for each in found if TABLE[each].severity is not Severity.NOTE} - {"REA221"}


def test_the_program_of_a_lathe_is_named_and_its_blocks_flagged() -> None:
    program = read(
        b"%\nG50 S2000\nG96 S180 M3\nG0 X40 Z2\nG71 P10 Q90 U0.5 W0.1 F0.2\n"
        b"G1 X30 Z-5\nG90 X28 Z-20\nG1 U2 W-3\nG97 S500\n%\n"
    )
    lathe = [block for block in range(len(program)) if flags(program, block) & F.LATHE]
    assert lathe == [1, 2, 4, 6, 7]
    assert "REA217" in {each.code for each in program.findings}
    assert not any(flags(program, block) & F.UNREADABLE for block in range(len(program)))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("G71\nG1 X5 Y5", "REA218"),  # a mill's: units
        ("G96 S100\nG71\nG1 X5 Z5", "REA216"),  # a lathe's: a cycle
        ("G1 U5\nX1 Y1", "REA214"),  # a mill's: a letter that is not known
        ("G1 U5\nX1 Z1", "REA216"),  # a lathe's: an increment
        ("G76 X5 Y5 Q1 R2 Z-5 F50\nU1 Y1", "REA214"),
        ("G96 S100\nG1 V5 Z1", "REA214"),  # not even a lathe's
        ("G92 X0 Z0\nG1 X5", None),  # a mill's: an offset
        ("G96 S100\nG92 X20 Z-5", "REA216"),  # a lathe's: a thread
    ],
)
def test_the_program_decides_what_a_code_means(text: str, code: str | None) -> None:
    codes = {each.code for each in read(text.encode()).findings}
    assert (code in codes) if code else not codes


def test_comments_of_a_block_and_messages() -> None:
    program = read(
        b"(MSG, dry run) G1\n(one) X1 (two) ; three\n( m s g, Hand on hold )\n(MSG, a) (b)\nX1\n"
        b"(open\n"
    )
    texts = [
        [program.text[span.start : span.end].decode() for span in comments(program, block)]
        for block in range(len(program))
    ]
    assert texts == [
        ["(MSG, dry run)"],
        ["(one)", "(two)", "; three"],
        ["( m s g, Hand on hold )"],
        ["(MSG, a)", "(b)"],
        [],
        ["(open"],
    ]
    # Only the last comment of a line counts (NISTIR 6556, 3.3.5).
    assert [message(program, block) for block in range(len(program))] == [
        "dry run",
        "",
        "Hand on hold",
        "",
        "",
        "",
    ]


def test_comments_in_either_encoding() -> None:
    for encoding in ("latin-1", "utf-8"):
        data = "(MSG, Spannhöhe prüfen) G1 X5".encode(encoding)
        program = read(data)
        assert message(program, 0) == "Spannhöhe prüfen"
        assert text_of(program) == "G1 X5"
        assert program.text == data


def test_a_byte_order_mark_belongs_to_no_block() -> None:
    program = read(b"\xef\xbb\xbf%\nG1 X5\n%\n")
    assert flags(program, 0) == F.PERCENT
    assert [each.code for each in program.findings] == ["SRC105"]
    assert read(b"\xef\xbb\xbf").findings[0].code in {"SRC104", "SRC105"}


def test_long_lines_are_read_up_to_a_limit() -> None:
    program = read(b"X1 (" + b"x" * 60_000 + b")\nX2\n")
    assert program.words.value.tolist() == [1.0, 2.0]
    program = read(b"G1 X1 " * 100_000 + b"\nX2\n")
    assert program.words.value.tolist() == [2.0]
    assert flags(program, 0) == F.UNREADABLE
    assert [each.code for each in program.findings] == ["SRC103", "SRC102"]


def test_a_line_of_any_length_costs_no_memory_of_its_own() -> None:
    long = b"X1 " * 100_000
    for data in (long, b"X1\n" + long + b"\nX2", long + b"\n" + long + b"\nX2\n"):
        program = read(data)
        assert program.text == data
        wide = (program.source.ends - program.source.starts) > 100_000
        assert (program.blocks.flags[wide] == F.UNREADABLE).all()
        assert (program.blocks.flags[~wide] == 0).all()


def test_words_of_a_lathe_in_calculated_blocks() -> None:
    program = read(b"G96 S#1\nG1 U#2 Z5\nX[1] G#5")
    assert flags(program, 0) == F.STATEMENT | F.LATHE
    assert flags(program, 1) == F.STATEMENT | F.LATHE
    assert flags(program, 2) == F.STATEMENT


def test_block_numbers_of_too_many_digits_to_count_with() -> None:
    program = read(b"N123456789012345678 X1\nN1234567890123456789 X2\nN1234567890123456 X3\n")
    assert program.blocks.number.tolist() == [123456789012345678, -1, 1234567890123456]
    assert program.words.value.tolist() == [1.0, 2.0, 3.0]
    assert [each.message[:1] for each in program.findings] == ["3"]


def test_what_is_no_text_is_not_looked_at() -> None:
    data = bytes(range(256)) * 400
    program = read(data)
    assert program.text == data
    assert [each.code for each in program.findings] == ["SRC106"]
    assert all(flags(program, block) == F.UNREADABLE for block in range(len(program)))
    assert not len(program.words.letter)
