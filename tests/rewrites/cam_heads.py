"""Programs with the heads, feeds and tails of posts and of hands; invented demo programs.

Each head comes to the first place in another way, and each tail leaves the last cut in another.
"""

import math

PERCENT = "%\nO1001 (CLAMP RING, INVENTED)\n"


def outline(depths=(-1,), width=40, height=30, radius=6):
    lines = []
    for depth in depths:
        lines += [f"G1 Z{depth} F200", "X0 Y-3 F600", f"Y{height - radius}"]
        lines += [f"G2 X{radius} Y{height} I{radius} J0", f"G1 X{width - radius}"]
        lines += [f"G2 X{width} Y{height - radius} I0 J-{radius}", f"G1 Y{radius}"]
        lines += [f"G2 X{width - radius} Y0 I-{radius} J0", f"G1 X{radius}"]
        lines += [f"G2 X0 Y{radius} I0 J{radius}", f"G1 Y{height / 2}", "X-5 Y-5"]
    return "X-5 Y-5", lines


def bore(radius=8, depth=3):
    lines = ["G1 Z0.2 F200", f"X{radius} F500"]
    lines += [f"G2 X{radius} Y0 Z-{down} I-{radius} J0" for down in range(1, depth + 1)]
    return "X0 Y0", [*lines, f"G2 X{radius} Y0 I-{radius} J0", "G1 X0 Y0"]


def pocket():
    lines = ["G1 Z-1 F150"]
    for half in (4, 8):
        lines += [f"G1 X-{half} Y-{half} F700", f"X{half}", f"Y{half}", f"X-{half}", f"Y-{half}"]
    return "X0 Y0", [*lines, "X0 Y0"]


def chords(count=40, radius=15):
    angles = [2 * math.pi * at / count for at in range(count + 1)]
    places = [(radius * math.cos(a), 0.7 * radius * math.sin(a)) for a in angles]
    lines = [f"X{x:.4f} Y{y:.4f}" for x, y in places]
    return f"X{radius} Y0", ["G1 Z-0.8 F200", f"{lines[0]} F900", *lines[1:]]


BODIES = {"outline": outline(), "bore": bore(), "pocket": pocket(), "chords": chords()}
HEADS = {
    "G28 and G43": (
        f"{PERCENT}G21 G17 G40 G49 G80 G90 G94\nG28 G91 Z0\nG90\nT1 M6\nS3000 M3\nG54\nG0 {{}}\n"
        "G43 Z25 H1\nM8\nZ2\n"
    ),
    "G53 and G43": (
        "G90 G94 G17 G21\nG53 G0 Z0\nM5\nT2 M6\nS5000 M3\nG54\nG0 {}\nG43 Z15 H2\nZ2\n"
    ),
    "G30": "G21 G90 G40\nG91 G30 Z0\nG90\nT1 M6\nG43 H1\nS2500 M3\nG0 {}\nZ5\n",
    "by hand": "G21\nG90\nM3 S8000\nG0 Z5\nG0 {}\n",
    "up at feed before any F": "G21 G90\nS2000 M3\nG1 Z5\nG0 {}\n",
    "along at the height of the part": "G21 G90 M3 S4000\nG0 Z3\nG0 {}\nZ1\n",
    "exact path": "G21 G90 G61 G17\nT1 M6\nM3 S3000\nG0 Z10\n{}\nZ1\n",
    "exact stop": "G21 G90 G61.1 G17\nM3 S3000\nG0 Z10\n{}\nZ1\n",
}
TAILS = {
    "home": "G0 Z25\nM9\nM5\nG28 G91 Z0\nG28 X0 Y0\nG90\nM30\n%\n",
    "home by G53": "G0 Z15\nM5\nG53 G0 Z0\nG53 G0 X0 Y0\nM30\n",
    "up": "G0 Z5\nM5\nM30\n",
    "in the cut": "M5\nM30\n",
    "another tool": (
        "G0 Z25\nM5\nG28 G91 Z0\nG90\nT3 M6\nS4000 M3\nG54\nG0 X20 Y15\nG43 Z25 H3\nZ2\n"
        "G1 Z-2 F100\nX30 Y15 F400\nX30 Y25\nX20 Y25\nY15\nG0 Z25\nM5\nM30\n"
    ),
}


def program(head, body, tail):
    """The text of one program."""
    place, lines = BODIES[body]
    return HEADS[head].format(place) + "\n".join(lines) + "\n" + TAILS[tail]


EVERY = [
    (head, body, tail)
    for at, head in enumerate(HEADS)
    for number, body in enumerate(BODIES)
    for tail in [list(TAILS)[(at + number) % len(TAILS)]]
]
