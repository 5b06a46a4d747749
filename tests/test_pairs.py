"""Every pair in tests/cases/prove/: the verdict and what it says, in each state of knowledge."""

from pathlib import Path

import pytest
from pair_files import STATES, PairCase, Said, edited, read_pair_file

from gpre.driver.proving import MANNERS, Proved, prove_programs
from gpre.mill.job import Job
from gpre.mill.job_file import read_job
from gpre.mill.mill import Mill
from gpre.mill.profile import read_profile
from gpre.proof.proof import Obligation
from gpre.report.prove import faulty, verdict_of
from gpre.settings.toml_file import SettingsFile
from gpre.source.text import SourceText

FILES = sorted((Path(__file__).parent / "cases" / "prove").glob("*.pair"))
EVERY = [
    pytest.param(pair, state, id=f"{path.stem}/{pair.name.replace(' ', '-')}/{state}")
    for path in FILES
    for pair in read_pair_file(path)
    for state in pair.known
]
MARKS = {"ok": "ok", "differs": "differs", "failed": "FAIL", "not looked at": "--"}


def settings_of(pair: PairCase, state: str) -> tuple[Mill, Job]:
    mill, job = Mill(), Job()
    if state in {"origins", "all"}:
        mill = read_profile(SettingsFile.of(pair.mill.encode(), "mill")).mill
    if state in {"tools", "all"}:
        job = read_job(SettingsFile.of(pair.job.encode(), "job")).job
    return mill, job


def line(block: int | None) -> str:
    return "-" if block is None else str(block + 1)


def said(proved: Proved, each: Obligation) -> str:
    mark = MARKS[verdict_of(proved, each)]
    return f"{mark} {each.name} @ {line(each.before)} {line(each.after)}: {each.figure}"


def fits(wanted: Said, proved: Proved, each: Obligation) -> bool:
    return (
        (wanted.verdict, wanted.name) == (MARKS[verdict_of(proved, each)], each.name)
        and wanted.phrase in each.figure
        and wanted.before in {None, line(each.before)}
        and wanted.after in {None, line(each.after)}
    )


@pytest.mark.parametrize(("pair", "state"), EVERY)
def test_pair(pair: PairCase, state: str):
    texts = (pair.before, "before"), (pair.after, "after")
    sources = [SourceText.of(text.encode(), name) for text, name in texts]
    proved = prove_programs(*sources, *settings_of(pair, state))
    every = [said(proved, each) for each in proved.proof.obligations]
    shown = "\n".join(each for each in every if not each.startswith("ok"))
    assert (proved.holds and not faulty(proved)) == pair.proved, shown
    wanted = [each for each, states in pair.says if state in states]
    for each in wanted:
        found = [fits(each, proved, one) for one in proved.proof.obligations]
        assert any(found), f"{each} is not said:\n{shown}"
    if pair.proved:  # nothing differs that the pair does not name
        for one in proved.proof.obligations:
            if verdict_of(proved, one) == "differs" and one.name not in MANNERS:
                assert any(fits(each, proved, one) for each in wanted), said(proved, one)


def test_every_pair_that_fails_says_why():
    for path in FILES:
        for pair in read_pair_file(path):
            marks = [each.verdict for each, _ in pair.says]
            assert pair.proved or "FAIL" in marks, f"{path.name}: {pair.name}"


def test_each_state_of_knowledge_is_tried():
    assert {each.values[1] for each in EVERY} == set(STATES)


def test_an_edit_takes_place_where_its_lines_stand():
    before = "G0 Z2\nG1 X1\nG0 Z2\nM30\n"
    assert edited(before, " G1 X1\n+G1 X2\n") == "G0 Z2\nG1 X1\nG1 X2\nG0 Z2\nM30\n"
    assert edited(before, "-G1 X1\n...\n G0 Z2\n+M5\n") == "G0 Z2\nG0 Z2\nM5\nM30\n"
    for edit in ("-G0 Z2\n", "-G0 Z3\n", "+M5\n", "M5\n", "-M30\n...\n-G1 X1\n"):
        with pytest.raises(ValueError, match=r"places|no change"):
            edited(before, edit)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("==== pair: a\n==== before\nM2\n==== proved: yes\n", "after and edit"),
        ("==== pair: a\n==== before\nM2\n==== after\nM30\n", "yes or no"),
        ("==== pair: a\n==== before\nM2\n==== after\nM2\n==== proved: yes\n", "the same"),
        ("==== pair: a\n==== proved: no\n==== after\nM2\n", "before"),
        ("==== pair: a\n==== says\nthis is no line\n", "not understood"),
        ("==== pair: a\n==== says: some\nFAIL a: b\n", "state of knowledge"),
        ("==== pairs\n", "no marker"),
        ("M2\n", "before the first marker"),
    ],
)
def test_a_file_that_is_none_is_refused(tmp_path, text, fault):
    path = tmp_path / "a.pair"
    path.write_text(text, "utf-8")
    with pytest.raises(ValueError, match=fault):
        read_pair_file(path)
