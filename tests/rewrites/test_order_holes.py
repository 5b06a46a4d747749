"""Holes in random rows: whatever the order, the same holes are drilled, and no loop is added."""

from examples import share
from hypothesis import given
from hypothesis import strategies as st
from known_mill import known_mill

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job, Tool
from gpre.mill.mill import Axis
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

JOB = Job({3: Tool(4.0, "drill")})
HEAD = "G21 G17 G90 G94\nT3 M6\nS2000 M3\nG0 Z2\nG0 X-20 Y-20\n"
grids = st.lists(
    st.tuples(st.integers(0, 5), st.integers(0, 4)), min_size=3, max_size=12, unique=True
)


def written(places, manner: str) -> str:
    steps = [(10 * x + 0.5, 15 * y) for x, y in places]
    if manner == "cycle":
        (x, y), *rest = steps
        lines = [f"G99 G81 X{x} Y{y} Z-5 R2 F100", *(f"X{x} Y{y}" for x, y in rest), "G80"]
    elif manner == "by hand":
        lines = ["G0 Z2"]
        for x, y in steps:
            lines += [f"G0 X{x} Y{y}", "G1 Z-5 F100", "G0 Z2"]
    else:
        lines, here = ["G0 Z2", "G91"], (-20, -20)
        for x, y in steps:
            lines += [f"G0 X{x - here[0]:g} Y{y - here[1]:g}", "G1 Z-7 F100", "G0 Z7"]
            here = x, y
        lines.append("G90")
    return HEAD + "\n".join(lines) + "\nG0 X0 Y0\nG0 Z20\nM30\n"


def drilled(motion) -> list[tuple[float, ...]]:
    feed = motion.kind == Kind.LINE
    ends = motion.end[feed].round(6).tolist()
    return sorted((*end, round(feed, 6)) for end, feed in zip(ends, motion.feed[feed], strict=True))


@share(0.4)
@given(
    grids,
    st.sampled_from(("cycle", "by hand", "increments")),
    st.sampled_from((1, -1)),
    st.sampled_from((1, -1)),
)
def test_the_same_holes_are_drilled_in_no_more_loops(places, manner, x, y):
    mill = known_mill(x=Axis(approach=x), y=Axis(approach=y))
    source = SourceText.of(written(places, manner).encode())
    found = rewrite(source, mill, JOB, Options(only=("order",)))
    assert found.proof.holds
    assert drilled(found.after.motion) == drilled(found.before.motion)
    again = rewrite(SourceText.of(found.data), mill, JOB, Options(only=("order",)))
    assert again.data == found.data
    assert not any("taken back" in each.reason for each in found.plan.refused)
    both = Options(only=("order", "approach"))
    whole = rewrite(source, mill, JOB, both)
    assert rewrite(SourceText.of(whole.data), mill, JOB, both).data == whole.data
    alone = rewrite(source, mill, JOB, Options(only=("approach",)))
    if found.changed:  # the loops that were saved are not made
        assert len(whole.after.motion) < len(alone.after.motion)
        rapid = [sum_of_rapids(each.after.motion) for each in (whole, alone)]
        assert rapid[0] < rapid[1] + 1e-6


def sum_of_rapids(motion) -> float:
    rapid = motion.kind == Kind.RAPID
    return float((((motion.end - motion.start)[rapid] ** 2).sum(axis=1) ** 0.5).sum())
