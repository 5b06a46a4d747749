"""The names that `import gpre` hands out: which, how light, of what type; what is given to them."""

from __future__ import annotations

import dataclasses
import doctest
import os
import pickle
import re
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest
from beside_the_command import FAULTY, MILL, ROOT, SAMPLES, ZIGZAG
from command import call

import gpre

FUNCTIONS = {"compare", "count", "load_job", "load_mill", "predict", "prove", "read", "rewrite"}
GIVEN = {"Axis", "Box", "Job", "Mill", "ProgramText", "Tool"}
RESULTS = {"CompareResult", "CountResult", "PredictResult", "ProveResult", "RewriteResult"}
PUBLIC = FUNCTIONS | GIVEN | RESULTS | {"Finding", "GpreError", "__version__"}


def python(*arguments: str, cwd: Path = ROOT) -> str:
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=cwd,
        capture_output=True,
        check=False,
        env=os.environ,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_dir_lists_the_public_names_and_each_is_there():
    assert dir(gpre) == sorted(PUBLIC) == sorted(gpre.__all__)
    for name in PUBLIC:
        assert getattr(gpre, name).__doc__, name
    with pytest.raises(AttributeError, match="no attribute 'rewite'"):
        _ = gpre.rewite


def test_no_public_name_is_that_of_a_room():
    """Importing the room would put its module into the place of the name."""
    for name in PUBLIC - {"__version__"}:
        assert find_spec(f"gpre.{name}") is None, name


def test_importing_gpre_loads_nothing_else():
    code = (
        "import sys, gpre\n"
        "dir(gpre), gpre.__version__\n"
        "heavy = {'numpy', 'lark', 'shapely', 'rich', 'click', 'platformdirs', 'pathlib'}\n"
        "print(*(each for each in sys.modules if each.startswith('gpre.') or each in heavy))\n"
    )
    assert python("-S", "-c", code).split() == []


def test_the_types_are_known_to_whoever_uses_them(tmp_path, monkeypatch):
    from mypy import api

    monkeypatch.chdir(ROOT)
    lines = [
        "import gpre",
        *(f"reveal_type(gpre.{name})" for name in sorted(PUBLIC)),
        'done = gpre.rewrite("plate.ngc", mill="mill.toml")',
        "reveal_type(done)",
        "reveal_type(done.proof.holds)",
        "reveal_type(done.reversals_before.cutting)",
        "reveal_type(done.skipped[0].reason)",
        "reveal_type(done.save())",
        "reveal_type(gpre.count(b'M2').places[0].position)",
        "reveal_type(gpre.read(b'M2').text)",
        "gpre.rewite",
        "gpre.count(5)",
        "gpre.count('a.ngc', units='cm')",
        "done.data = b''",
    ]
    user = tmp_path / "user.py"
    user.write_text("\n".join(lines), encoding="utf-8")
    options = ["--strict", "--hide-error-context", "--no-color-output", "--show-error-codes"]
    cache = ["--cache-dir", str(ROOT / ".mypy_cache")]
    out, err, _ = api.run(
        [str(user), *options, *cache, "--config-file", str(ROOT / "pyproject.toml")]
    )
    assert not err
    said = {}
    for line, text in re.findall(r"user\.py:(\d+): \w+: (.*)", out):
        said.setdefault(lines[int(line) - 1], text)
    assert len(said) == len(lines) - 2, out
    revealed = {
        line: text.split('"', 1)[1] for line, text in said.items() if line.startswith("reveal_type")
    }
    assert not [line for line, text in revealed.items() if re.search(r"\bAny\b|\bobject\b", text)]
    assert revealed["reveal_type(done)"] == 'gpre.scripting.rewriting.RewriteResult"'
    assert revealed["reveal_type(done.proof.holds)"].endswith('bool"')
    assert revealed["reveal_type(done.reversals_before.cutting)"].endswith('int"')
    assert revealed["reveal_type(done.skipped[0].reason)"].endswith('str"')
    assert revealed["reveal_type(done.save())"].endswith('Path"')
    assert "float | None" in revealed["reveal_type(gpre.count(b'M2').places[0].position)"]
    assert '"rewite"' in said["gpre.rewite"]
    assert "incompatible type" in said["gpre.count(5)"]
    assert "incompatible type" in said["gpre.count('a.ngc', units='cm')"]
    assert "read-only" in said["done.data = b''"]


def test_it_ships_its_types():
    assert (ROOT / "gpre" / "py.typed").exists()


def test_python_m_gpre_is_the_command(capsys):
    place = str(SAMPLES / "tube_saddle.ngc")
    told = python("-m", "gpre", "count", place, "--mill", str(MILL))
    assert told == call(capsys, "count", place, "--mill", MILL)[1]
    assert python("-m", "gpre", "--help").startswith("Usage: gpre [OPTIONS]")
    assert python("-m", "gpre", "--version") == f"gpre {gpre.__version__}\n"


def test_a_path_its_text_and_its_bytes_are_the_same_program():
    place = SAMPLES / "dovetail_shoe.ngc"
    job = gpre.load_job(SAMPLES / "dovetail_shoe.job.toml")
    mill = gpre.load_mill(MILL)
    first = gpre.rewrite(place, mill=MILL)
    for program in (
        str(place),
        place.read_bytes(),
        gpre.read(place),
        gpre.read(place.read_bytes()),
    ):
        for known in (MILL, str(MILL), mill):
            found = gpre.rewrite(program, mill=known, job=job)
            assert found.data == first.data
            assert found.proof == first.proof
            assert found.mill == (None if known is mill else str(MILL))
            assert found.job is None


def test_the_job_file_is_found_beside_a_file_and_not_beside_bytes(tmp_path):
    place = SAMPLES / "dovetail_shoe.ngc"
    assert gpre.prove(place, place).job == str(place.with_suffix(".job.toml"))
    other = tmp_path / "b.ngc"
    other.write_bytes(place.read_bytes())
    assert gpre.prove(other, place).job == str(place.with_suffix(".job.toml"))
    alone = gpre.prove(place.read_bytes(), other)
    assert (alone.job, alone.holds) == (None, True)
    assert gpre.rewrite(place.read_bytes()).job is None


def test_without_a_profile_a_guess_is_made_and_told(tmp_path, monkeypatch):
    place = tmp_path / "mill.toml"
    monkeypatch.setattr("gpre.mill.profile.default_place", lambda: place)
    found = gpre.predict(ZIGZAG)
    assert found.mill is None
    assert [each.code for each in found.findings] == ["MIL508"]
    assert gpre.load_mill() == gpre.Mill()
    place.write_bytes(MILL.read_bytes())
    found = gpre.predict(ZIGZAG)
    assert (found.mill, found.findings) == (str(place), ())
    assert gpre.load_mill() == gpre.load_mill(MILL)


def test_a_mill_can_be_changed_in_a_script():
    """Where nobody takes the backlash up the error grows with it."""
    mill = gpre.load_mill(MILL)
    nobody = dataclasses.replace(mill.compensation, by="none")

    def worst(backlash: float) -> float | None:
        axis = dataclasses.replace(mill.x, lost_motion=backlash)
        other = dataclasses.replace(mill, x=axis, compensation=nobody)
        return gpre.predict(SAMPLES / "tube_saddle.ngc", mill=other).worst_error

    assert worst(0.02) < worst(0.2) < worst(0.4)


def test_a_program_as_it_was_read(tmp_path):
    data = "G21 (größe)\r\nG0 X1\r\n".encode("latin-1")
    place = tmp_path / "a.ngc"
    place.write_bytes(data)
    program = gpre.read(place)
    assert (program.name, program.data, program.path) == (str(place), data, place)
    assert program.text.encode("latin-1") == data
    assert program.lines == ("G21 (größe)", "G0 X1")
    assert gpre.read(program) is program
    assert gpre.read(data) == gpre.ProgramText("the program", data)
    assert gpre.read("größe".encode()).text == "größe"
    assert "b'" not in repr(program)


def test_results_and_faults_go_from_one_process_to_another():
    place = SAMPLES / "dovetail_shoe.ngc"
    done = gpre.rewrite(place, mill=MILL)
    for each in (done, gpre.predict(place, mill=MILL), gpre.prove(place, done.data, mill=MILL)):
        assert pickle.loads(pickle.dumps(each)) == each
    counted = pickle.loads(pickle.dumps(gpre.count(place, mill=MILL)))
    assert counted.places == gpre.count(place, mill=MILL).places
    with pytest.raises(gpre.GpreError) as caught:
        gpre.count(FAULTY)
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value)
    assert (again.message, again.status) == (caught.value.message, 3)
    assert again.findings == caught.value.findings


def test_the_example_of_the_docstring_runs():
    assert doctest.testmod(gpre) == (0, 3)


def test_results_cannot_be_changed_and_nothing_is_printed(capfd, tmp_path):
    place = SAMPLES / "dovetail_shoe.ngc"
    done = gpre.rewrite(place, mill=MILL)
    done.save(tmp_path / "new.ngc")
    results = [
        gpre.read(place),
        gpre.count(place),
        gpre.predict(place, mill=MILL),
        done,
        done.proof,
        gpre.prove(place, done.data, mill=MILL),
        gpre.compare(place, done.data, mill=MILL),
    ]
    results += [results[1].places[0], results[2].worst[0], done.done[0], done.proof.obligations[0]]
    for each in results:
        for name in (field.name for field in dataclasses.fields(each)):
            with pytest.raises(dataclasses.FrozenInstanceError):
                setattr(each, name, None)
        assert len(repr(each)) < 1200
    with pytest.raises(gpre.GpreError):
        gpre.count("none.ngc")
    assert capfd.readouterr() == ("", "")
