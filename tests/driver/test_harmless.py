"""Edits by hand that do no harm: how they show in the text, the JSON and the certificate."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pair_files import read_pair_file

from gpre.driver.harmless.edits import Edits
from gpre.driver.harmless.find import KINDS, MOST_EDITS
from gpre.driver.proving import BUT_FOR, prove_programs
from gpre.driver.spelling import bare_texts, said
from gpre.mill.job import Job
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill
from gpre.program.read import read
from gpre.report.certificate import Certificate
from gpre.report.prove import obligation_rows
from gpre.report.records.certificates import certificate_bytes
from gpre.report.records.encode import plain
from gpre.report.records.proofs import prove_record
from gpre.source.text import SourceText

PAIRS = Path(__file__).parent.parent / "cases" / "prove"
RING = """G21 G17 G90
S2000 M3
G0 Z10
G0 X-5 Y10
M8
G0 Z2
G1 Z-1 F200
G1 X70 F300
G0 Z10
M9
M5
M30
"""
STOPPED = RING.replace("G0 Z10\nM9\n", "G0 Z10\nM1 (SWEEP)\nM9\n")


def proved(after, before=RING):
    sources = (SourceText.of(text.encode(), name) for text, name in ((before, "a"), (after, "b")))
    return prove_programs(*sources)


def edits_of(before, after):
    old, new = (read(SourceText.of(text.encode())) for text in (before, after))
    return Edits(bare_texts(old, new, [said(each, numbers=False) for each in (old, new)]))


def test_an_edit_shows_in_text_json_and_certificate():
    found = proved(STOPPED)
    assert found.holds
    (edit,) = found.edits
    assert (edit.name, edit.before, edit.after) == ("added stop", None, 9)
    assert 'the operator reads "SWEEP"' in edit.figure
    rows = [lines for verdict, lines in obligation_rows(found) if verdict == "differs"]
    assert any(lines[0].startswith("added stop") for lines in rows)
    shape = plain(prove_record(found, LoadedMill(Mill()), LoadedJob(Job())))
    assert shape["proved"] is True
    entries = [each for each in shape["proof"]["obligations"] if each["name"] == "added stop"]
    assert [(each["verdict"], each["line_before"], each["line_after"]) for each in entries] == [
        ("differs", None, 10)
    ]
    date = datetime(2026, 1, 31, tzinfo=UTC).isoformat()
    mill, job = LoadedMill(Mill(), "", b"", ()), LoadedJob(Job(), "", b"", ())
    certificate = Certificate(found, mill, job, date, "a", "b")
    text = certificate_bytes(certificate, "c.txt").decode()
    assert "CERTIFICATE: PROVED" in text
    assert "differs  added stop" in text
    assert json.loads(certificate_bytes(certificate, "c.json"))["certificate"] == "proved"


def test_what_only_looks_like_one_fails_and_says_why():
    found = proved(RING.replace("G1 X70 F300\n", "M1\nG1 X70 F300\n"))
    assert not found.holds
    assert found.edits == ()
    (stop,) = [each for each in found.failed if each.name == "added stop"]
    assert "not clear of the metal" in stop.figure
    shape = plain(prove_record(found, LoadedMill(Mill()), LoadedJob(Job())))
    entries = [each for each in shape["proof"]["obligations"] if each["name"] == "added stop"]
    assert [each["verdict"] for each in entries] == ["failed"]


def test_one_name_may_be_harmless_at_one_place_and_fail_at_another():
    found = proved(STOPPED.replace("G1 X70 F300\n", "M1\nG1 X70 F300\n"))
    assert not found.holds
    assert [each.after for each in found.edits] == [10]
    assert [each.after for each in found.failed if each.name == "added stop"] == [7]


def test_the_rest_is_told_as_the_same_but_for_the_edits():
    found = proved(STOPPED)
    figures = {each.figure for each in found.proof.obligations if each.name == "cutting path"}
    assert figures == {BUT_FOR}


def test_undoing_all_edits_gives_the_first_program():
    after = STOPPED.replace("M30", "M2").replace("M8\n", "").replace("S2000 M3", "S2000 M3 M8")
    edits = edits_of(RING, after)
    assert len(edits) == 4
    undone = edits.undo(frozenset(edits), "b")
    assert undone.text.data.decode() == RING
    assert edits.undo(frozenset(), "b").text.data.decode() == after


def test_undoing_one_edit_leaves_the_others():
    after = STOPPED.replace("M30", "M2")
    edits = edits_of(RING, after)
    (end,) = [each for each in edits if ("M", 2.0) in each.added]
    assert edits.undo(frozenset((end,)), "b").text.data.decode() == STOPPED


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        # of two that trade places it is the coolant that has moved
        ("G0 Z5\nM8\nG0 X1\nM30\n", "M8\nG0 Z5\nG0 X1\nM30\n", [["M8"], ["M8"]]),
        # a stop beside a block that was changed is an edit by itself
        ("G0 Z5\nM9\nM30\n", "G0 Z9\nM1\nM9\nM30\n", [["Z5", "Z9"], ["M1"]]),
        # each block by itself where it is clear what became what
        ("G0 Z5\nG0 X1\nM30\n", "G0 Z6\nG0 X2\nM30\n", [["Z5", "Z6"], ["X1", "X2"]]),
        # M8 is gone and a dwell is new, not the one for the other
        ("G0 Z5\nM8\nG0 X1\n", "G0 Z5\nG4 P1\nG0 X1\n", [["M8"], ["G4", "P1"]]),
    ],
)
def test_how_two_programs_come_apart_into_edits(before, after, words):
    found = [
        sorted(f"{letter}{value:g}" for letter, value in (*edit.lost, *edit.added))
        for edit in edits_of(before, after)
    ]
    assert found == words


def test_programs_that_go_by_block_numbers_are_left_to_the_proof():
    before = RING.replace("G0 Z10\nM9", "G0 Z10\nGOTO 50\nN50 M9")
    found = proved(before.replace("GOTO", "M1\nGOTO"), before)
    assert not found.holds
    assert found.edits == ()


def test_more_edits_than_a_hand_makes_are_left_to_the_proof():
    lines = "".join(f"G0 X{at}\n" for at in range(MOST_EDITS + 1))
    before = RING.replace("G0 Z10\nM9\n", f"G0 Z10\n{lines}M9\n")
    found = proved(before.replace("G0 X", "M1\nG0 X"), before)
    assert not found.holds
    assert found.edits == ()


def test_with_the_block_delete_switch_it_must_be_harmless_either_way():
    before = RING.replace("G0 Z10\nM9", "G0 Z5\n/G0 Z10\nM9")
    found = proved(before.replace("M9", "M1\nM9"), before)
    assert not found.holds
    assert found.edits == ()
    found = proved(before.replace("M9", "G0 Z12\nM1\nM9"), before)
    assert found.holds
    assert [each.name for each in found.edits] == ["added stop", "last retract"]


def test_every_kind_has_pairs_and_as_many_that_only_look_like_it():
    files = [read_pair_file(path) for path in sorted(PAIRS.glob("*.pair"))]
    for kind in KINDS:
        named = [
            (pair.proved, file)
            for file in files
            for pair in file
            if any((each.name, each.verdict) == (kind.name, "differs") for each, _ in pair.says)
        ]
        assert sum(holds for holds, _ in named) >= 3, kind.name
        assert max(sum(not pair.proved for pair in file) for _, file in named) >= 3, kind.name
