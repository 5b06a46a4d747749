"""Over which files a new program may go, and over which a certificate."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from command import call
from four_holes import HOLES

from gpre.diagnostics.faults import UsageFault
from gpre.driver.output import new_name
from gpre.driver.own_files import refuse_foreign_certificate, refuse_foreign_program

ROOT = Path(__file__).parents[2]
NEW, OLD = b"G21 G90\nG0 X1\nM2\n", b"(clamp on the left)\nG0 X2\nM2\n"


def refused(target, certificate=None, data=NEW):
    try:
        refuse_foreign_program(str(target), data, b"G0 X9\n", certificate)
    except UsageFault:
        return True
    return False


def test_what_is_not_there_empty_equal_or_no_plain_file_is_written_to(tmp_path):
    target = tmp_path / "new.ngc"
    assert not refused(target)
    target.write_bytes(b"")
    assert not refused(target)
    target.write_bytes(NEW)
    assert not refused(target)
    assert not refused("-")
    assert not refused(tmp_path)  # that this is a folder is said by who writes
    if Path("/dev/null").exists():
        assert not refused("/dev/null")


def test_a_file_of_others_is_refused_also_behind_a_link(tmp_path):
    target, link = tmp_path / "new.ngc", tmp_path / "link.ngc"
    target.write_bytes(OLD)
    assert refused(target)
    link.symlink_to(target)
    assert refused(link)


@pytest.mark.parametrize(
    "line",
    [
        b"G0 X9 (take up backlash)",
        b"G0 X9 (TAKE UP BACKLASH)",
        b"G0 X9 ; take up backlash\r",
        b"G1 X9 (take up XY, tool stands)",
        b"(gpre take-up: X0.090 Y0.060 Z0 mm in the program, controller compensation OFF)",
        b"G1 X9 (start moved)",
        b"(1.5 turns fewer)",
        b"G0 X9 (lift over)",
    ],
)
def test_a_comment_of_a_new_block_shows_whose_the_program_is(tmp_path, line):
    target = tmp_path / "new.ngc"
    target.write_bytes(b"G0 X2\n" + line + b"\nM2\n")
    assert not refused(target)


@pytest.mark.parametrize(
    "line",
    [
        b"(lift)",
        b"(take up the clamp)",
        b"(start moved by hand)",
        b"take up backlash",
        b"(2 turns)",
        b"(no gpre here)",
        b"(take up W)",
    ],
)
def test_a_comment_that_anybody_may_write_does_not(tmp_path, line):
    target = tmp_path / "new.ngc"
    target.write_bytes(b"G0 X2\n" + line + b"\nM2\n")
    assert refused(target)


@pytest.mark.parametrize("suffix", [".txt", ".json"])
def test_a_certificate_beside_the_program_knows_it(tmp_path, capsys, suffix):
    """As `gpre prove` writes it: of the program after, not of the one before."""
    before, after = tmp_path / "plate.ngc", tmp_path / "plate_new.ngc"
    before.write_bytes(OLD)
    after.write_bytes(b"N1" + OLD)
    paper = tmp_path / f"plate_new.certificate{suffix}"
    assert refused(after)
    assert call(capsys, "prove", before, after, "--certificate", paper)[0] in (0, 4)
    assert not refused(after)
    assert refused(before)
    after.write_bytes(b"N2" + OLD)  # changed by hand since
    assert refused(after)


def test_a_certificate_elsewhere_is_known_where_it_is_named(tmp_path, capsys):
    before, after, paper = (tmp_path / name for name in ("a.ngc", "b.ngc", "paper.txt"))
    before.write_bytes(OLD)
    after.write_bytes(b"N1" + OLD)
    call(capsys, "prove", before, after, "--certificate", paper)
    assert refused(after)
    assert not refused(after, str(paper))


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[1]", b'{"certificate": 1}', b'{"certificate": "proved", "after": 3}']
)
def test_other_files_beside_it_are_no_certificates(tmp_path, data):
    target = tmp_path / "new.ngc"
    target.write_bytes(OLD)
    (tmp_path / "new.json").write_bytes(data)
    (tmp_path / "new.txt").write_bytes(b"CERTIFICATE: " + data)
    assert refused(target)


def test_every_rewrite_that_writes_new_blocks_is_known_by_its_comments(tmp_path):
    """All cases of new blocks with comments, as the rewrites write them."""
    seen, unknown = set(), set()
    target = tmp_path / "new.ngc"
    for path in sorted((ROOT / "tests" / "cases").glob("*/*.case")):
        for case in path.read_text(encoding="utf-8").split("==== case")[1:]:
            parts = re.split(r"^==== (\w+).*$", case, flags=re.MULTILINE)
            texts = dict(zip(parts[1::2], parts[2::2], strict=False))
            before, after = (
                set(re.findall(r"\([^()\n]*\)|;[^\n]*", texts.get(part, "")))
                for part in ("before", "after")
            )
            new = {each.lower() for each in after - before}
            if not new or new <= {"(lift)", "; lift"}:
                continue
            seen.add(path.parent.name)
            target.write_text(texts["after"], encoding="utf-8")
            if refused(target):
                unknown.add((path.name, *sorted(new)))
    assert not unknown
    assert seen >= {"approach", "start-point", "helix", "lift-over", "corner-loop", "take-up"}


def test_a_certificate_goes_over_certificates_alone(tmp_path, capsys):
    before, paper = tmp_path / "a.ngc", tmp_path / "paper.txt"
    before.write_bytes(OLD)
    paper.write_bytes(b"turning the part round: see sheet 4\n")
    status, _, err = call(capsys, "prove", before, before, "--certificate", paper)
    assert (status, "is no certificate" in err) == (2, True)
    assert paper.read_bytes() == b"turning the part round: see sheet 4\n"
    paper.write_bytes(b"")
    assert call(capsys, "prove", before, before, "--certificate", paper)[0] == 0
    assert call(capsys, "prove", before, before, "--certificate", paper)[0] == 0
    refuse_foreign_certificate(str(tmp_path / "none.txt"), "")


@pytest.mark.parametrize(
    ("source", "target"),
    [
        ("plate.ngc", "plate_new.ngc"),
        ("./sub/plate.tap.nc", "sub/plate.tap_new.nc"),
        ("plate", "plate_new"),
        (".plate", ".plate_new"),
        ("-plate.ngc", "-plate_new.ngc"),
        ("-", "-"),
    ],
)
def test_the_name_of_the_new_program(source, target):
    assert new_name(source) == (target if target == "-" else str(Path(target)))


@pytest.mark.parametrize("source", ["/dev/null", ".", "/"])
def test_beside_what_is_no_file_there_is_no_place(source):
    if not Path(source).exists():
        pytest.skip("the system has none")
    with pytest.raises(UsageFault, match="beside"):
        new_name(source)


# --- through the command ------------------------------------------------------------------------


def test_a_name_of_its_own_and_again(capsys, holes):
    """Without --output; a second time the program is known, with whatever comes of it then."""
    new = holes.with_name("holes_new.ngc")
    for options in ([], [], ["--skip", "order"]):
        status, out, err = call(capsys, "rewrite", holes, *options)
        assert (status, err) == (0, "")
        assert f"written: {new}" in out
        assert holes.read_bytes() == HOLES
    assert new.read_bytes() != HOLES


def test_a_file_of_others_stays_without_force(capsys, holes, tmp_path):
    target = tmp_path / "mine.ngc"
    target.write_bytes(OLD)
    status, out, err = call(capsys, "rewrite", holes, "-o", target)
    assert (status, out) == (2, "")
    said = " ".join(err.split())
    assert "nothing shows that gpre wrote it" in said
    for way in ("--force", "comments", "certificate", "another output"):
        assert way in said
    status, out, _ = call(capsys, "rewrite", holes, "-o", target, "--json")
    assert (status, json.loads(out)["fault"]["status"]) == (2, 2)
    paper = tmp_path / "paper.txt"
    assert call(capsys, "rewrite", holes, "-o", target, "--certificate", paper)[0] == 2
    assert not paper.exists()
    assert target.read_bytes() == OLD
    assert call(capsys, "rewrite", holes, "-o", target, "--force")[0] == 0
    assert target.read_bytes() != OLD


def test_the_plan_asks_nothing_of_the_output(capsys, holes):
    holes.with_name("holes_new.ngc").write_bytes(OLD)
    assert call(capsys, "rewrite", holes, "--plan")[0] == 0
    assert holes.with_name("holes_new.ngc").read_bytes() == OLD


def test_a_program_without_comments_is_known_by_its_certificate(capsys, holes, tmp_path):
    paper = tmp_path / "sheet.json"
    options = ["--no-comments", "--certificate", paper]
    assert call(capsys, "rewrite", holes, *options)[0] == 0
    changed = ["--skip", "order,approach", *options]
    assert call(capsys, "rewrite", holes, *changed)[0] == 0
    new = holes.with_name("holes_new.ngc")
    new.write_bytes(new.read_bytes() + b"(by hand)\n")
    assert call(capsys, "rewrite", holes, *options)[0] == 2


def test_force_writes_over_a_certificate_that_is_none(capsys, holes, tmp_path):
    paper = tmp_path / "notes.txt"
    paper.write_bytes(b"mine")
    assert call(capsys, "rewrite", holes, "--certificate", paper)[0] == 2
    assert paper.read_bytes() == b"mine"
    assert call(capsys, "rewrite", holes, "--certificate", paper, "--force")[0] == 0
    assert paper.read_bytes().startswith(b"CERTIFICATE: ")
