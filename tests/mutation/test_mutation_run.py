"""The mutation run itself: its mutants compile, it restores, and it tells what was noticed."""

from __future__ import annotations

import ast
import json
import os
from pathlib import Path

import findings
import pytest
from findings import EXPLAINED, Found, Records, read_explained, survivors, table
from mutant_maker import is_another, mutants_of, sample
from mutation_run import quickest, reaching
from tests_run import ROOT, Copy, Reached
from tests_that_matter import CORE, matching, modules, wider

SOURCE = b'''"""A module: 1 + 2, and not more."""
from __future__ import annotations
import math

LIMIT = 0.5  # mm + 1
Names = tuple[int, str]


def first(values: list[float] | None, *, least: float = 1e-9) -> bool | None:
    """Return nothing: a < b."""
    # x = 1 + 2, and not a string
    if values is None or not values:
        return None
    low, rest = values[0], values[1:]
    assert low == low
    rest = rest if rest else values
    total = low * 2 + sum(rest) - 1
    while total > LIMIT and values:
        total -= -3
    return all(each >= least for each in rest) & (total != math.inf)  # a & b
'''


def changes(source: bytes = SOURCE) -> set[tuple[str, str]]:
    """What stands there, and what instead, for each mutant."""
    return {
        (source[each.start : each.end].decode(), each.text)
        for each in mutants_of("m.py", source)
        if is_another(each, source)
    }


def test_each_kind_of_token_is_changed() -> None:
    assert changes() == {
        ("0.5", "1.0"), ("1e-9", repr(1e-9 * 1000.0)), ("0", "1"), ("2", "3"), ("1", "0"),
        ("1", "2"), ("3", "4"), ("is", "is not"), ("or", "and"), ("and", "or"), ("not ", ""),
        ("", "not "), ("return None", "pass"), ("*", "/"), ("+", "-"), ("-", "+"), (">", ">="),
        (">", "<="), ("-=", "+="), ("-", ""), ("all", "any"), (">=", ">"), (">=", "<"),
        ("&", "|"), ("!=", "=="), ("", "-"), ("1", ""),
    }  # fmt: skip


def test_no_comment_string_annotation_assertion_or_import_is_changed() -> None:
    for each in mutants_of("m.py", SOURCE):
        line = SOURCE.split(b"\n")[each.line(SOURCE) - 1]
        column = each.start - SOURCE.rfind(b"\n", 0, each.start) - 1
        assert b"#" not in line[:column]
        assert not line.strip().startswith((b'"""', b"#", b"assert", b"import", b"Names"))
    only = b"def f(a: int | None = None) -> list[int]:  # 1 + 1\n    '''1 < 2'''\n    return a\n"
    assert changes(only) == set()


def test_an_early_return_is_left_out_and_a_slice_opened() -> None:
    source = (
        b"def f(a):\n    for x in a[1:-1]:\n        if x:\n            continue\n    return a\n"
    )
    assert {("continue", "pass"), ("1", ""), ("-1", "")} <= changes(source)


def test_every_mutant_of_a_sample_compiles_and_is_another_program() -> None:
    module = "gpre/proof/material_above.py"
    source = (ROOT / module).read_bytes()
    drawn = sample(source, mutants_of(module, source), 15, seed=3)
    assert len({(each.start, each.end) for each in drawn}) == 15
    for each in drawn:
        changed = each.apply(source)
        assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(source))
        before, after = each.shown(source)
        assert before != after
        assert each.lines[0] <= each.line(source) <= each.lines[1]
    assert drawn == sample(source, mutants_of(module, source), 15, seed=3)
    assert drawn != sample(source, mutants_of(module, source), 15, seed=4)


def test_an_operator_may_be_the_last_token_but_one() -> None:
    assert ("+", "-") in changes(b"x = 2\ny = x + 1\n")


def test_bytes_are_counted_not_letters() -> None:
    source = 'x = "°°°" + str(1 + 2)  # °\n'.encode()
    assert ("+", "-") in changes(source)
    assert ("2", "3") in changes(source)


# --- the copy ---------------------------------------------------------------------------------


@pytest.fixture
def small(tmp_path: Path) -> Copy:
    """A copy of a tree of one module and its test."""
    copy = Copy(tmp_path)
    for name, text in {
        "pyproject.toml": "[tool.pytest.ini_options]\npythonpath = ['.']\n",
        "gpre/__init__.py": "",
        "gpre/sums.py": "def add(a, b):\n    return a + b\n\n\ndef idle(a):\n    return a\n",
        "gpre/loops.py": "def count(n):\n    at = 0\n    while at < n:\n        at += 1\n"
        "    return at\n",
        "tests/test_sums.py": "from gpre.sums import add, idle\n\n\ndef test_adds():\n"
        "    assert add(1, 2) == 3\n\n\ndef test_idles():\n    assert idle(4) == 4\n\n\n"
        "def test_fails_always():\n    assert idle(1) == 2\n",
        "tests/test_loops.py": "from gpre.loops import count\n\n\ndef test_counts():\n"
        "    assert count(3) == 3\n",
    }.items():
        path = copy.tree / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return copy


def one_of(copy: Copy, module: str, old: str, new: str):
    source = (copy.tree / module).read_bytes()
    return source, next(
        each
        for each in mutants_of(module, source)
        if (source[each.start : each.end].decode(), each.text) == (old, new)
    )


def test_what_tests_reach_is_found_line_by_line(small: Copy, tmp_path: Path) -> None:
    reached = small.reached("tests/test_sums.py", tmp_path / "kept")
    _, mutant = one_of(small, "gpre/sums.py", "+", "-")
    assert set(reaching(reached, mutant)) == {"tests/test_sums.py::test_adds"}
    assert reached.failed == ("tests/test_sums.py::test_fails_always",)
    assert set(reached.seconds) == {
        f"tests/test_sums.py::{name}" for name in ("test_adds", "test_idles", "test_fails_always")
    }
    some = small.reached("tests/test_sums.py -k adds", tmp_path / "kept")
    assert list(some.seconds) == ["tests/test_sums.py::test_adds"]
    # it is kept, and found anew where the module is another
    kept = sorted((tmp_path / "kept").iterdir())
    assert Copy(tmp_path).reached("tests/test_sums.py", tmp_path / "kept") == reached
    assert sorted((tmp_path / "kept").iterdir()) == kept


def test_a_known_mutant_is_noticed_and_the_module_restored(small: Copy) -> None:
    path = small.tree / "gpre" / "sums.py"
    times = path.stat().st_mtime_ns
    source, mutant = one_of(small, "gpre/sums.py", "+", "-")
    tests = {"tests/test_sums.py::test_adds": 0.1}
    assert small.first_failure(tests) is None
    with small.changed("gpre/sums.py", mutant.apply(source)):
        assert b"a - b" in path.read_bytes()
        assert small.first_failure(tests) == "tests/test_sums.py::test_adds"
        assert small.first_failure({"tests/test_sums.py::test_idles": 0.1}) is None
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (source, times)
    with pytest.raises(KeyError), small.changed("gpre/sums.py", b"broken"):
        raise KeyError
    assert path.read_bytes() == source
    assert small.first_failure(tests) is None


def test_a_module_that_cannot_be_imported_is_noticed(small: Copy) -> None:
    one, other = "tests/test_sums.py::test_adds", "tests/test_loops.py::test_counts"
    with small.changed("gpre/sums.py", b"raise TypeError\n"):
        for tests in ([one], [one, other], [other, one]):
            found = small.first_failure(dict.fromkeys(tests, 0.1))
            assert found is not None
            assert found.endswith("the tests could not start")


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="an endless loop is ended by its process")
def test_an_endless_loop_counts_as_noticed(small: Copy, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests_run._START", 3.0)
    source, mutant = one_of(small, "gpre/loops.py", "+=", "-=")
    with small.changed("gpre/loops.py", mutant.apply(source)):
        found = small.first_failure({"tests/test_loops.py::test_counts": 0.0})
    assert found is not None
    assert found.startswith("the time")


# --- tables -----------------------------------------------------------------------------------


def found_of(start: int, by: str, *, after: str = "x = 2", module: str = "gpre/a/b.py") -> Found:
    return Found(module, "d", 1, start, start + 1, "2", 7, "x = 1", after, by, 3, 0.5)


def test_what_was_found_is_kept_and_the_last_word_counts(tmp_path: Path) -> None:
    records = Records(tmp_path / "state" / "found.jsonl")
    assert records.read() == []
    for by in ("", "tests/test_a.py::test_b"):
        records.add(found_of(4, by))
    records.add(found_of(9, ""))
    assert [one.by for one in records.read()] == ["tests/test_a.py::test_b", ""]
    assert json.loads(records.path.read_text("utf-8").splitlines()[0])["line"] == 7


def test_the_table_counts_what_is_explained_apart() -> None:
    every = [found_of(1, "t"), found_of(2, "t"), found_of(3, ""), found_of(4, "", after="x = 3")]
    explained = {("gpre/a/b.py", "x = 1", "x = 3"): "equal: x is not used"}
    lines = table(every, explained).splitlines()
    assert lines[2] == "| gpre/a/ | 4 | 2 | 1 | 1 | 67 % |"
    assert lines[3] == "| gpre/a/b.py | 4 | 2 | 1 | 1 | 67 % |"
    assert lines[-1] == "| total | 4 | 2 | 1 | 1 | 67 % |"
    told = survivors(every, explained)
    assert told == "# line 7, reached by 3 tests\ngpre/a/b.py\n- x = 1\n+ x = 2\n"


def test_the_list_of_the_explained_can_be_read(tmp_path: Path) -> None:
    for (module, before, after), reason in read_explained(EXPLAINED).items():
        assert (ROOT / module).exists(), module
        assert before != after
        assert reason.startswith(findings.REASONS)
    path = tmp_path / "explained.txt"
    path.write_text("# a comment\ngpre/a.py\n- x = 1\n+ x = 2\nequal: why\n", "utf-8")
    assert read_explained(path) == {("gpre/a.py", "x = 1", "x = 2"): "equal: why"}
    for wrong in ("gpre/a.py\n- x\n+ y\n", "gpre/a.py\n- x\n+ y\nbecause\n"):
        path.write_text(wrong, "utf-8")
        with pytest.raises(ValueError, match="reason"):
            read_explained(path)


def test_quick_tests_come_first_and_at_least_one_runs() -> None:
    tests = {"slow": 50.0, "quick": 1.0, "middle": 5.0}
    assert list(quickest(tests, 10.0)) == ["quick", "middle"]
    assert list(quickest({"slow": 50.0}, 10.0)) == ["slow"]
    assert quickest({}, 10.0) == {}


def test_what_runs_at_import_is_reached_by_all() -> None:
    source = b"LIMIT = 2\n\n\ndef f():\n    return LIMIT\n"
    limit = next(each for each in mutants_of("gpre/a.py", source) if each.at_import)
    lines = {"one": {"gpre/a.py": [5]}, "other": {"gpre/b.py": [1]}}
    seconds = {"one": 2.0, "other": 1.0}
    assert reaching(Reached(seconds, lines, ()), limit) == seconds


def test_every_core_module_has_tests_that_match_it() -> None:
    every = modules(ROOT, [])
    assert len(every) > 150
    assert {one.split("/")[1] for one in every} == {name.split("/")[1] for name in CORE}
    for module in every:
        near, far = matching(ROOT, module), wider(ROOT, module)
        assert near, module
        assert far, module
        assert not set(near) & set(far)
        assert all((ROOT / path.split(" -k ")[0]).exists() for path in (*near, *far))
    assert modules(ROOT, ["gpre/proof/feeds.py"]) == ["gpre/proof/feeds.py"]
    stock = modules(ROOT, ["gpre/proof/metal"])
    assert {one.rsplit("/", 1)[0] for one in stock} == {"gpre/proof/metal"}
    assert "gpre/proof/metal/loads.py" in stock
