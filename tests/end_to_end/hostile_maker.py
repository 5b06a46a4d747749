"""Programs by chance that nobody would write: all kinds of blocks, mistyped, in any order."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

from bore_jobs import bore_job
from mutations import mutated
from random_jobs import random_job

Block = Callable[[Random], str]

ROOT = Path(__file__).resolve().parents[2]
HEADS = [
    "",
    "%",
    "O1",
    "G21 G17 G90 G94",
    "G20",
    "G91",
    "G18 G21",
    "G19",
    "G90.1",
    "G93",
    "G95 S900",
]
ENDS = ["M2", "M30", "M2\n%", "", "M99", "M30\nO5\nG91 G1 X1 F50\nM99"]
MODES = [
    *("G17", "G18", "G19", "G20", "G21", "G40", "G41 D1", "G42", "G43 H1", "G43.1 K2", "G49"),
    *("G54", "G55", "G59.3", "G61", "G61.1", "G64", "G64 P0.01", "G80", "G90", "G91", "G90.1"),
    *("G91.1", "G92 X1 Y1", "G92.1", "G92.2", "G92.3", "G93", "G94", "G95", "G98", "G99", "G96"),
    *("G10 L2 P1 X1 Y2 Z3", "G10 L20 P2 X0", "G52 X1", "G15", "G16", "G50", "G51 P2", "G68 R30"),
    *("G28", "G28 Z0", "G30", "G53 G0 Z0", "G4 P1", "G4 X2", "G187 P1", "G12 I5", "G31 Z-3 F9"),
]
SWITCHES = [
    *("M0", "M1", "M3 S900", "M4 S1200", "M5", "M6 T2", "T3", "M6", "M7", "M8", "M9", "M19"),
    *(
        "M48",
        "M49",
        "M50",
        "M60",
        "M62 P1",
        "M100",
        "S0",
        "S-5",
        "F0",
        "F120",
        "F-3",
        "F1e3",
        "T-1",
    ),
]
FLOW = [
    *("M98 P5", "M98 P5 L3", "M98 P1", "M97 P10", "M99 P20", "M98", "M98 L2", "G65 P9010 A1 B2"),
    *(
        "G66 P9 X1",
        "G67",
        "IF [#1 GT 2] GOTO 10",
        "IF [#1 EQ 0] THEN #2=3",
        "GOTO 99",
        "WHILE [1] DO1",
    ),
    *(
        "END1",
        "O5",
        "O7 SUB",
        "O7 ENDSUB",
        "O7 CALL",
        "O<box> SUB",
        "O<box> ENDSUB",
        "O9 REPEAT [3]",
    ),
    *(
        "O9 ENDREPEAT",
        "O2 IF [#3 LT 1]",
        "O2 ELSE",
        "O2 ENDIF",
        "O3 WHILE [#1 LT 5]",
        "O3 ENDWHILE",
    ),
]
ODD = [
    *(
        "%",
        "%%",
        "//",
        "/",
        "/1 G1 X1",
        ";",
        "(",
        "()",
        ")",
        "((x))",
        "(x",
        "[",
        "]",
        "#",
        "#=",
        "#1",
        "=",
    ),
    *(
        "N",
        "N1",
        "N-1",
        "N1.5",
        "N99999999",
        "G",
        "G1.234",
        "G1000",
        "M-3",
        "X",
        "X-",
        "X--1",
        "X+-1",
    ),
    *(
        "X.",
        "X..1",
        "X1.2.3",
        "X1,5",
        "XX1",
        "1X",
        "Xl0",
        "MO6",
        "GO X1",
        "X 1 Y 2",
        "X1e5",
        "X1E-400",
    ),
    *(
        "G1 G0 X1",
        "G2 G3",
        "X1 X2",
        "F1 F2",
        "hello world",
        "<html>",
        "$H",
        "?",
        "!",
        "*51",
        "&",
        "@",
    ),
    *(
        "@name",
        "#<a>=1",
        "#<a",
        "G1 X#<a>",
        "\x1b[2J",
        "\t",
        " ",
        "\x0c",
        "\x7f",
        "'",
        '"',
        "\\",
        "|",
        "~",
    ),
    *(
        "MSG",
        "(MSG, x)",
        "(DEBUG, #1)",
        "(PRINT,",
        "G1(x)X(y)1(z)",
        "G 1 X 1 . 5",
        "G01X1Y1F1M3S1T1H1D1",
    ),
]
FUNCTIONS = [
    "SIN",
    "COS",
    "TAN",
    "ASIN",
    "ACOS",
    "ATAN",
    "SQRT",
    "ABS",
    "ROUND",
    "FIX",
    "FUP",
    "LN",
    "EXP",
]
OPERATORS = ["+", "-", "*", "/", "**", " MOD ", " AND ", " OR ", " XOR ", " GT ", " EQ "]
ODD_BYTES = [
    b"\xff",
    b"\xfe\xff",
    b"\x80",
    b"\xc3\x28",
    b"\xef\xbb\xbf",
    b"\x1a",
    b"\x00",
    b"\xe4",
    b"\r",
]


def hostile_program(seed: int) -> bytes:
    """Return the text of program `seed`: blocks by chance, a job gone wrong, or both mixed."""
    random = Random(seed)
    way = random.random()
    if way < 0.5:
        text = _soup(random)
    elif way < 0.75:
        text = _job_among_blocks(random)
    elif way < 0.9:
        text = mutated(_job(random), random)
    else:
        text = mutated(_from_corpus(random), random)
    for _ in range(random.choice([0, 0, 0, 1, 2])):
        at = random.randint(0, len(text))
        text = text[:at] + random.choice(ODD_BYTES) + text[at + random.randint(0, 2) :]
    return text


def _job(random: Random) -> bytes:
    maker = random.choice([random_job, bore_job])
    return maker(random.randrange(1_000)).text


def _from_corpus(random: Random) -> bytes:
    paths = sorted((ROOT / "tests" / "identity").glob("*.ngc"))
    return random.choice([text for path in paths if (text := path.read_bytes()).strip()])


def _soup(random: Random) -> bytes:
    wild = random.choice([0.0, 0.0, 0.0, 0.1, 1.0])
    lines = [random.choice(HEADS) for _ in range(random.randint(0, 3) if wild else 1)]
    if random.random() < 0.7 or not wild:
        lines += ["G0 Z5", "G1 X0 Y0 Z-1 F100"]
    for _ in range(random.randint(1, 40)):
        lines.append(_line(random) if random.random() < wild else _sound(random))
        if random.random() < 0.2:  # the same again: passes, rounds and rows of holes
            lines += [lines[-1]] * random.randint(1, 4)
    return _written([*lines, random.choice(ENDS)], random)


def _job_among_blocks(random: Random) -> bytes:
    lines = _job(random).decode("latin-1").splitlines()
    for _ in range(random.randint(1, 5)):
        lines.insert(random.randint(0, len(lines)), _line(random))
    return _written(lines, random)


def _written(lines: list[str], random: Random) -> bytes:
    end = random.choice(["\n", "\n", "\n", "\r\n", "\r\n", "\r"])
    text = end.join(lines) + random.choice(["", end])
    return (text or "%").encode("latin-1")


def _sound(random: Random) -> str:
    """Return a block that hardly a controller would refuse; often a few that go together."""
    x, y, z = (random.choice([0, 5, 10, -10, 20, 3.25, 12.7]) for _ in range(3))
    turn, radius = random.choice(["G2", "G3"]), random.choice([5, 8, -2.5])
    blocks = [
        *(
            [
                f"X{x} Y{y}",
                f"G1 X{x}",
                f"G1 Y{y} F200",
                f"G1 X{x} Y{y} Z{-z / 10:g}",
                f"X{x}\nX{-y}",
            ]
            * 2
        ),
        *(
            f"G0 X{x} Y{y}",
            f"G0 Z{abs(z)}",
            f"G1 Z{-abs(z) / 10:g} F60",
            f"G91 X{x}\nG90",
            f"#1={x}",
        ),
        *(f"{turn} I{radius}", f"{turn} J{radius} Z-{abs(z) / 4:g}", f"{turn} I{radius} P3 Z-2"),
        f"G0 Z5\nX{x} Y0\nG1 Z-2\n{turn} X{x} Y0 I{radius} J0\nG0 Z5",
        f"G1 X10 Y0\n{turn} X0 I-5\nG1 Y-8\n{turn} X10 R6\nG1 Y0",
        f"G90 G1 X0 Y0\nX40\nY5\nX0\nY{y}\nX40",
        f"G17 G0 X{x} Y{y}\nG2 I5 Z-1\nG2 I5 Z-2\nG2 I5 Z-3\nG2 I5\nG{random.randint(0, 1)} Z1",
        f"G98 G81 X{x} Y{y} Z-3 R2\nX{y} Y{x}\nX30\nG80",
        f"G99 G83 Z-6 R1 Q{random.choice([0.5, 2])}\nX{x}\nY{y} L2\nG80",
        f"G0 Z3\nX{x} Y{y}\nG1 Z-4\nG0 Z3\nX{y} Y{x}\nG1 Z-4\nG0 Z3",
        f"G1 X[#1+{x}] Y[{y}/2]",
        f"G18 {turn} X10 Z0 R9\nG17",
        random.choice(
            ["M0", "M1", "M8", "M9", "T2 M6", "T1 M6", "S900 M3", "G4 P1", "M5", "(rim)"]
        ),
        random.choice(
            ["G20", "G21", "G54", "G55", "G64", "G61", "G92 X1", "G92.1", "G43 H1", "G49"]
        ),
        random.choice(
            ["M98 P5", "M98 P5 L3", "G28 Z0", "G53 G0 Z0", "/G1 X3", "G93\nG1 X1 F5\nG94"]
        ),
        random.choice(
            ["G91", "G90", "G90", "G91.1", "G98", "G94", "G40", "G80", "F90", "N10", "; x"]
        ),
    ]
    return random.choice(blocks)


def _line(random: Random) -> str:
    kinds: list[Block] = [
        *([_straight] * 6),
        *([_arc] * 4),
        *([_bare] * 3),
        *([_cycle] * 2),
        *([_parameter] * 2),
        lambda r: r.choice(MODES),
        lambda r: r.choice(SWITCHES),
        lambda r: r.choice(FLOW),
        lambda r: r.choice(ODD),
        _several,
    ]
    text = random.choice(kinds)(random)
    if random.random() < 0.15:
        text = f"N{random.randint(0, 999)} {text}"
    if random.random() < 0.08:
        text = random.choice(["/", "/2"]) + text
    if random.random() < 0.1:
        text += random.choice([" (rim)", " ; rim", "(", " M8", " F90", " G91", " *12"])
    if random.random() < 0.1:
        text = text.lower()
    if random.random() < 0.06:  # a key missed, hit twice, or the one beside it
        at = random.randrange(len(text) + 1)
        text = text[:at] + random.choice(["", ".", "-", "O", " ", "#", "[", "5"]) + text[at + 1 :]
    return text


def _number(random: Random) -> str:
    way = random.random()
    if way < 0.75:
        return f"{random.choice([0, 1, 5, 10, -10, 20, 3.25, -0.5, 0.001, 12.7]):g}"
    if way < 0.85:
        return f"{random.uniform(-50, 50):.{random.randint(0, 6)}f}"
    if way < 0.95:
        return _expression(random, random.randint(1, 3))
    return random.choice(
        ["1e9", "99999999", "-0", ".5", "5.", "00005", "1" * 30, "0.0000001", "+3", ""]
    )


def _expression(random: Random, deep: int) -> str:
    if deep == 0:
        return random.choice(["1", "2.5", "0", "#1", "#2", "#5161", "#[1+1]", "-3", "90"])
    way = random.random()
    inner = _expression(random, deep - 1)
    if way < 0.3:
        return f"{random.choice(FUNCTIONS)}[{inner}]"
    if way < 0.35:
        return f"ATAN[{inner}]/[{_expression(random, 0)}]"
    if way < 0.45:
        return f"#{random.randint(0, 6000)}"
    return f"[{inner}{random.choice(OPERATORS)}{_expression(random, deep - 1)}]"


def _words(random: Random, letters: str, most: int = 3) -> str:
    chosen = random.sample(letters, random.randint(1, min(most, len(letters))))
    return " ".join(letter + _number(random) for letter in chosen)


def _straight(random: Random) -> str:
    feed = random.choice(["", "", f" F{random.choice([50, 120, 400])}"])
    return f"{random.choice(['G0', 'G1', 'G1', 'G00', 'G01'])} {_words(random, 'XYZ')}{feed}"


def _bare(random: Random) -> str:
    return _words(random, random.choice(["XYZ", "XYZ", "XY", "Z", "XYZABCUVW"]))


def _arc(random: Random) -> str:
    code = random.choice(["G2", "G3", ""])
    way = random.random()
    if way < 0.3:  # a whole round about a centre, or a turn of a thread
        return (
            f"{code} I{random.choice([5, -5, 8, 2.5])}{random.choice(['', ' Z-2', ' P3', ' J1'])}"
        )
    if way < 0.5:  # half a round and back
        return f"{code} X{random.choice([10, 0])} Y0 I{random.choice([5, -5])} J0"
    if way < 0.75:
        return f"{code} {_words(random, 'XYZ')} R{_number(random)}"
    return f"{code} {_words(random, 'XYZ')} {_words(random, 'IJK')}"


def _cycle(random: Random) -> str:
    code = random.choice(["G73", "G81", "G81", "G82", "G83", "G84", "G85", "G86", "G89", "G81.1"])
    return f"{random.choice(['', 'G98 ', 'G99 '])}{code} {_words(random, 'XYZRQPL', 6)}"


def _parameter(random: Random) -> str:
    name = random.choice(["#1", "#2", "#100", "#5221", "#0", "#[#1]", "#<rim>", "#99999", "#1.5"])
    return f"{name}={_expression(random, random.randint(0, 3))}"


def _several(random: Random) -> str:
    return " ".join(random.choice([*MODES, *SWITCHES, *FLOW, "G1 X1"]) for _ in range(2))
