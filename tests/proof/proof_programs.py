"""Invented programs for the tests of the proof: a focuser plate with a rim, faced, and holes."""

from gpre.mill.job import Box, Job, Tool

RIM = """%
O0100 (FOCUSER PLATE RIM)
G21 G90 G17 G94
T1 M6
G43 H1
S2000 M3
G0 X0 Y0 Z5
M8
G0 Z1
G1 Z-1 F100
G1 X40 F300
G1 Y30
G1 X0
G1 Y0
G1 Z-2 F100
G1 X40 F300
G1 Y30
G1 X0
G1 Y0
G0 Z5
M9
M5
M30
%
"""
# no tool of it is named
RIM_JOB = Job({}, Box((-6.0, -6.0, -20.0), (46.0, 36.0, 0.0)))
LOOP_ONE = "G1 Z-1 F100\nG1 X40 F300\nG1 Y30\nG1 X0\nG1 Y0\n"
LOOP_TWO = "G1 Z-2 F100\nG1 X40 F300\nG1 Y30\nG1 X0\nG1 Y0\n"

FACE = """G21 G90 G17
T2 M6
S1500 M3
G0 X-10 Y0 Z10
G0 Z2
G0 Z-0.5
G1 X60 F400
G1 Y5
G1 X-10
G1 Y10
G1 X60
G0 Z10
G0 X0 Y0
M5
M30
"""
# one way: out over the stock at the height at which the program travels, down beside it
FACE_ONE_WAY = FACE.replace(
    "G1 Y5\nG1 X-10\nG1 Y10\nG1 X60\n",
    "G1 Y5\nG0 Z10\nG0 X-10\nG0 Z-0.5\nG1 X60\nG0 Z10\nG0 X-10\nG0 Z-0.5\nG1 Y10\nG1 X60\n",
)
FACE_JOB = Job({2: Tool(8.0)}, Box((0.0, -2.0, -10.0), (50.0, 12.0, 0.0)))

HOLES = """G21 G90 G17
T3 M6
S1800 M3
G0 X10 Y10 Z25
G99 G83 X10 Y10 Z-12 R2 Q4 F80
X30
X30 Y25
X10
G80
G0 Z25
M5
M30
"""
# every hole is reached from the left and from below
HOLES_APPROACHED = HOLES.replace(
    "X30 Y25\nX10\nG80\n",
    "G80\nG0 X28.75 Y23.75\nG99 G83 X30 Y25 Z-12 R2 Q4 F80\n"
    "G80\nG0 X8.75 Y23.75\nG99 G83 X10 Y25 Z-12 R2 Q4 F80\nG80\n",
)


# the same loop again at full depth, to take off what the cutter was bent by
SPRING_PASS = "G1 X40 F500\nG1 Y30\nG1 X0\nG1 Y0\n"
SPRING = RIM.replace("G0 Z5\nM9", SPRING_PASS + "G0 Z5\nM9")


def _rows(*rows: tuple[float, float]) -> str:
    lines = [f"G0 Z5\nG0 X0 Y{y:g}\nG0 Z1\nG1 Z{z:g} F100\nG1 X40 F300\n" for z, y in rows]
    return f"G21 G90 G17\nM3 S2000\nG0 Z5\n{''.join(lines)}G0 Z5\nM30\n"


# a floor of two rows, one level after the other; then one row down to depth before its neighbour
_NEIGHBOURS = "G1 Y3\nG1 Y0\n"
LEVELS = _rows((-1, 0), (-1, 3), (-2, 0), (-2, 3)).replace(
    "G1 X40 F300\n", f"{_NEIGHBOURS}G1 X40 F300\n"
)
LEVELS_MIXED = _rows((-1, 0), (-2, 0), (-1, 3), (-2, 3)).replace(
    "G1 X40 F300\n", f"{_NEIGHBOURS}G1 X40 F300\n"
)

_POCKET = "G0 X10 Y10\nG0 Z1\nG1 Z-3 F100\nG1 X20 F300\nG1 Y20\nG1 X10\nG1 Y10\nG0 Z5\n"
_OUTLINE = "G0 X0 Y0\nG0 Z1\nG1 Z-3 F100\nG1 X30 F300\nG1 Y30\nG1 X0\nG1 Y0\nG0 Z5\n"
TWO = f"G21 G90 G17\nM3 S2000\nG0 Z5\n{_POCKET}{_OUTLINE}M30\n"
TWO_SWAPPED = f"G21 G90 G17\nM3 S2000\nG0 Z5\n{_OUTLINE}{_POCKET}M30\n"


def moved_start(feed: int = 100) -> str:
    """The second loop starts at another corner of the rim, with a lift between."""
    loop = f"G0 Z5\nG0 X40 Y30\nG0 Z1\nG1 Z-2 F{feed}\nG1 X0 F300\nG1 Y0\nG1 X40\nG1 Y30\n"
    return RIM.replace(LOOP_TWO, loop)
