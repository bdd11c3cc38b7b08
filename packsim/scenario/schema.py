"""The layout of scenario files as JSON Schema, for editors that complete and check as one types.

``python -m packsim.scenario.schema`` rewrites shared/scenario.schema.json in the current folder.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from packsim.scenario.tables import SCHEMA, ScenarioFile

__all__ = ["main", "scenario_schema", "schema_text"]


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


def main(folder: Path | None = None) -> int:
    """Write shared/scenario.schema.json below a folder, the current one unless given."""
    place = (folder or Path.cwd()) / "shared" / "scenario.schema.json"
    place.write_text(schema_text(), encoding="utf-8")
    return 0


def _plain(one: dict[str, Any]) -> dict[str, Any]:
    """Drop "or nothing", which TOML cannot write, and join what a key is with how it is written."""
    choices = [choice for choice in one.get("anyOf", []) if choice != {"type": "null"}]
    inner = dict(choices[0]) if len(choices) == 1 else {}
    said = [one.get("description"), inner.get("written") or one.get("written")]
    rest = {
        key: value
        for key, value in one.items()
        if key not in {"anyOf", "title", "written"} and not (key == "default" and value is None)
    }
    merged = {**inner, **rest, "description": " ".join(text for text in said if text)}
    merged.pop("written", None)
    return merged


if __name__ == "__main__":
    sys.exit(main())
