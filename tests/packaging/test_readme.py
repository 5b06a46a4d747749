"""What the README shows is what the commands print, and its commands are those that CI runs."""

import contextlib
import io
import os
import re
import shlex
import shutil
from pathlib import Path

import pytest

from gpre.cli.bridge import run
from gpre.cli.main import gpre

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
TEXT = README.read_text(encoding="utf-8")
LONGEST, HEAD, TAIL = 60, 18, 21  # lines of a block; of a longer one head and tail are shown
EXAMPLE = re.compile(r"```python\n(.*?)```\n\nprints\n\n```\n(.*?)```", re.DOTALL)
BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)


def printed(command):
    """Return what a terminal shows for a command, both streams together."""
    stream = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with contextlib.redirect_stdout(stream), contextlib.redirect_stderr(stream):
        run(gpre, shlex.split(command)[1:])
    return stream.buffer.getvalue().decode().replace(os.sep, "/")


def test_the_console_shows_what_the_commands_print(tmp_path, monkeypatch):
    """Run with GPRE_UPDATE_README=1 to take the blocks as they are printed now."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    (program,) = re.findall(r"`faulty.ngc` is\n\n```\n(.*?)```", TEXT, re.DOTALL)
    (tmp_path / "faulty.ngc").write_text(program, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")

    def printed_block(match):
        command = match.group(1).split("\n", 1)[0].removeprefix("$ ")
        lines = [line.rstrip() for line in printed(command).splitlines()]
        if len(lines) > LONGEST:
            lines[HEAD : len(lines) - TAIL] = ["[...]"]
        return "\n".join(["```console", f"$ {command}", *lines, "```"])

    text = README.read_text(encoding="utf-8")  # another test may have updated its part
    now = BLOCK.sub(printed_block, text)
    if os.environ.get("GPRE_UPDATE_README") and not os.environ.get("CI"):
        README.write_text(now, encoding="utf-8")
    assert now == text


def test_the_example_from_python_prints_what_is_shown(tmp_path, monkeypatch, capsys):
    """Run with GPRE_UPDATE_README=1 to take what it prints now."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    text = README.read_text(encoding="utf-8")  # another test may have updated its part
    (example,) = EXAMPLE.findall(text)
    exec(compile(example[0], "README.md", "exec"), {})
    out, err = capsys.readouterr()
    assert not err
    assert Path("dovetail_shoe_new.ngc").exists()
    now = text.replace(example[1], out)
    if os.environ.get("GPRE_UPDATE_README") and not os.environ.get("CI"):
        README.write_text(now, encoding="utf-8")
    assert now == text


def test_the_commands_are_single_lines_and_ci_runs_the_one_for_the_tests():
    set_up, tests = re.findall(r"```sh\n(.*?)\n```", TEXT, re.DOTALL)
    assert "\n" not in set_up
    assert set_up.startswith(
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/gpre rewrite"
    )
    assert tests in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_the_files_that_the_readme_names_are_there():
    for name in re.findall(r"samples/[\w./]+", TEXT):
        assert (ROOT / name).exists(), name
    for name in re.findall(r"\]\(([\w./]+)\)", TEXT):
        assert (ROOT / name).exists(), name


def test_the_readme_opens_with_one_paragraph_on_the_job():
    title, paragraph, heading = TEXT.split("\n\n")[:3]
    assert title == "# gpre"
    assert "\n" not in paragraph
    assert heading.startswith("## ")


@pytest.mark.parametrize(
    "word", ["hand on feed hold", "eye protection", "first run", "Climb milling can pull"]
)
def test_the_cautions_are_there(word):
    assert word in TEXT


def test_the_rewrites_of_the_readme_are_those_of_the_catalogue():
    from gpre.rewrites.catalogue import NAMES

    table = TEXT.split("## What is rewritten")[1].split("##")[0]
    assert sorted(re.findall(r"^\| `([a-z-]+)`", table, re.MULTILINE)) == sorted(NAMES)
