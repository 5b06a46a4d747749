"""A share of `every_word.py`: every survivor of the proof belongs to a class of harmless change."""

from __future__ import annotations

from every_word import Score, mutants, score
from own_judge import CLASSES
from short_programs import SHORTS

SHARE = 61  # one question in so many; with the whole lot, some 30 minutes, `every_word.py`


def _told(result: Score) -> list[str]:
    return [
        f"{each.program}, {each.mutant.kind}, line {each.mutant.line}, {each.state}, "
        f"{'job' if each.named else 'no job'}, {each.by}: {each.told}"
        for each in result.unexplained
    ]


def test_what_passes_the_proof_is_harmless_by_name() -> None:
    result = score(every=SHARE)
    for each in result.survivors:  # shown where the test fails
        print(f"{each.program}, {each.mutant.kind}, line {each.mutant.line}: {each.told}")
    assert _told(result) == []
    assert {each.told for each in result.survivors} <= set(CLASSES)
    assert sum(result.found.values()) > 2 * len(result.survivors) > 0


def test_every_program_is_short_and_damaged_in_every_manner() -> None:
    kinds = set()
    for program in SHORTS:
        assert len(program.text.splitlines()) <= 26, program.name
        every = list(mutants(program.text))
        assert len({each.text for each in every}) == len(every)
        assert program.text.encode() not in {each.text for each in every}
        kinds |= {each.kind for each in every}
    assert kinds == {
        "beyond column 256", "blank in a number", "block doubled", "block down, the next one up",
        "block lost", "comment changed", "comment inside a comment", "comment left open",
        "comment lost", "decimals lost", "digits swapped", "number in the middle", "point lost",
        "point shifted", "sign lost", "sign new", "word doubled", "word lost",
        "word to the block before", "word to the block behind",
    }  # fmt: skip
