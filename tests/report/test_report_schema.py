"""The JSON Schemas of the commands: made from the records, closed, and with a word for each key."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from command import call
from jsonschema import Draft202012Validator

from gpre.report.records.outputs import OUTPUTS, command_schema


def objects(schema: Any) -> Iterator[dict[str, Any]]:
    """Each schema of an object within a schema."""
    if isinstance(schema, dict):
        if "properties" in schema:
            yield schema
        for each in schema.values():
            yield from objects(each)
    elif isinstance(schema, list):
        for each in schema:
            yield from objects(each)


@pytest.mark.parametrize("command", sorted(OUTPUTS))
def test_the_schema_of_a_command_is_closed_and_says_what_each_key_means(command: str) -> None:
    schema = command_schema(command)
    Draft202012Validator.check_schema(schema)
    assert schema["title"] == f"gpre {command} --json"
    assert {"$ref": "#/$defs/FaultRecord"} in schema["anyOf"]
    found = list(objects(schema["$defs"]))
    assert len(found) >= 5
    for each in found:
        assert each["additionalProperties"] is False
        assert set(each["required"]) <= each["properties"].keys()
    for name, record in schema["$defs"].items():
        assert record["description"], name
        for key, value in record["properties"].items():
            assert value.get("description") or "$ref" in value, (name, key)
    used = set(json.dumps(schema).split('"#/$defs/')[1:])
    assert {each.split('"')[0] for each in used} <= schema["$defs"].keys()


@pytest.mark.parametrize("command", sorted(OUTPUTS))
def test_each_command_prints_its_schema_without_a_file(capsys, command: str) -> None:
    status, out, err = call(capsys, command, "--json-schema")
    assert (status, err) == (0, "")
    assert json.loads(out) == command_schema(command)


def test_what_a_command_prints_is_held_by_its_schema(capsys, tmp_path) -> None:
    path = tmp_path / "edge.ngc"
    path.write_bytes(b"G21 G90 G17\nG0 X0 Y0 Z5\nG1 Z-1 F100\nX10\nX0\nG0 Z5\nM2\n")
    told = json.loads(call(capsys, "count", path, "--list", "--json")[1])
    held = Draft202012Validator(command_schema("count"))
    held.validate(told)
    for key in told.keys() - {"reversals"}:  # that is there with --list alone
        assert not held.is_valid({name: each for name, each in told.items() if name != key})
    assert not held.is_valid(told | {"more": 1})
    missing = json.loads(call(capsys, "count", tmp_path / "none.ngc", "--json")[1])
    held.validate(missing)
    assert missing["fault"]["status"] == 3
