"""Every code of the interpreter: its explanation is there, and its example shows it."""

from __future__ import annotations

import pytest
from motion_checks import codes, run

from gpre.diagnostics.codes import ENTRIES, TABLE
from gpre.diagnostics.entry import Entry
from gpre.driver.counting import count
from gpre.driver.not_stated import unstated_findings
from gpre.mill.mill import Mill
from gpre.source.text import SourceText

OF_MOTION = [entry for code, entry in TABLE.items() if code.startswith("INT")]
OF_NO_RUN = {"INT351", "INT352", "INT353"}  # found by running the program in other ways


@pytest.mark.parametrize("entry", OF_MOTION, ids=lambda entry: entry.code)
def test_the_example_of_a_code_shows_it(entry: Entry, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gpre.motion.trace.MOST_CALLED_BLOCKS", 1000)
    if entry.code in OF_NO_RUN:
        counted = count(SourceText.of(entry.example.encode()), Mill())
        assert entry.code in {each.code for each in unstated_findings(counted)}
    else:
        assert entry.code in codes(run(entry.example))


@pytest.mark.parametrize("entry", OF_MOTION, ids=lambda entry: entry.code)
def test_an_explanation_is_whole(entry: Entry) -> None:
    for text in (entry.what, entry.why, entry.instead):
        assert text.strip().endswith((".", "G2 X10 Y0 I-5 J0"))
    assert not entry.title.endswith(".")


def test_no_code_stands_twice() -> None:
    assert len(ENTRIES) == len(TABLE)
