"""The layout of scenario files as JSON Schema, for editors that complete and check as one types."""

from __future__ import annotations

import json
from typing import Any

from packsim.scenario.tables import SCHEMA, ScenarioFile

__all__ = ["scenario_schema", "schema_text"]


def scenario_schema() -> dict[str, Any]:
    """Return the JSON Schema of a scenario file.

    Returns
    -------
    dict
        Draft 2020-12. Every quantity says in its description which unit a plain number is in.
    """
    schema = ScenarioFile.model_json_schema()
    schema["properties"]["schema"]["const"] = SCHEMA
    for table in (schema, *schema["$defs"].values()):
        table["properties"] = {key: _plain(one) for key, one in table.get("properties", {}).items()}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def schema_text() -> str:
    """Return the text of shared/scenario.schema.json."""
    return json.dumps(scenario_schema(), indent=2, ensure_ascii=False) + "\n"


def _plain(one: dict[str, Any]) -> dict[str, Any]:
    """Drop "or nothing", which TOML cannot write, and join what a key is with how it is written."""
    choices = [choice for choice in one.get("anyOf", []) if choice != {"type": "null"}]
    inner = dict(choices[0]) if len(choices) == 1 else {}
    said = [one.get("description"), inner.get("written") or one.get("written")]
    rest = {key: value for key, value in one.items() if key not in {"anyOf", "title", "written"}}
    if rest.get("default", 0) in (None, []) or isinstance(rest.get("default"), dict):
        del rest["default"]
    merged = {**inner, **rest, "description": " ".join(text for text in said if text)}
    merged.pop("written", None)
    items = merged.get("items", {})
    if "written" in items:
        merged["items"] = {"type": items["type"], "description": items["written"]}
    return merged
