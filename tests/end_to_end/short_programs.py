"""Short programs of a workshop, invented, each with the tools and the stock of its job.

Every program states its modes. Lengths of the jobs are mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from gpre.mill.job import Box, Job, Tool


@dataclass(frozen=True)
class Short:
    name: str
    text: str
    job: Job


PLATE = Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0))
MILL_6 = Tool(6.0, flutes=2, max_ramp_angle=0.05)

TWO_SYSTEMS = """\
(dovetail shoes, two in a row, slots - invented demo)
G21 G17 G90 G94 G40 G49 G80
T1 M6
S2000 M3
G54
G0 X-6 Y10
G43 H1 Z20
M8
G0 Z2
G1 Z-1 F100
X66 F250
G0 Z20
G55
G0 X-6 Y30
Z2
G1 Z-1.5 F100
X66 F250
G0 Z20
M9
M5
M30
"""

TWO_TOOLS = """\
%
N10 G21 G17 G90 G94
N20 G54
N30 T1 M6
N40 S1500 M3
N50 G0 G43 H1 Z50.
N60 G0 X15. Y20.
N70 Z2.
N80 G1 Z-4.5 F80.
N90 G0 Z50.
N100 T2 M6
N110 S2400 M3
N120 G0 G43 H2 Z50.
N130 G0 X-6. Y5.
N140 Z2.
N150 G1 Z-1.25 F120.
N160 X66. F300.
N170 G0 Z50.
N180 G49
N190 M5
N200 M30
%
"""

SHIFTED = """\
(scale of the focuser: the same line twice, zero shifted - invented demo)
G21 G17 G90 G94 G54
T3 M6
S3000 M3
G0 G43 H3 Z10
G0 X5 Y-5
Z1
G1 Z-0.5 F60
Y45 F180
G0 Z10
X25 Y-5
G92 X5
Z1
G1 Z-0.5 F60
Y45 F180
G0 Z10
X15 Y-5
G92.1
G0 X30
Z10
M5
M2
"""

HOME_BETWEEN = """\
(clamp ring, two sides of a slot, home between - invented demo)
G21 G17 G90 G94 G40
G54
T1 M6
S2000 M3
G0 G43 H1 Z15
G0 X-6 Y12
Z2
G1 Z-2 F90
X66 F240
G0 Z15
G91 G28 Z0
G90
M0 (turn the part round)
G0 X-6 Y28
Z15
Z2
G1 Z-2 F90
X66 F240
G0 Z15
G30 Z15
M5
M30
"""

BORE = """\
(focuser plate, pocket on a helix - invented demo)
G21 G17 G90 G94 G40 G80
G54
T1 M6
S2600 M3
G0 G43 H1 Z25
G0 X36 Y20
M8
G0 Z1
G1 Z0.2 F150
G3 X36 Y20 Z-0.8 I-6 J0 F220
Z-1.8 I-6 J0
Z-2.8 I-6 J0
I-6 J0
G1 X30 Y20
G0 Z25
M9
G0 X0 Y0
M5
M30
"""

HOLES = """\
(mirror cell, holes - invented demo)
G21 G17 G90 G94 G80
G54
T4 M6
S1800 M3
G0 G43 H4 Z30
G0 X10 Y10
Z5
G99 G81 X10 Y10 Z-2 R1.5 F100
X50
Y30
G98 X10
G80
G0 X10 Y20
G99 G83 Z-8 R1.5 Q2 F70
X30
G82 X50 Z-3 R2 P0.4 F60
G80
G0 Z30
M5
M30
"""

STEPS = """\
(peg strip by hand, all steps - invented demo)
G21 G17 G90 G94
G54
T4 M6
S1800 M3
G0 G43 H4 Z20
G0 X10 Y20
Z2
G91
G1 Z-6 F80
G0 Z6
X18
G1 Z-6
G0 Z6
X18 Y2
G1 Z-6
G0 Z6
G90
G0 Z20
X0 Y0
M5
M30
"""

INCH = """\
(CLAMP RING, INCH, ROUND SLOT - INVENTED DEMO)
G20 G17 G90 G94 G40
G54
T2 M6
S2200 M3
G0 G43 H2 Z1.
G0 X.3 Y.4
Z.1
G1 Z-.04 F4.
X1.2 F10.
G3 X1.5 Y.7 I0. J.3
G1 Y.9
G2 X1.2 Y1.2 R.3 F8.
G1 X.8
G3 X.5 Y.9 R.3
G1 X.3 Y.4
G0 Z1.
X0. Y0.
M5
M30
"""

STOPS = """\
(draw tube flange, two depths, stops - invented demo)
G21 G17 G90 G94
G54
T1 M6
S2000 M3
G0 G43 H1 Z20
G0 X-6 Y20
M8
Z2
G1 Z-1 F100
X66 F250
G0 Z20
M9
(MSG, measure the slot)
M0 (measure: 1.00 deep)
M8
G0 X-6 Y20
Z2
G4 P1.5
G1 Z-1.4 F100
X66 F250
G0 Z20
M1 (chips out)
M5
M30
"""

SET_ORIGIN = """\
(zero set by the program, machine places between - invented demo)
G21 G17 G90 G94 G40 G49
G10 L2 P1 X120 Y60 Z-180
G54
T1 M6
S2000 M3
G0 G43 H1 Z20
X-6 Y10
Z2
G1 Z-1 F100
X66 F250
G53 G0 Z-20
G0 X-6 Y25
Z2
G1 Z-1 F100
X66 F250
G53 G0 Z-20
G53 G0 X0 Y0
M5
M30
"""

BY_HAND = """\
(pads of the clamp ring, tool set by hand, no change, no length - invented demo)
G21 G17 G90 G94
G54
S2000 M3
G0 X10 Y10
Z5
G1 Z-1 F90
G3 X20 Y10 I5 J0 F220
X10 I-5 J0
G0 Z5
X40 Y20
Z2
G1 Z-1 F90
Y30 F220
X50
Y20
X40
G0 Z5
X0 Y0
M5
M30
"""


def _job(*tools: tuple[int, Tool], stock: Box = PLATE) -> Job:
    return Job(dict(tools), stock)


DRILL = Tool(4.2, "drill")
SHORTS = (
    Short("two systems", TWO_SYSTEMS, _job((1, MILL_6))),
    Short("two tools", TWO_TOOLS, _job((1, DRILL), (2, MILL_6))),
    Short("shifted", SHIFTED, _job((3, Tool(3.0)))),
    Short("home between", HOME_BETWEEN, _job((1, MILL_6))),
    Short("bore", BORE, _job((1, MILL_6))),
    Short("holes", HOLES, _job((4, DRILL))),
    Short("steps", STEPS, _job((4, DRILL))),
    Short("inch", INCH, _job((2, MILL_6))),
    Short("stops", STOPS, _job((1, MILL_6))),
    Short("set origin", SET_ORIGIN, _job((1, MILL_6))),
    Short("by hand", BY_HAND, _job((0, MILL_6))),
)
