"""Every fixture in tests/cases/<rewrite>/: exact output, findings, proof, second run, CRLF twin."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from case_files import Case, CaseFile, read_case_file, render_case_file
from known_mill import STATED, changed_by_hand
from path_samples import farthest

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Job
from gpre.mill.job_file import read_job
from gpre.mill.mill import Mill
from gpre.mill.profile import read_profile
from gpre.program.read import read
from gpre.reversals.reversals import AXES
from gpre.settings.toml_file import SettingsFile
from gpre.source.text import SourceText

CASES = Path(__file__).parent / "cases"
FILES = [read_case_file(path) for path in sorted(CASES.glob("*/*.case"))]
EVERY = [(file, case) for file in FILES for case in file.cases]
KEEPS_PATH = {"approach", "straighten"}  # their cutting path is the old one, both ways
SHIFTED = {"take-up"}  # its coordinates are not those of the path that is meant


def mill_of(case: Case) -> Mill:
    """A known mill: tool changes are by hand unless the case says what they move, and it states
    units, plane and distance mode unless the case has the option `modes not stated`."""
    mill = read_profile(SettingsFile.of(case.mill.encode(), "mill")).mill
    mill = mill if "tool_change_moves" in case.mill else changed_by_hand(mill)
    if "modes not stated" in case.options:
        return mill
    return replace(mill, controller=replace(mill.controller, stated=STATED))


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
    # where the tool stands in the cut the backlash is let out there: once for each axis
    let_out = 3 if re.search(r"F\S+ \(take-up undone\)", after) else 0
    assert result.after.in_cut <= result.before.in_cut + let_out
    if file.rewrite in SHIFTED:
        return  # what its table does is compared with the original in tests/rewrites
    tolerance = mill_of(case).limits.tolerance
    old, new = result.before.motion, result.after.motion
    moves_plunges = file.rewrite not in KEEPS_PATH
    assert farthest(old, new, below=moves_plunges) <= tolerance + 2e-4
    if file.rewrite in KEEPS_PATH:
        assert farthest(new, old) <= tolerance + 2e-4


def test_at_least_as_many_cases_stay_as_change():
    for rewrite_name in {file.rewrite for file in FILES}:
        cases = [case for file, case in EVERY if file.rewrite == rewrite_name]
        same = sum(case.after is None for case in cases)
        assert 2 * same >= len(cases), rewrite_name


def test_case_files_are_written_back_as_they_were_read():
    for file in FILES:
        assert render_case_file(file, list(file.cases)) == file.path.read_text("utf-8")


def test_update_is_refused_in_ci():
    command = [sys.executable, "-m", "pytest", "--update-cases", "--collect-only", "-q", __file__]
    done = subprocess.run(
        command, env={**os.environ, "CI": "true"}, capture_output=True, text=True, check=False
    )
    assert done.returncode == pytest.ExitCode.USAGE_ERROR
    assert "refused" in done.stderr + done.stdout


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
