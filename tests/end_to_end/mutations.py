"""Small faults and additions in programs, as typing and editing at the mill bring them about."""

from __future__ import annotations

from random import Random

EXTRA = [
    *(b"M0", b"M1", b"M5", b"M9", b"M48", b"G4 P1", b"T5 M6", b"S900", b"F44", b"(by hand)"),
    *(b"G90", b"G91", b"G20", b"G18", b"G93", b"G64", b"G61", b"G80", b"G98", b"G99", b"G90.1"),
    *(b"G92 X0", b"G54", b"G55", b"G43 H2", b"G49", b"G41 D1", b"G40", b"G28 Z0", b"G53 G0 Z-5"),
    *(b"G0 X3 Y3", b"G1 X9 F50", b"G0 Z-9", b"X1", b"Y2 ; c", b"Z1", b"#1=2", b"G1 X#1", b"M98 P1"),
    *(b"G65 P9", b"IF [#1 GT 2] GOTO 5", b"M30", b"%", b"G187 P1", b"G3 I5", b"G81 Z-2 R1"),
]
TAILS = [b" (x)", b" M8", b" F99", b" G90", b" G91", b" M0", b" Z3", b" M9", b" G4 P1", b" X1"]
STRAY = b"0123456789.-+XYZGMFIJR %()/#[];\x00\xff"


def mutated(text: bytes, random: Random) -> bytes:
    """Return the text with one to three changes."""
    newline = b"\r\n" if b"\r\n" in text else b"\n"
    lines = text.splitlines(keepends=True)
    for _ in range(random.randint(1, 3)):
        at, other = random.randrange(len(lines)), random.randrange(len(lines))
        line = lines[at]
        way = random.randrange(9)
        if way == 0 and len(lines) > 1:
            del lines[at]
        elif way == 1:
            lines.insert(at, random.choice(EXTRA) + newline)
        elif way == 2:
            lines.insert(at, lines[other])
        elif way == 3:
            place = random.randrange(len(line))
            lines[at] = line[:place] + bytes([random.choice(STRAY)]) + line[place + 1 :]
        elif way == 4:
            place = random.randrange(len(line))
            lines[at] = line[:place] + line[place + 1 :] or newline
        elif way == 5:
            lines[at] = b"/" + line
        elif way == 6:
            lines[at], lines[other] = lines[other], lines[at]
        else:
            lines[at] = line.rstrip(b"\r\n") + random.choice(TAILS) + newline
    return b"".join(lines)
