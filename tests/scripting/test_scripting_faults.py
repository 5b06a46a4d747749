"""What a script is told where something is wrong: always GpreError, and nothing is handed out."""

from __future__ import annotations

import dataclasses
import errno
import os
from pathlib import Path

import numpy as np
import pytest
from beside_the_command import FAULTY, MILL, SAMPLES, ZIGZAG, as_json, told

import gpre
from gpre.driver.trial import Trial
from gpre.geometry.too_dense import CrowdedError
from gpre.proof.proof import Obligation, Proof


def fault(status: int, ask, *arguments, **named) -> gpre.GpreError:
    with pytest.raises(gpre.GpreError) as caught:
        ask(*arguments, **named)
    error = caught.value
    assert error.status == status
    assert str(error).startswith(error.message)
    assert error.help in str(error)
    return error


@pytest.mark.parametrize(
    ("data", "code"), [(None, "FIL001"), (b"", "FIL006"), (b"G0 X1\0\n", "FIL007")]
)
@pytest.mark.parametrize(
    "ask",
    [
        gpre.read,
        gpre.count,
        gpre.predict,
        gpre.rewrite,
        lambda program: gpre.prove(ZIGZAG, program),
        lambda program: gpre.compare(program, ZIGZAG),
    ],
)
def test_a_file_that_cannot_be_read_is_told_as_the_command_tells_it(
    capsys, tmp_path, data, code, ask
):
    place = tmp_path / "part.ngc"
    if data is not None:
        place.write_bytes(data)
        assert fault(3, ask, data).findings[0].code == code
    error = fault(3, ask, place)
    shown = told(capsys, "count", place)
    assert [as_json(each) for each in error.findings] == shown["findings"]
    assert error.message == shown["fault"]["message"]
    assert (error.findings[0].code, error.help) == (code, error.findings[0].help)


def test_the_names_of_files_are_names(tmp_path):
    assert fault(3, gpre.count, tmp_path).findings[0].code == "FIL002"
    assert "standard input" in fault(2, gpre.count, "-").message
    assert "empty" in fault(2, gpre.count, "").message
    assert "several lines" in fault(2, gpre.count, ZIGZAG.decode()).message
    assert "standard input" in fault(2, gpre.count, ZIGZAG, mill="-").message
    assert fault(3, gpre.count, "a\0b").findings[0].code == "FIL005"
    for wrong in (5, None, ["a.ngc"], b"a.ngc".fromhex):
        with pytest.raises(TypeError, match="a path or bytes"):
            gpre.count(wrong)
    with pytest.raises(TypeError, match=r"a path or gpre\.Mill"):
        gpre.count(ZIGZAG, mill=b"mill.toml")
    with pytest.raises(TypeError, match=r"a path or gpre\.Job"):
        gpre.rewrite(ZIGZAG, job=5)


def test_a_faulty_profile_and_job_are_told_with_their_places(capsys, tmp_path):
    mill, job, program = tmp_path / "mill.toml", tmp_path / "a.job.toml", tmp_path / "a.ngc"
    program.write_bytes(ZIGZAG)
    mill.write_text("[x]\nlost_motion = -1\nno_such_key = 2\n", encoding="utf-8")
    job.write_text("[tool.3]\n", encoding="utf-8")
    for error, options in (
        (fault(3, gpre.predict, program, mill=mill, job=gpre.Job()), ("--mill", mill)),
        (fault(3, gpre.load_mill, mill), ("--mill", mill)),
        (fault(3, gpre.predict, program, job=str(job)), ("--job", job)),
        (fault(3, gpre.predict, program), ()),
        (fault(3, gpre.load_job, job), ("--job", job)),
    ):
        shown = told(capsys, "predict", program, *options)
        assert [as_json(each) for each in error.findings] == shown["findings"]
        assert "cannot be used" in error.message
    assert {each.line for each in fault(3, gpre.load_mill, mill).findings} == {2, 3}
    assert fault(3, gpre.load_mill, tmp_path / "none.toml").findings[0].code == "FIL001"


def test_objects_are_held_to_the_rules_of_the_files():
    mill = gpre.Mill(x=gpre.Axis(lost_motion=-0.1))
    for ask in (gpre.count, gpre.predict, gpre.rewrite):
        error = fault(3, ask, ZIGZAG, mill=mill)
        assert [each.code for each in error.findings] == ["MIL504"]
        assert str(error.findings[0]).startswith("the mill: x.lost_motion is out of range")
    wide = dataclasses.replace(gpre.Mill().limits, tolerance=5.0)
    assert fault(3, gpre.rewrite, ZIGZAG, mill=gpre.Mill(limits=wide)).findings[0].line is None
    job = gpre.Job(tools={1: gpre.Tool(-6.0)})
    assert "tool.1.diameter" in str(fault(3, gpre.rewrite, ZIGZAG, job=job))
    assert "tool.1.diameter" in str(fault(3, gpre.prove, ZIGZAG, ZIGZAG, job=job))
    doubtful = gpre.Mill(x=gpre.Axis(lost_motion=1.5))
    assert [each.code for each in gpre.predict(ZIGZAG, mill=doubtful).findings] == ["MIL509"]


def test_what_was_asked_for_must_exist():
    assert "no rewrite named" in fault(2, gpre.rewrite, ZIGZAG, only="one-why").message
    assert "no rewrite named" in fault(2, gpre.rewrite, ZIGZAG, skip=["one-why"]).message
    assert "names no rewrite" in fault(2, gpre.rewrite, ZIGZAG, only=" , ").message
    for tolerance in (0.0, -1.0, 5.0, float("nan")):
        assert "out of range" in fault(2, gpre.rewrite, ZIGZAG, tolerance=tolerance).message
    for units in ("cm", ["mm"], 21):
        assert "mm or inch" in fault(2, gpre.count, ZIGZAG, units=units).help
    for wrong in ({"only": 5}, {"skip": [5]}, {"tolerance": "0.1"}):
        with pytest.raises(TypeError, match="and this is"):
            gpre.rewrite(ZIGZAG, **wrong)


def test_what_cannot_be_proved_is_not_handed_out(monkeypatch):
    failed = Obligation("modal codes set", holds=False, figure="G21 is no longer stated")
    monkeypatch.setattr(Trial, "whole_proof", lambda *_: Proof((failed,)))
    error = fault(4, gpre.rewrite, SAMPLES / "dovetail_shoe.ngc", mill=MILL)
    assert "G21 is no longer stated" in error.message
    assert "not be proved" in fault(4, gpre.rewrite, b"G0 X1\n").message  # left as it is


def test_an_error_of_the_program_is_told_with_its_place():
    error = fault(3, gpre.rewrite, FAULTY)
    assert str(error.findings[-1]) in str(error)
    assert str(error.findings[-1]).startswith("the program, line 3: the two radii of the arc")
    many = fault(3, gpre.count, FAULTY[:12] + FAULTY[12:-3] * 10)
    assert sum(each.severity == "error" for each in many.findings) == 10
    assert len(str(many).splitlines()) == 8
    assert "and 5 more faults" in str(many)
    named = fault(3, gpre.rewrite, gpre.read(FAULTY, name="plate.ngc"))
    assert named.message == "plate.ngc has faults"


@pytest.mark.parametrize(
    ("raised", "status", "said"),
    [
        (MemoryError(), 3, "does not fit into the memory"),
        (CrowdedError(), 3, "too many moves of the program lie over one another"),
        (OSError(errno.EIO, os.strerror(errno.EIO), "plate.ngc"), 3, "cannot read plate.ngc"),
        (ZeroDivisionError("by nought"), 70, "this is a fault of gpre, not of your program"),
        (TypeError("inside"), 70, "TypeError: inside"),
    ],
)
def test_whatever_happens_inside_is_told_so(monkeypatch, raised, status, said):
    def fail(*_args, **_named):
        raise raised

    monkeypatch.setattr("gpre.driver.course.count", fail)
    error = fault(status, gpre.count, ZIGZAG)
    assert said in error.message
    assert (error.__cause__ is raised) is (status == 70)


def test_rounding_deep_inside_is_no_business_of_the_script(monkeypatch, recwarn):
    from gpre.driver import course

    real = course.count
    monkeypatch.setattr(
        course, "count", lambda *args, **named: np.log(np.zeros(1)) is None or real(*args, **named)
    )
    assert gpre.count(ZIGZAG).reversals.total > 0
    assert not recwarn.list


def test_an_interruption_is_let_through(monkeypatch):
    def interrupt(*_args, **_named):
        raise KeyboardInterrupt

    monkeypatch.setattr("gpre.driver.course.count", interrupt)
    with pytest.raises(KeyboardInterrupt):
        gpre.count(ZIGZAG)


@pytest.fixture
def done(tmp_path: Path) -> gpre.RewriteResult:
    """Return a program of tmp_path that was rewritten, with profile and job file beside it."""
    for name in ("dovetail_shoe.ngc", "dovetail_shoe.job.toml", "mill.toml"):
        (tmp_path / name).write_bytes((SAMPLES / name).read_bytes())
    found = gpre.rewrite(tmp_path / "dovetail_shoe.ngc", mill=tmp_path / "mill.toml")
    assert found.changed
    return found


def test_save_writes_beside_the_original_and_again(done, tmp_path):
    place = done.save()
    assert place == tmp_path / "dovetail_shoe_new.ngc"
    assert place.read_bytes() == done.data
    assert done.save() == place  # gpre's own by its bytes
    place.write_bytes(b"(by hand)\nM2\n")
    error = fault(2, done.save)
    assert "nothing shows that gpre wrote it" in error.message
    assert place.read_bytes() == b"(by hand)\nM2\n"
    assert done.save(str(place), force=True).read_bytes() == done.data
    assert not [each for each in tmp_path.iterdir() if each.name.startswith(".gpre")]


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize("name", ["dovetail_shoe.ngc", "dovetail_shoe.job.toml", "mill.toml"])
def test_save_goes_over_no_file_in_use(done, tmp_path, monkeypatch, name, force):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "link.ngc").symlink_to(name)
    (tmp_path / "second.ngc").hardlink_to(name)
    for other in (name, tmp_path / name, "link.ngc", "second.ngc"):
        error = fault(2, done.save, other, force=force)
        assert "each needs a file of its own" in error.help
    assert (tmp_path / name).read_bytes() == (SAMPLES / name).read_bytes()


def test_save_keeps_clear_of_the_original_wherever_the_script_goes(tmp_path, monkeypatch):
    for name in ("dovetail_shoe.ngc", "dovetail_shoe.job.toml", "mill.toml"):
        (tmp_path / name).write_bytes((SAMPLES / name).read_bytes())
    (tmp_path / "away").mkdir()
    monkeypatch.chdir(tmp_path)
    program = gpre.read("dovetail_shoe.ngc")
    monkeypatch.chdir(tmp_path / "away")
    found = gpre.rewrite(program, mill="../mill.toml")
    assert found.job == str(tmp_path / "dovetail_shoe.job.toml")
    monkeypatch.chdir(tmp_path)
    for name in ("dovetail_shoe.ngc", "mill.toml", "dovetail_shoe.job.toml"):
        fault(2, found.save, name, force=True)
    assert found.save() == tmp_path / "dovetail_shoe_new.ngc"


def test_save_leaves_the_old_file_where_the_disk_fails(done, tmp_path, monkeypatch):
    old = done.save()
    old.write_bytes(b"old")

    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert fault(3, done.save, old, force=True).findings[0].code == "FIL004"
    assert old.read_bytes() == b"old"
    assert not [each for each in tmp_path.iterdir() if each.name.startswith(".gpre")]


def test_save_needs_a_place(done):
    assert "no file to write beside" in fault(2, gpre.rewrite(ZIGZAG).save).message
    assert "standard input" in fault(2, done.save, "-").message
    assert fault(3, done.save, "no/such/folder.ngc").findings[0].code == "FIL001"
    with pytest.raises(TypeError):
        done.save(5)
