"""Short programs to be read twice: examples of NISTIR 6556, and one for each rule of it.

Those of the standard are named by their clause; what they come to stands in the tests.
"""

from __future__ import annotations

from pathlib import Path

_PROGRAMS = Path(__file__).resolve().parents[1] / "motion" / "programs"
HEAD = "G21 G90 G17 G94 F150\nG0 X1 Y2 Z3\n"

# NISTIR 6556, C.2: expressions with the values that the program itself prints beside them
PRINTED = {
    "[1 + 2 * 3 - 4 / 5]": 6.2, "[15 MOD 4.0]": 3, "[2 or 2]": 1, "[2 xor 2]": 0, "[1 --3]": 4,
    "sin[30]": 0.5, "tan[60.0]": 1.7321, "atan[1.7321]/[1.0]": 60, "acos[0.707107]": 45,
    "round[-0.499]": 0, "round[-0.5001]": -1, "round[9.975]": 10, "fix[-0.499]": -1,
    "fup[-0.499]": 0, "exp[2.3026]": 10, "ln[10]": 2.3026, "[2 ** 3.0]": 8,
    "sqrt[3**2 + 4**2]": 5,
    "[2.0 / 3 * 1.5 - 5.5 / 11.0]": 0.5,  # 3.3.2.3
    "fix[-2.8]": -3, "fup[-2.8]": -2,  # 3.3.2.4
}  # fmt: skip
# C.2, n0460; the value is computed with an ATAN of four quadrants, which the text leaves open
LONGEST = "[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]"

EXAMPLES: dict[str, str] = {
    "C.1, greeting": (_PROGRAMS / "greeting.ngc").read_text(encoding="ascii"),
    "table 12, a contour": (_PROGRAMS / "compensation_contour.ngc").read_text(encoding="ascii"),
    "C.2, printed values": HEAD + "".join(f"G1 X{each}\n" for each in PRINTED) + "M2\n",
    "C.2, n0460": f"{HEAD}G1 X{LONGEST}\nM2\n",
    "3.3, blanks": "g21 g90 f9\ng0x +0. 12 34y 7\nM2\n",
    "3.3.3, #3 while it is set": "G21 G90 F9\n#3=15\n#3=6 G1 x#3\nX[#3 + 1]\nM2\n",
    "3.3.2.2, # binds tightest": "G90 F9\n#1=2 #2=5\nG1 X[#1+2] Y##1\n#[#1+5]=9 Z#1\nX#7\nM2\n",
    "3.5.3.2, check A": "G21 G90 F60\nG0 X7 Y7\nG17 G2 x10 y16 i3 j4 z9\nM2\n",
    "table 10, check B": "G21 G90 F60\nG0 X3 Y1\ng2 x[6-[4*3/2]] r7.01 z0.5\nM2\n",
    "3.5.16.2, example 1": f"{HEAD}G90 G81 G98 X4 Y5 Z1.5 R2.8\nM2\n",
    "3.5.16.2, example 2": f"{HEAD}G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\nM2\n",
    "table 10, G91 G81": "G21 G90 F60\nG0 X30 Y1 Z-0.5\ng91 g81 x3 y2 z-0.8 r1.5 l2\nM2\n",
    "3.5.18, G92 twice": "G21 G90\nG0 X4\nG92 x7\nG0 X8 Y1\nG92 x9\nG0 X0\nG92.2\nX1\nG92.3\nX2\n"
    "G92.1\nX3\nG92.3\nX5\nM2\n",
    "arcs in three planes": f"{HEAD}G17 G2 X5 Y-2 I0 J-4\nG3 X1 Y2 R4\nG18 G2 X3 Z5 I2 K0\n"
    "G3 X1 Z3 R-3\nG19 G3 Y4 Z1 J0 K-2\nG2 Y2 Z3 R2.5 X9\nG18 G3 X1 Z3 I-4 K0\n"
    "G17 G3 X5 Y6 R-4.5\nM2\n",
    "whole turns": f"{HEAD}G2 X1 Y2 I3\nG3 J-2\nG2 I1 J1 Z-4\nG18 G3 K2 I1\nG19 G2 J-3 K1 X4\n"
    "G17 G91 G2 I5 Z-1\nI-2\nJ2 Z-1\nM2\n",
    "centres absolute": f"{HEAD}G90.1 G2 X7 Y2 I4 J2\nG3 X1 Y2 I4 J2\nG91 G2 X2 Y0 I2 J2\n"
    "G91.1 G3 X2 Y0 I1 J0\nM2\n",
    "helix and feeds": f"{HEAD}G1 X5 F90\nG2 X9 Z1 I2 F120\nG93 G1 X19 F2\nG3 X9 I-5 Z-4 F0.5\n"
    "G94 G1 X0 F60\nG95 S500 M3 G1 X4 F0.1\nG20 X1 F0.01\nG94 X2\nF9 X3\nM2\n",
    "cycles in G17": f"{HEAD}G0 Z20\nM3 S400\nG98 G81 X5 Y5 Z-4 R2\nX9\nG99 Y9 Z-6\nG98 X1 Y1 R3\n"
    "G82 X2 Y3 Z-3 R1 P0.5\nX4 P1\nG83 X6 Y1 Z-7 R1 Q3\nG99 X8\nG73 X1 Y4 Z-5 R2 Q1.5\n"
    "G84 X2 Y2 Z-3 R2\nG98 X3\nG85 X5 Y1 Z-2 R1\nG86 X1 Y1 Z-2 R1 P0.25\nG87 X2 Y1 Z-2 R5 I1 J.5"
    " K-1\nG88 X1 Y0 Z-2 R1 P0\nG89 X0 Y0 Z-2 R1 P1\nG80\nG0 X0\nM2\n",
    "cycles in G18 and G19": f"{HEAD}G18 G0 Y20\nG98 G81 X5 Z5 Y-4 R2\nX9 Z1\nG99 Z9\nG91 G83 X1 Z1"
    " Y-7 R-1 Q2 L2\nG90 G80 G19\nG0 X20\nG98 G82 Y1 Z2 X-3 R4 P1\nG99 Z5 L2\nG80\nM2\n",
    "cycles from below, G91": f"{HEAD}G0 Z-9\nG98 G81 X5 Y5 Z-4 R2\nX8\nG80 G0 Z-9\nG91 G99 G81 X2"
    " Z-3 R11 L3\nX1 Y1\nG98 X2\nG80\nM2\n",
    "work systems": f"{HEAD}G55 G0 X1 Y1 Z1\nG91 X2\nG90 G59.3 X0\nG10 L2 P2 X7 Y-3 Z2\nG55 X1 Y1\n"
    "G10 L20 P2 X3 Z9\nX0 Z0\nG10 L20 P5 X1\nG58 X0 Y0\nG10 L2 P0 X-4\nX0\nG54 X0 Y0 Z0\nM2\n",
    "lengths and machine places": f"{HEAD}G43 H3 G0 Z50\nG0 G53 Z10\nG1 G53 X3 Y4\nG43 H5 Z20\n"
    "G91 G53 G0 Z40\nG90 G49 Z30\nG92 Z3\nG43 H2 Z5\nG20 G53 G0 X1\nM2\n",
    "homes": f"{HEAD}G28 X5 Z9\nG0 X0 Y0 Z0\nG91 G28 Z2\nG90 G0 Z0\nG30 Y5\nG0 Y0\nG28\n"
    "G0 X0 Y0 Z0\n"
    "G30 P2 X1\nM2\n",
    "units midway": "G20 G90 F10\nG0 X1 Y1 Z1\nG1 X2\nG21 X20 F100\nG20 G91 G1 X1\nG2 X1 I.5\n"
    "G21 G1 X5\n"
    "G90 G92 X2\nG20 G1 X1 F3\nG10 L2 P1 X1\nX0\nG83 X1 Y1 Z-.1 R.2 Q.1\nG80\nM2\n",
    "functions and signs": f"{HEAD}#5=30 #6=-2.5\nG1 X[10*COS[#5]] Y[-#6*SIN[#5+15]] Z-#6\n"
    "X[ATAN[1]/[-1]/10] Y-[#6**2]\nX- [ #5 ] (here) Y[TAN[45] + (two) 2]\nX[2+3*4**2/8-6 MOD 4]\n"
    "X[-7 MOD 4] Y[7 MOD -4] Z[1 OR 0 AND 0]\nX[8-3-2] Y[2**3**2/8] Z[ROUND[2.5]+FUP[1.2]]\nM2\n",
    "order on a line": "G21 G90 G17\nM8 G4 P1 G1 X5 F100 S900 M3 T4 M6 G55 G43 H2 M0\n"
    "G0 X1 M9 M5 F50 G91 G54 G49\nG1 X3 Y1 M1\nG20 G1 X1 F10 G90 M30\n",
    "zeros and what counts from them": "G21 G90\nG0 X1\nG55 G92 X5 Y2\nX1 Y1\nG54 G10 L20 P0 Z4\n"
    "Z1\nG56 G28 X3\nX0 Y0 Z0\nG43 H4 G92 Z2\nZ0\nG49 G10 L20 P3 Z1\nZ3\nM2\n",
    "modes between": f"{HEAD}M3 S100\nM7 M8\nG1 X2\nM9\nG61\nX3\nG61.1 X4\nG64 M49\nX5\n"
    "M48 M4 S50.5\n"
    "T7\nX6\nM6\nX7\nM5\nG41 D3\nX8\nG40 Y3\n/X99\nX1\nM2\nX5\n",
    "subprograms": f"{HEAD}M98 P7 L2\nG90 X0 (back)\nM98 P8\nM98 P7 L0\nG0 X0\nM30\nO7\n"
    "G91 G1 X2 Y1\n"
    "M98 P8 L2\nM99\nO8\nG91 G2 X1 I.5\n#1=[1+1]\nG0 Z#1\nM99\n",
    "comments and marks": "\ufeff%\nO1 (a (b)\n(MSG, look)\nG21 G90 G0 X1 ; rest X9\n//X7\n/X8\n"
    "N123456 X2 (MSG, not this) (x)\n:5 Y1\nM60 (turn it)\nG1 X3 F9 (never closed Y9\nM2\n%\nX50\n",
    "reserved parameters": f"{HEAD}G54 G92 X3 Y3\nG1 X[#5211+#5220] Y[#5221 - #5222]\n"
    "G10 L2 P3 X4 Z1\n"
    "G1 X[#5261+#5263] Y#5161 Z#5183\n#5261=8 #5212=1\nG56 X0 Y0 Z0\nG92.3\nY0\nM2\n",
    "modal and bare": "G21 F80\nX1 Y1\nG0\nX2\nG1\nY2 Z1\nG2\nX4 I1\nI1\nG3 X2 R1\nG80 G0 X0\n"
    "X1\nM2\n",
    "turns by P": f"{HEAD}G2 X5 Y2 I2 P3 Z-6\nG3 X1 I-2 P2\nM2\n",
    "rotary": f"{HEAD}G1 X2 A90\nG91 A-30 B5 F200\nG0 C12.5\nG90 G2 X5 I1.5 A10\nG1 A0\nM2\n",
}
