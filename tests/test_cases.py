"""Every fixture in tests/cases/<rewrite>/: exact output, findings, proof, second run, CRLF twin."""

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from case_files import Case, CaseFile, read_case_file, render_case_file

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.geometry import path as paths
from gpre.mill.job import Job
from gpre.mill.job_file import read_job
from gpre.mill.mill import Mill
from gpre.mill.profile import read_profile
from gpre.mill.settings import SettingsFile
from gpre.motion.motion import Motion
from gpre.program.read import read
from gpre.reversals.reversals import AXES
from gpre.source.text import SourceText

CASES = Path(__file__).parent / "cases"
FILES = [read_case_file(path) for path in sorted(CASES.glob("*/*.case"))]
EVERY = [(file, case) for file in FILES for case in file.cases]
KEEPS_PATH = {"approach", "straighten"}  # their cutting path is the old one, both ways


def mill_of(case: Case) -> Mill:
    return read_profile(SettingsFile.of(case.mill.encode(), "mill")).mill


def job_of(case: Case) -> Job:
    return read_job(SettingsFile.of(case.job.encode(), "job")).job


def run(file: CaseFile, case: Case, data: bytes) -> Rewritten:
    options = Options(only=(file.rewrite,), comments="no comments" not in case.options)
    return rewrite(SourceText.of(data, file.path.name), mill_of(case), job_of(case), options)


def findings_of(result: Rewritten) -> str:
    lines = [
        (each.first_block, f"done {_place(each)}: {each.summary}{_gain(each.gained, each.holes)}")
        for each in result.plan.chosen
    ]
    lines += [
        (each.first_block, f"left alone {_place(each)}: {each.reason}{_needs(each.needs)}")
        for each in result.plan.refused
    ]
    lines += [
        (each.first_block, f"declined {_place(each)}: {each.summary}")
        for each in result.plan.declined
    ]
    return "".join(f"{text}\n" for _, text in sorted(lines))


def _place(said) -> str:
    first, last = said.first_block + 1, said.last_block + 1
    return str(first) if first == last else f"{first}-{last}"


def _gain(gained: int, holes: int) -> str:
    return f" [reversals {gained}, places {holes}]"


def _needs(needs: tuple[str, ...]) -> str:
    return f" [{', '.join(needs)}]" if needs else ""


def summary_of(result: Rewritten) -> str:
    counts = []
    for axis, name in enumerate(AXES):
        pair = [
            int((each.reversals.in_cut & (each.reversals.axis == axis)).sum())
            for each in (result.before, result.after)
        ]
        counts.append(f"{name.upper()} {pair[0]} -> {pair[1]}")
    return f"in the cut: {', '.join(counts)}\n"


def name_of(each: object) -> str:
    if isinstance(each, CaseFile):
        return f"{each.rewrite}/{each.path.stem}"
    return each.name.replace(" ", "-") if isinstance(each, Case) else ""


@pytest.mark.parametrize(("file", "case"), EVERY, ids=name_of)
def test_case(file: CaseFile, case: Case, request: pytest.FixtureRequest):
    before = case.before.encode()
    assert read(before).text == before
    result = run(file, case, before)
    after = result.data.decode()
    if request.config.getoption("--update-cases"):
        request.config.stash.setdefault(UPDATED, {})[file.path, case.name] = replace(
            case,
            after=None if after == case.before else after,
            findings=findings_of(result),
            summary=summary_of(result),
        )
    else:
        assert after == (case.before if case.after is None else case.after)
        assert findings_of(result) == case.findings
        assert summary_of(result) == case.summary
    assert result.proof.holds
    again = run(file, case, result.data)
    assert again.data == result.data, "a second run changed something"
    twin = run(file, case, before.replace(b"\n", b"\r\n"))
    assert twin.data == result.data.replace(b"\n", b"\r\n")
    assert [each.in_cut for each in (result.after, twin.after)] == [result.after.in_cut] * 2
    assert result.after.in_cut <= result.before.in_cut
    tolerance = mill_of(case).limits.tolerance
    old, new = result.before.motion, result.after.motion
    moves_plunges = file.rewrite not in KEEPS_PATH
    assert farthest(old, new, below=moves_plunges) <= tolerance + 2e-4
    if file.rewrite in KEEPS_PATH:
        assert farthest(new, old) <= tolerance + 2e-4


def farthest(motion: Motion, other: Motion, *, below: bool = False) -> float:
    """How far the feed moves of one motion leave those of another, mm, by dense sampling.

    below: a move straight under a point covers it, since the tool runs on upwards.
    Points every 0.1 mm at the most on one, distance to the chords of the other; no part of it is
    shared with the proof.
    """
    points, chords = dense(motion), dense(other)
    if not len(points):
        return 0.0
    if not len(chords):
        return float("inf")
    middle = (points[:, 0] + points[:, 1]) / 2.0
    probes = np.unique(np.round(np.vstack((points[:, 0], points[:, 1], middle)), 9), axis=0)
    worst = 0.0
    start, along = chords[:, 0], chords[:, 1] - chords[:, 0]
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    for probe in probes:
        share = np.clip(((probe - start) * along).sum(axis=1) / square, 0.0, 1.0)
        between = start + along * share[:, None] - probe
        if below:
            between[:, 2] = np.maximum(between[:, 2], 0.0)
        gap = np.linalg.norm(between, axis=1).min()
        worst = max(worst, float(gap))
    return worst


def dense(motion: Motion) -> np.ndarray:
    """(k, 2, 3) mm: short chords of the moves at feed whose place is known."""
    known = np.isfinite(motion.start).all(axis=1) & np.isfinite(motion.end).all(axis=1)
    rows = np.flatnonzero(motion.at_feed & known)
    moves = paths.take(motion, rows)
    pieces = []
    for count in range(len(rows)):
        one = paths.take(moves, slice(count, count + 1))
        length = float(paths.lengths(one)[0])
        steps = max(int(np.ceil(length / 0.5)), 64 if one.sweep[0] else 1)
        share = np.linspace(0.0, 1.0, steps + 1)
        many = paths.take(one, np.zeros(steps + 1, np.intp))
        at = paths.points(many, share)
        pieces.append(np.stack((at[:-1], at[1:]), axis=1))
    return np.concatenate(pieces) if pieces else np.zeros((0, 2, 3))


def test_at_least_as_many_cases_stay_as_change():
    for rewrite_name in {file.rewrite for file in FILES}:
        cases = [case for file, case in EVERY if file.rewrite == rewrite_name]
        same = sum(case.after is None for case in cases)
        assert 2 * same >= len(cases), rewrite_name


def test_case_files_are_written_back_as_they_were_read():
    for file in FILES:
        assert render_case_file(file, list(file.cases)) == file.path.read_text("utf-8")


UPDATED: pytest.StashKey[dict[tuple[Path, str], Case]] = pytest.StashKey()


def test_updated_cases_are_written(request: pytest.FixtureRequest):
    """Comes last: with --update-cases it writes what the cases above have found."""
    updated = request.config.stash.get(UPDATED, {})
    if not request.config.getoption("--update-cases"):
        assert not updated
        return
    if os.environ.get("CI", "").lower() in {"1", "true"}:
        pytest.fail("expectations are not rewritten in CI")
    for file in FILES:
        if not any(path == file.path for path, _ in updated):
            continue
        cases = [updated.get((file.path, case.name), case) for case in file.cases]
        file.path.write_text(render_case_file(file, cases), "utf-8", newline="\n")
