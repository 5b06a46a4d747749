"""Whatever is mistyped or added: no crash, a proof that holds, never more turns while cutting."""

from __future__ import annotations

from pathlib import Path
from random import Random

import own_count
import own_safety
import pytest
from examples import seeds
from mutations import mutated
from other_manners import Written, all_manners
from own_reading import read_on

from gpre import load_mill
from gpre.driver.rewrite import rewrite
from gpre.mill.job_file import find_job
from gpre.program.read import read
from gpre.source.text import SourceText

ROOT = Path(__file__).resolve().parents[2]
CORPUS = sorted((ROOT / "tests" / "identity").glob("*.ngc"))
MILL = load_mill(ROOT / "samples" / "mill.toml")


def programs() -> list[Written]:
    paths = sorted((ROOT / "samples").glob("*.ngc"))
    short = [path for path in paths if path.stem != "knob_rib"]
    from_samples = [
        Written(path.stem, path.read_bytes(), find_job(None, str(path)).job) for path in short
    ]
    return [*from_samples, *all_manners()]


@pytest.mark.parametrize("seed", seeds(0.8))
def test_mutated_program_is_rewritten_with_proof_or_left_alone(seed: int) -> None:
    random = Random(seed)
    written = random.choice(programs())
    text = mutated(written.text, random)
    assert read(text).text == text
    result = rewrite(SourceText.of(text, written.name), MILL, written.job)
    assert result.proof.holds
    old, new = read_on(text, MILL), read_on(result.data, MILL)
    before, after = own_count.in_cut(old), own_count.in_cut(new)
    assert sum(after) <= sum(before)
    if result.changed:
        said = own_safety.complaints(old, new, written.job)
        assert said == []
    again = rewrite(SourceText.of(result.data, written.name), MILL, written.job)
    assert again.data == result.data


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_program_of_the_corpus_is_rewritten_with_proof_or_left_alone(path: Path) -> None:
    data = path.read_bytes()
    result = rewrite(SourceText.of(data, path.name), MILL)
    assert result.proof.holds
    again = rewrite(SourceText.of(result.data, path.name), MILL)
    assert again.data == result.data


@pytest.mark.parametrize(
    "name",
    [
        "if_goto",
        "while_do",
        "o_word_sub",
        "g65",
        "cutter_compensation",
        "lathe_g71",
        "lathe_g96",
        "probe",
        "m98_out_of_file",
        "inverse_time",
    ],
)
def test_what_is_not_understood_is_left_alone(name: str) -> None:
    data = (ROOT / "tests" / "identity" / f"{name}.ngc").read_bytes()
    result = rewrite(SourceText.of(data, name), MILL)
    assert result.data == data
