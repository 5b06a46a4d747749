"""Helices of random bores: fewer turns, never steeper than allowed, the same bore."""

from math import atan2, degrees, hypot, pi, radians

import pytest
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from known_mill import known_mill
from rounded_bore import rounded_bore

from gpre.cuts.helices import find_helices
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Job, Tool
from gpre.source.text import SourceText


def bore(radius: float, pitch: float, turns: int, parts: int, *, inch: bool, steps: bool) -> str:
    """A bore about X10 Y10, in halves or whole turns; lengths mm."""
    unit, digits = (25.4, 5) if inch else (1.0, 4)

    def number(value: float) -> str:
        return f"{round(value / unit, digits):g}"

    lines = [
        f"{'G20' if inch else 'G21'} G90 G17 G94", "T1 M6", "S3000 M3",
        f"G0 Z{number(5)}", f"X{number(10)} Y{number(10)}", f"G0 Z{number(1)}",
        f"G1 Z0 F{number(100)}", f"X{number(10 + radius)} F{number(200)}",
    ]  # fmt: skip
    if steps:
        lines.append("G91")
    drop, wide = pitch / parts, number(radius)
    for level in (drop, 0.0):
        for turn in range(turns * parts if level else parts):
            depth = -level * (1 if steps else turn + 1)
            z = f" Z{number(depth)}" if level else ""
            if parts == 1:
                x, i = number(0.0 if steps else 10 + radius), f"-{wide}"
            else:
                out = turn % 2 == 1
                far = 2 * radius if out else -2 * radius
                x = number(far if steps else 10 + far / 2)
                i = wide if out else f"-{wide}"
            lines.append(f"G3 X{x}{z} I{i} J0")
    return "\n".join([*lines, "G90", f"G0 Z{number(5)}", "M30", ""])


def run(text: str, job: Job) -> Rewritten:
    return rewrite(SourceText.of(text.encode()), known_mill(), job, Options(only=("helix",)))


@share(0.3)
@given(
    st.sampled_from((2.0, 3.5, 9.0)),
    st.sampled_from((0.25, 0.5, 1.0)),
    st.integers(2, 14),
    st.sampled_from((1, 2)),
    st.booleans(),
    st.booleans(),
    st.sampled_from((1.0, 2.5, 5.0, 12.0)),
)
def test_a_bore_takes_as_few_turns_as_allowed(radius, pitch, turns, parts, inch, steps, ramp):
    tool = Tool(4.0, max_ramp_angle=radians(ramp))
    text = bore(radius, pitch, turns, parts, inch=inch, steps=steps)
    result = run(text, Job({1: tool}))
    assert result.proof.holds
    assert not any("taken back" in each.reason for each in result.plan.refused)
    (old,), (new,) = (find_helices(each.motion) for each in (result.before, result.after))
    motion = result.after.motion
    depth = float(motion.start[new.first, 2] - motion.end[new.last - 1, 2])
    was = result.before.motion
    old_depth = float(was.start[old.first, 2] - was.end[old.last - 1, 2])
    assert depth == pytest.approx(old_depth, abs=1e-6)
    # a helix goes down by atan(p / (2 pi r)) (geometry)
    angle = degrees(atan2(depth, new.turn * radius))
    if result.changed:
        assert angle <= ramp + 1e-3
        assert depth * 2 * pi / new.turn <= tool.diameter / 2 + 1e-3
    left = new.turn / (2 * pi)
    assert left == pytest.approx(round(left), abs=1e-3)
    if left > 1.5 and depth * 2 * pi / old.turn < tool.diameter / 2 - 1e-3:  # one fewer is too few
        steeper = degrees(atan2(depth, (new.turn - 2 * pi) * radius))
        deeper = depth / (left - 1)
        assert steeper > ramp - 1e-2 or deeper > tool.diameter / 2 - 1e-2
    assert hypot(*(motion.end[new.last - 1] - result.before.motion.end[old.last - 1])) < 1e-3
    assert run(result.data.decode(), Job({1: tool})).data == result.data


def about_an_odd_centre(lines: list[str], units: int) -> str:
    """A program of bores about one axis, entered at their middle."""
    middle = "X30.123 Y20.765" if units == 21 else "X1.186 Y.8175"
    head = [f"G{units} G90 G17 G94 G40", "T1 M6 S3000 M3", f"G0 {middle} Z1", "G1 Z0 F9"]
    return "\n".join([*head, *lines, f"G1 {middle}", "G0 Z1", "M30"])


def turns_left(lines: list[str], units: int, job: Job) -> list[float]:
    """How many turns each helix has after the rewrite, of which the proof must hold."""
    result = run(about_an_odd_centre(lines, units), job)
    assert result.proof.holds
    assert result.plan.refused == ()
    assert run(result.data.decode(), job).data == result.data
    return [each.turn / (2 * pi) for each in find_helices(result.after.motion)]


@share(0.3)
@given(
    st.sampled_from(((21, 3), (21, 4), (20, 4), (20, 5))),
    st.sampled_from((1, 2, 4)),
    st.floats(4.0, 15.0),
    st.floats(0.0, 6.0),
    st.sampled_from((1.0, 3.0, 8.0)),
)
def test_rounded_numbers_take_as_few_turns_as_exact_ones(written, parts, radius, turned, ramp):
    """In three decimals of a millimetre, or four of an inch, each arc has its own centre."""
    units, decimals = written
    job = Job({1: Tool(6.0, max_ramp_angle=radians(ramp))})
    form = {"parts": parts, "radius": radius, "turned": turned, "drops": (0.45,) * 6 + (0.0,)}
    (rounded,) = turns_left(rounded_bore(units, decimals, **form), units, job)
    (exact,) = turns_left(rounded_bore(units, 7, **form), units, job)
    assert rounded == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize(("units", "decimals"), [(21, 3), (20, 4)])
@pytest.mark.parametrize("parts", [1, 2, 4])
def test_half_the_diameter_is_reached_in_rounded_numbers_too(units, decimals, parts) -> None:
    """2.54 mm, as numbers of either unit say it, on half of a tool as wide again."""
    job = Job({1: Tool(5.08, max_ramp_angle=radians(8.0))})
    lines = rounded_bore(units, decimals, parts=parts, turned=1.1, drops=[0.508] * 10 + [0.0])
    assert turns_left(lines, units, job) == [pytest.approx(2.0)]


@pytest.mark.parametrize(("units", "decimals"), [(21, 3), (20, 4)])
@pytest.mark.parametrize("parts", [2, 4])
def test_a_thread_in_rounded_numbers_keeps_its_pitch(units: int, decimals: int, parts: int) -> None:
    first = rounded_bore(units, decimals, parts=parts, radius=9.4, drops=[1.27] * 3)
    last = rounded_bore(units, decimals, parts=parts, turned=1.1, drops=[1.27] * 3 + [0.0])
    text = about_an_odd_centre([*first, "G0 Z0", *last], units)
    result = run(text, Job({1: Tool(6.0, max_ramp_angle=radians(8.0))}))
    assert not result.changed
    assert any("may be a thread" in each.reason for each in result.plan.refused)


def test_a_bore_of_twelve_turns_keeps_a_third_of_its_reversals() -> None:
    text = bore(9.0, 0.5, 11, 1, inch=False, steps=False)
    result = run(text, Job({1: Tool(6.0, max_ramp_angle=radians(3.0))}))
    (old,), (new,) = (find_helices(each.motion) for each in (result.before, result.after))
    on_wall = []
    for counted, helix in ((result.before, old), (result.after, new)):
        moves = counted.reversals.move
        on_wall.append(int(((moves >= helix.first) & (moves < helix.floor)).sum()))
    assert on_wall[0] >= 47
    assert on_wall[1] <= on_wall[0] / 3
