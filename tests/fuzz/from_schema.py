"""Scenario files made from the published schema: right in shape, with any value in its bounds."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import numpy as np

from tests.fuzz.case import ROOT, chance, pick
from tests.fuzz.values import value

_NEEDED = {
    "StageTable": ("name", "duty", "length", "clear_width"),
    "HeaderTable": ("side", "from_stage_start", "nozzle_to_mat", "first_nozzle", "pitch", "count",
                    "pattern", "angle", "rated_flow", "rated_pressure", "pressure"),
}  # fmt: skip
"""What a table has somewhere: the schema cannot say that it need not be there itself."""


_RARE = ("like", "below", "measured_angles", "measured_shares", "include", "guides_set_for",
         "every_stage", "settings", "history", "hollow_share", "brackets", "assumed")  # fmt: skip
"""What hardly ever makes sense beside what stands elsewhere by chance."""


@cache
def schema() -> dict[str, Any]:
    """The schema of scenario files as it is published."""
    text = (ROOT / "shared" / "scenario.schema.json").read_text(encoding="utf-8")
    return dict(json.loads(text))


def data_of(rng: np.random.Generator, wild: float) -> dict[str, Any]:
    """The data of a scenario; a share ``wild`` of the values is none of the examples."""
    return _table(rng, schema(), wild)


def _made(rng: np.random.Generator, what: dict[str, Any], wild: float, key: str) -> Any:
    if "$ref" in what:
        return _made(rng, schema()["$defs"][what["$ref"].rpartition("/")[2]], wild, key)
    if chance(rng, wild):
        return value(rng, str(pick(rng, what.get("examples", [""]))))
    if "const" in what or "enum" in what:
        return what["const"] if "const" in what else pick(rng, what["enum"])
    kind = what.get("type", "string")
    if kind == "object":
        return _table(rng, what, wild)
    if kind == "array":
        return _rows(rng, what, wild, key)
    said = re.search(r'such as ("?)([^",]+?)\1(?:[,.]? )', what.get("description", "") + " ")
    if said or what.get("examples"):
        return pick(rng, what.get("examples") or [said[2] if said[1] else float(said[2])])
    plain = {"boolean": chance(rng, 0.5), "integer": int(rng.integers(1, 30)), "string": key}
    return plain.get(kind, pick(rng, [1.5, "5 mm", "2 %", 1])) if isinstance(kind, str) else 1.5


def _rows(rng: np.random.Generator, what: dict[str, Any], wild: float, key: str) -> list[Any]:
    rows = int(rng.integers(max(1, what.get("minItems", 0)), 4))
    told = {"description": what.get("description", "")} | what["items"]
    found = [_made(rng, told, wild, f"{key}{i}") for i in range(rows)]
    for i, row in enumerate(found):
        if isinstance(row, dict) and isinstance(row.get("name"), str) and not chance(rng, wild):
            row["name"] += f" {i}"
    return found


def _table(rng: np.random.Generator, what: dict[str, Any], wild: float) -> dict[str, Any]:
    needed = [*what.get("required", []), *_NEEDED.get(what.get("title", ""), ())]
    share = pick(rng, [0.05, 0.2, 0.6])
    found = {
        name: _made(rng, one, wild, name)
        for name, one in what.get("properties", {}).items()
        if (name in needed and not chance(rng, 0.1 * wild)) or chance(rng, share)
    }
    for name in _RARE:
        if name in found and not chance(rng, wild + 0.01):
            del found[name]
    if found.get("wire_heights") and not chance(rng, wild):
        found["wire_heights"] = ["30 mm", "65 mm", "100 mm"]
    if isinstance(what.get("additionalProperties"), dict):
        found |= {name: _made(rng, what["additionalProperties"], wild, name) for name in "ab"}
    return found
