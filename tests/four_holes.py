"""Four holes there and back in X; the second row is reached travelling X-. By hand."""

HOLES = (
    b"G21 G90 G17\nT1 M6\nS1000 M3\nG0 X-10 Y-10 Z5\n"
    b"G81 G99 X10 Y10 Z-5 R2 F100\nX20\nY20\nX10\nG80\nG0 Z5\nM5\nM2\n"
)
