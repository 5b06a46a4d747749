"""Every code of the interpreter: its explanation is there, and its example shows it."""

from __future__ import annotations

import pytest
from motion_checks import codes, run

from gpre.diagnostics.entry import Entry
from gpre.diagnostics.motion_codes import MOTION_CODES
from gpre.driver.counting import count
from gpre.driver.not_stated import unstated_findings
from gpre.mill.mill import Mill
from gpre.source.text import SourceText

OF_NO_RUN = {"INT351", "INT352", "INT353"}  # found by running the program in other ways


@pytest.mark.parametrize("entry", MOTION_CODES, ids=lambda entry: entry.code)
def test_the_example_of_a_code_shows_it(entry: Entry, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gpre.motion.trace.MOST_CALLED_BLOCKS", 1000)
    if entry.code in OF_NO_RUN:
        counted = count(SourceText.of(entry.example.encode()), Mill())
        assert entry.code in {each.code for each in unstated_findings(counted)}
    else:
        assert entry.code in codes(run(entry.example))


@pytest.mark.parametrize("entry", MOTION_CODES, ids=lambda entry: entry.code)
def test_an_explanation_is_whole(entry: Entry) -> None:
    for text in (entry.what, entry.why, entry.instead):
        assert text.strip().endswith((".", "G2 X10 Y0 I-5 J0"))
    assert not entry.title.endswith(".")


def test_no_code_stands_twice() -> None:
    numbers = [entry.code for entry in MOTION_CODES]
    assert len(numbers) == len(set(numbers))
    assert all(number.startswith("INT3") for number in numbers)
