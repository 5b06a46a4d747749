"""What the commands print with --json is what their JSON Schema says, and nothing else.

The schema is held by jsonschema, which knows nothing of gpre's records.
"""

import json
from copy import deepcopy
from pathlib import Path

import pytest
from command import call
from hostile_maker import hostile_program
from jsonschema import Draft202012Validator

from gpre.report.records.outputs import OUTPUTS, command_schema

SAMPLES = Path(__file__).parents[2] / "samples"
MILL = SAMPLES / "mill.toml"
PLATE, RING = SAMPLES / "focuser_plate.ngc", SAMPLES / "clamp_ring.ngc"
LOOSE = "G0 X0 Y0 Z1\nG1 Z-1 F10\nX10\nY10\nX0\nY0\nG0 Z5\nG43 H7 Z3\nM2\n"  # states nothing
FAULTY = "G21 G90\nG1 X1 F100\nG2 X2 Y2 I0.4 J0.1\nX[1/0]\nM2\n"


def validator(command, record=None):
    """Return what checks the output of a command, or one record of its schema."""
    schema = command_schema(command)
    if record is not None:
        schema = {**schema, "anyOf": [{"$ref": f"#/$defs/{record}"}]}
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def printed(capsys, command, *arguments):
    """Run a command with --json, hold what it prints against its schema, and return that."""
    _, out, err = call(capsys, command, *arguments, "--json")
    value = json.loads(out or err)
    validator(command).validate(value)
    return value


@pytest.mark.parametrize("sample", sorted(SAMPLES.glob("*.ngc")), ids=lambda path: path.stem)
def test_the_samples_are_told_as_the_schema_says(capsys, sample):
    assert printed(capsys, "count", sample, "--list", "--mill", MILL)["reversals"]
    told = printed(capsys, "predict", sample, "--mill", MILL)
    assert told["features"] or told["holes"]["count"]
    assert printed(capsys, "diff", sample, PLATE)["before"]["file"] == str(sample)


def test_a_rewrite_its_plan_and_both_certificates(capsys, tmp_path):
    new, other = tmp_path / "new.ngc", tmp_path / "other.ngc"
    named = tmp_path / "rewritten.json", tmp_path / "proved.json", tmp_path / "failed.json"
    with_mill = "--mill", MILL
    assert printed(capsys, "rewrite", RING, "--plan", *with_mill)["cuts"]
    made = printed(capsys, "rewrite", RING, "-o", new, "--certificate", named[0], *with_mill)
    assert made["certificate"] == str(named[0])
    assert made["done"]
    assert made["skipped"]
    assert printed(capsys, "prove", RING, new, "--certificate", named[1], *with_mill)["proved"]
    other.write_bytes(RING.read_bytes().replace(b"Z-.06I", b"Z-.07I"))
    failed = printed(capsys, "prove", RING, other, "--certificate", named[2], *with_mill)
    assert not failed["proved"]
    assert any(each["line_after"] for each in failed["proof"]["obligations"])
    for name in named:
        validator("prove", "CertificateRecord").validate(json.loads(name.read_text()))
        validator("rewrite", "CertificateRecord").validate(json.loads(name.read_text()))
    assert printed(capsys, "predict", new, "--intended", RING, *with_mill)["intended"] == str(RING)


@pytest.mark.parametrize("text", [LOOSE, FAULTY, ""], ids=["nothing stated", "faulty", "empty"])
def test_what_is_open_or_faulty_is_told_as_the_schema_says(capsys, tmp_path, text):
    file = tmp_path / "part.ngc"
    file.write_text(text)
    for command in ("count", "predict"):
        told = printed(capsys, command, file)
        assert told["findings"]
    printed(capsys, "rewrite", file, "--plan")
    printed(capsys, "prove", file, PLATE)
    printed(capsys, "diff", file, PLATE)
    assert printed(capsys, "prove", file, file)["findings"]


@pytest.mark.parametrize("seed", range(12))
def test_programs_that_nobody_would_write(capsys, tmp_path, seed):
    one, other = tmp_path / "one.ngc", tmp_path / "other.ngc"
    one.write_bytes(hostile_program(31_000 + seed))
    other.write_bytes(hostile_program(32_000 + seed))
    for file in (one, other):
        printed(capsys, "count", file, "--list")
        printed(capsys, "predict", file, "--mill", MILL)
    printed(capsys, "rewrite", one, "--plan")
    printed(capsys, "diff", one, other)
    printed(capsys, "prove", one, other)


def test_codes_and_faults(capsys, tmp_path):
    assert printed(capsys, "job", PLATE, "--output", tmp_path / "plate.job.toml")["tools"]
    assert printed(capsys, "explain")["codes"]
    assert printed(capsys, "explain", "INT304")["code"] == "INT304"
    assert printed(capsys, "explain", "lost_motion")["keys"]
    missing = tmp_path / "none.ngc"
    for command in ("count", "predict", "rewrite"):
        assert printed(capsys, command, missing)["fault"]["status"] == 3
        assert printed(capsys, command)["fault"]["status"] == 2
    assert printed(capsys, "prove", PLATE, missing)["findings"]
    assert printed(capsys, "diff", "-", "-")["fault"]["status"] == 2
    assert printed(capsys, "explain", "XYZ999")["fault"]["status"] == 2


def dicts_in(value, path=()):
    """Yield the way to each object in a JSON value."""
    if isinstance(value, dict):
        yield path
    parts = value.items() if isinstance(value, dict) else enumerate(value)
    for key, each in parts:
        if isinstance(each, dict | list):
            yield from dicts_in(each, (*path, key))


def at(value, path):
    for key in path:
        value = value[key]
    return value


def test_a_key_that_is_unknown_or_missing_fails_wherever_it_is(capsys):
    optional = {"reversals", "cuts", "outside_cuts", "certificate"}
    for command, value in (
        ("count", printed(capsys, "count", PLATE, "--mill", MILL)),
        ("predict", printed(capsys, "predict", PLATE, "--mill", MILL)),
        ("rewrite", printed(capsys, "rewrite", PLATE, "--plan")),
        ("diff", printed(capsys, "diff", PLATE, RING)),
        ("explain", printed(capsys, "explain", "INT304")),
        ("count", {"fault": {"message": "m", "help": "", "status": 3}, "findings": []}),
    ):
        check = validator(command)
        assert check.is_valid(value)
        every = list(dicts_in(value))
        alike = {tuple(key for key in path if isinstance(key, str)): path for path in every}
        for path in alike.values():
            odd = deepcopy(value)
            at(odd, path)["unheard_of"] = 1
            assert not check.is_valid(odd), path
            for key in at(value, path).keys() - optional:
                short = deepcopy(value)
                del at(short, path)[key]
                assert not check.is_valid(short), (path, key)


@pytest.mark.parametrize("command", OUTPUTS)
def test_every_key_says_what_it_means(command):
    for name, record in command_schema(command)["$defs"].items():
        assert record["description"].endswith("."), name
        assert record["additionalProperties"] is False
        for key, value in record["properties"].items():
            assert value["description"], (name, key)


def test_units_stand_beside_what_they_belong_to():
    of = command_schema("predict")["$defs"]
    assert of["DeviationRecord"]["properties"]["greatest"]["description"].endswith("; mm")
    assert of["CycleTimeRecord"]["properties"]["total"]["description"] == "all of it; s"
    assert of["TakeUpRecord"]["properties"]["speed"]["description"].endswith("mm/min")
    tool = command_schema("prove")["$defs"]["ToolRecord"]["properties"]
    assert tool["max_ramp_angle"]["description"].endswith("radians")
    assert of["Finding"]["properties"]["line"]["minimum"] == 1


@pytest.mark.parametrize("command", OUTPUTS)
def test_the_schema_is_printed_without_a_program(capsys, command):
    status, out, err = call(capsys, command, "--json-schema")
    assert (status, err) == (0, "")
    assert json.loads(out) == command_schema(command)
