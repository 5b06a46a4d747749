"""What users install: a wheel built from the sdist, in a fresh virtual environment."""

import json
import os
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# A block that only the grammar reads, so that the grammars must be in the wheel. The plain moves:
# X goes to 10 and back to 5.
PROGRAM = b"G21 G90\nG0 X0 Y0\n#1 = [2 * 5]\nG1 X#1 F100\nG1 X[#1 / 2] Y[sin[30]]\nM2\n"


def run(*command, cwd=ROOT, **options):
    result = subprocess.run(command, capture_output=True, check=False, cwd=cwd, **options)
    assert result.returncode == 0, result.stdout.decode() + result.stderr.decode()
    return result.stdout


@pytest.fixture(scope="module")
def sdist(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sdist")
    run(sys.executable, "-m", "hatchling", "build", "-t", "sdist", "-d", str(folder))
    (found,) = folder.glob("*.tar.gz")
    return found


@pytest.fixture(scope="module")
def wheel(sdist, tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "-q"]
    run(*pip, "-w", str(folder), str(sdist))
    (found,) = folder.glob("*.whl")
    return found


@pytest.mark.slow
def test_the_sdist_holds_what_a_builder_needs(sdist):
    with tarfile.open(sdist) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert {"pyproject.toml", "README.md", "LICENSE", "gpre/cli/main.py"} <= names
    assert {f"grammars/{each.name}" for each in (ROOT / "grammars").glob("*.lark")} <= names
    assert "samples/mill.toml" in names


@pytest.mark.slow
def test_the_wheel_holds_the_package_and_its_grammars_and_nothing_else(wheel):
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    grammars = {f"gpre/_grammars/{each.name}" for each in (ROOT / "grammars").glob("*.lark")}
    assert grammars
    assert grammars <= names
    modules = {each.relative_to(ROOT).as_posix() for each in (ROOT / "gpre").rglob("*.py")}
    assert modules <= names
    assert "gpre/py.typed" in names
    assert any(name.endswith("licenses/LICENSE") for name in names)
    assert {name.partition("/")[0].partition("-")[0] for name in names} == {"gpre"}


@pytest.mark.slow
def test_the_installed_command_counts_a_program_with_an_expression(wheel, tmp_path):
    home = tmp_path / "venv"
    venv.create(home, with_pip=True)
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    run(scripts / "python", "-m", "pip", "install", "-q", "--disable-pip-version-check", str(wheel))
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    program = tmp_path / "plate.ngc"
    program.write_bytes(PROGRAM)
    elsewhere = {"env": clean, "cwd": tmp_path}
    counted = json.loads(run(scripts / "gpre", "count", str(program), "--json", **elsewhere))
    assert counted["axes"]["x"]["total"] == 1
    assert counted["moves"] == 3
    assert [each["code"] for each in counted["findings"]] == ["MIL508"]
    version = run(scripts / "gpre", "--version", **elsewhere).decode()
    assert version.split() == ["gpre", wheel.name.split("-")[1]]
