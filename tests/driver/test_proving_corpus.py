"""Odd programs of all kinds: no crash, and another line end makes no other part."""

import json
from pathlib import Path

import pytest

from gpre.driver.proving import prove_programs
from gpre.mill.job import Job
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill
from gpre.report.certificate import Certificate
from gpre.report.prove import render_prove
from gpre.report.records.certificates import certificate_bytes
from gpre.report.records.encode import json_text
from gpre.report.records.proofs import prove_record
from gpre.source.text import SourceText

CORPUS = sorted((Path(__file__).parents[1] / "identity").glob("*.ngc"))
TEXTS = [path.read_bytes() for path in CORPUS]


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_other_line_ends_make_the_same_part(path):
    text = path.read_bytes()
    other = text.replace(b"\r\n", b"\n") if b"\r" in text else text.replace(b"\n", b"\r\n")
    found = prove_programs(SourceText.of(text), SourceText.of(other))
    assert [(each.name, each.figure) for each in found.failed] == []


@pytest.mark.parametrize("at", range(len(CORPUS)), ids=lambda at: CORPUS[at].stem)
def test_two_odd_programs_are_judged_and_told_without_a_crash(at):
    first, second = TEXTS[at], TEXTS[at - 1]
    found = prove_programs(SourceText.of(first, "a.ngc"), SourceText.of(second, "b.ngc"))
    shape = json.loads(json_text(prove_record(found, LoadedMill(Mill()), LoadedJob(Job()))))
    assert shape["proof"]["holds"] is found.holds
    assert render_prove(found, Job())
    made = Certificate(found, LoadedMill(Mill()), LoadedJob(Job()), "2026-01-01", "a.ngc", "b.ngc")
    for name in ("c.txt", "c.json"):
        assert certificate_bytes(made, name)
