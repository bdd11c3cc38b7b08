"""The editor's schema: current, complete, and agreeing with the shipped files."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from packsim.scenario.once import written_out
from packsim.scenario.tables import ScenarioFile
from tests.scenario_schema import every_kind, main, scenario_schema, schema_text

TYPES = {"string": str, "number": (int, float), "integer": int, "boolean": bool, "array": list}
SHIPPED = sorted((Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))


def test_the_file_is_current(root: Path) -> None:
    stored = (root / "shared" / "scenario.schema.json").read_text(encoding="utf-8")
    assert stored == schema_text(), "run: python -m tests.scenario_schema"


def test_the_command_rewrites_it(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    assert main(tmp_path) == 0
    stored = (tmp_path / "shared" / "scenario.schema.json").read_text(encoding="utf-8")
    assert json.loads(stored) == scenario_schema()


def test_every_key_is_described_and_every_quantity_names_its_unit() -> None:
    schema = scenario_schema()
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
    _agrees(data, scenario_schema(), scenario_schema()["$defs"])


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
