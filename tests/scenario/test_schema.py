"""The editor's schema: current, complete, and agreeing with the shipped files."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from packsim.scenario.once import written_out
from packsim.scenario.tables import ScenarioFile
from tests.scenario_schema import FILES, every_kind, main, schema_of, schema_text
from viewer.lessons.numbers import NAMES

TYPES = {"string": str, "number": (int, float), "integer": int, "boolean": bool, "array": list}
SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
SHIPPED = sorted(SCENARIOS.glob("*.toml"))
LESSONS = sorted((SCENARIOS / "lessons").glob("*.toml"))

both = pytest.mark.parametrize("name", FILES)


@both
def test_the_file_is_current(root: Path, name: str) -> None:
    stored = (root / "shared" / name).read_text(encoding="utf-8")
    assert stored == schema_text(FILES[name]), "run: python -m tests.scenario_schema"


@both
def test_the_command_rewrites_it(tmp_path: Path, name: str) -> None:
    (tmp_path / "shared").mkdir()
    assert main(tmp_path) == 0
    stored = (tmp_path / "shared" / name).read_text(encoding="utf-8")
    assert json.loads(stored) == schema_of(FILES[name])


@both
def test_every_key_is_described_and_every_quantity_names_its_unit(name: str) -> None:
    schema = schema_of(FILES[name])
    units = {each.unit for each in every_kind()}
    for table in (schema, *schema["$defs"].values()):
        for key, one in table["properties"].items():
            assert one["description"], key
            if one.get("type") == ["number", "string"]:
                said = one["description"].partition("A plain number")[2]
                assert (
                    any(said.startswith(f" is in {unit}.") for unit in units if unit)
                    or "text in %" in said
                )


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_files_agree_with_it(path: Path) -> None:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    ScenarioFile.model_validate(written_out(data)[0])
    schema = schema_of(ScenarioFile)
    _agrees(data, schema, schema["$defs"])


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_shipped_lessons_agree_with_it_as_another_library_reads_it(path: Path) -> None:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    check = jsonschema.Draft202012Validator(schema_of(FILES["lesson.schema.json"]))
    assert [error.message for error in check.iter_errors(data)] == []
    data["scenes"][0]["look"] = "the moon"
    data["scenes"][-1]["untill_tips"] = 3
    assert len(list(check.iter_errors(data))) == 2


def test_every_name_in_braces_is_told() -> None:
    scene = schema_of(FILES["lesson.schema.json"])["$defs"]["SceneRow"]
    lines = scene["properties"]["caption"]["description"].splitlines()
    for name in NAMES:
        (line,) = (line for line in lines if line.startswith(f"{{{name}}}: "))
        assert line.endswith(".")


def _agrees(data: Any, schema: dict[str, Any], tables: dict[str, Any]) -> None:
    """Check the few words of JSON Schema that ours uses."""
    if "$ref" in schema:
        schema = tables[schema["$ref"].rpartition("/")[2]]
    if (
        schema["type"] == "object"
        and "additionalProperties" in schema
        and "properties" not in schema
    ):
        for value in data.values():
            _agrees(value, schema["additionalProperties"], tables)
        return
    if schema["type"] == "object":
        assert set(schema.get("required", ())) <= set(data) <= set(schema["properties"])
        for key, value in data.items():
            _agrees(value, schema["properties"][key], tables)
        return
    kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    assert any(isinstance(data, TYPES[kind]) for kind in kinds)
    if "enum" in schema:
        assert data in schema["enum"]
    for row in data if "items" in schema and isinstance(data, list) else ():
        _agrees(row, schema["items"], tables)
