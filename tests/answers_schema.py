"""The schema of every JSON, made from the types and the table of quantities.

``python -m tests.answers_schema`` rewrites shared/answers.schema.json and the keys in
DEVELOPERS.md.
"""

import dataclasses
import datetime as dt
import inspect
import json
import sys
import types
import typing
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any, Final

import numpy as np

from packsim.answers import Answer
from packsim.answers.mat_heat import HeatRow
from packsim.answers.quantities import QUANTITIES
from packsim.answers.quantity import KINDS
from packsim.can import Can
from packsim.catalogue import ListedSize
from packsim.chance import History, LineChance, StageChance
from packsim.compare import Comparison, Target
from packsim.errors import Assumption
from packsim.headers import HeaderCheck, HeaderDesign, LineShift
from packsim.line import Scenario, Stage
from packsim.line.input_range import InputRange
from packsim.look.beside import Beside
from packsim.look.carried import Shaken
from packsim.look.measure import Looked
from packsim.look.over_time import Filmed
from packsim.money.proposal import MachineProposal
from packsim.report.files.as_json import DIGITS, SCHEMA, entries
from packsim.report.files.json_names import IN_FULL
from packsim.report.words.run_case import RunCase
from packsim.scenario.sheets.measured import Measured
from packsim.size_change import SizeChange
from packsim.study import Study, Turned
from packsim.sweep import Sweep
from packsim.trial import FittedPrediction, TrialFit, TrialPlan
from packsim.why import Reasons

RESULTS: Final[dict[str, tuple[type | None, dict[str, Any]]]] = {
    "study": (Study, {"chances": tuple[LineChance, ...], "history": History | None}),
    "why": (Reasons, {}),
    "sweep": (Sweep, {"unit": str}),
    "nozzles check": (None, {"answers": tuple[HeaderCheck, ...]}),
    "nozzles shift": (None, {"answers": tuple[LineShift, ...]}),
    "nozzles design": (None, {"answers": tuple[HeaderDesign, ...]}),
    "run": (
        None,
        {"places": tuple[str, ...], "cases": tuple[RunCase, ...], "history": History | None},
    ),
    "compare": (Comparison, {"target": Target | None}),
    "change": (SizeChange, {"chances": tuple[LineChance, ...]}),
    "oven-heat": (None, {"answers": tuple[HeatRow, ...], "other_mat": str}),
    "sizes": (None, {"sizes": tuple[ListedSize, ...]}),
    "measured": (Measured, {"verdicts_turned": tuple[Turned, ...]}),
    "look": (
        Looked,
        {
            "filmed": Filmed | None,
            "shaken": Shaken | None,
            "beside": Beside | None,
            "saved": Measured | None,
            "verdicts_turned": tuple[Turned, ...],
        },
    ),
    "trial plan": (TrialPlan, {}),
    "trial fit": (
        TrialFit,
        {
            "statements": tuple[str, ...],
            "predictions": tuple[FittedPrediction, ...],
            "size": str,
            "run_cans": float,
        },
    ),
    "proposal": (MachineProposal, {}),
}
"""What each command puts into its JSON: the result at the top, and parts under their names."""

_PLAIN: Final = {bool: "boolean", int: "integer", str: "string", dt.date: "string"}

BEGIN, END = "<!-- keys: begin -->", "<!-- keys: end -->"
"""Marks in DEVELOPERS.md between which the keys stand."""


def answers_schema() -> dict[str, Any]:
    """Return the JSON schema of what every command writes with ``--json``."""
    defs: dict[str, Any] = {}
    commands = [_command(name, *result, defs) for name, result in RESULTS.items()]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Results of packsim, schema {SCHEMA}",
        "description": "Lengths in mm, angles in degrees, forces in N; null where there is none; "
        f"numbers in {DIGITS} digits.",
        "oneOf": commands,
        "$defs": dict(sorted(defs.items())),
    }


def _command(
    name: str, result: type | None, parts: Mapping[str, Any], defs: dict[str, Any]
) -> dict[str, Any]:
    keys: dict[str, Any] = {
        "schema": {"const": SCHEMA, "description": "Version of the keys."},
        "command": {"const": name, "description": "The command."},
    }
    if name != "sizes":
        keys |= {
            "scenario": {"type": "string", "description": "Name of the scenario."},
            "seed": {"type": "integer", "description": "Seed of what is random."},
            "guides_set_for": {"type": "string", "description": "Can size the guides are set for."},
            "safety_factor": {"type": "number", "description": "Divides the safe slack."},
        }
    about_line = set(keys) - {"schema", "command"}
    keys |= _properties(result, defs) if result is not None else {}
    keys |= {key: _of(hint, defs) for key, hint in parts.items()}
    keys["assumed"] = _of(tuple[Assumption, ...], defs) | {
        "description": "What the result rests on and nobody measured."
    }
    told = _object(keys)
    if name == "look":  # a photograph may be of no line
        told["required"] = [key for key in told["required"] if key not in about_line]
    return told


def _object(keys: dict[str, Any], meaning: str = "") -> dict[str, Any]:
    said = {"description": meaning} if meaning else {}
    shape = {"type": "object", "properties": keys, "required": list(keys)}
    return said | shape | {"additionalProperties": False}


def _properties(owner: type, defs: dict[str, Any]) -> dict[str, Any]:
    """Return what stands in JSON for a class, key by key."""
    found: dict[str, Any] = {}
    for name, keys in entries(owner).items():
        hint: Any = owner
        for part in name.split("."):
            hint, said = _told(hint, part)
        full = (owner.__name__, name) in IN_FULL
        if not keys:
            found |= _quantities() if hint is Answer else _properties(hint, defs)
            continue
        many = len(keys) > 1
        for key, one in zip(keys, typing.get_args(hint) if many else [hint], strict=True):
            found[key] = _of(one, defs, full=full) | {"description": said}
    return found


_LATE = {"StageChance": StageChance, "InputRange": InputRange}
"""What modules name for types alone, and load when asked."""


def _told(owner: type, name: str) -> tuple[Any, str]:
    """Return the type of a field or property of a class, and what its docstring says of it."""
    from numpydoc.docscrape import NumpyDocString

    told, said = getattr(owner, name, None), ""
    if isinstance(told, property | cached_property):
        said = (inspect.getdoc(told) or "").partition("\n\n")[0]
        asked = told.fget if isinstance(told, property) else told.func
        return typing.get_type_hints(asked, localns=_LATE)["return"], " ".join(said.split())
    for base in reversed(owner.__mro__[:-1]):
        for part in NumpyDocString(inspect.getdoc(base) or "")["Parameters"]:
            if name in part.name.replace(" ", "").split(","):
                said = " ".join(part.desc)
    return typing.get_type_hints(owner, localns=_LATE)[name], " ".join(said.split())


def _quantities() -> dict[str, Any]:
    keys: dict[str, Any] = {
        "stage": {"type": "string", "description": "Name of the stage."},
        "size": {"type": "string", "description": "Name of the can size."},
    }
    for one in QUANTITIES:
        keys[one.key] = {"type": [KINDS[one.kind], "null"], "description": one.meaning}
    return keys


def _of(hint: Any, defs: dict[str, Any], *, full: bool = False) -> dict[str, Any]:
    """Return the schema of a type; classes go among the definitions."""
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if hint in _PLAIN:
        return {"type": _PLAIN[hint]}
    if hint is Any:  # what a machine has of any field
        return {}
    if hint is float:
        return {"type": ["number", "null"]}
    if hint is type(None):
        return {"type": "null"}
    if hint in (Scenario, Stage, Can):
        return {"type": "string"}
    if origin in (typing.Union, types.UnionType):
        return {"anyOf": [_of(one, defs) for one in args]}
    if origin is np.ndarray or hint is np.ndarray:
        return {"type": "array"}
    if origin in (tuple, list):
        kinds = [_of(one, defs, full=full) for one in dict.fromkeys(args) if one is not Ellipsis]
        return {"type": "array", "items": kinds[0] if len(kinds) == 1 else {"anyOf": kinds}}
    if origin in (dict, Mapping):
        return {"type": "object", "additionalProperties": _of(args[1], defs)}
    return _reference(hint, defs, full=full)


def _reference(owner: type, defs: dict[str, Any], *, full: bool) -> dict[str, Any]:
    if not dataclasses.is_dataclass(owner):
        raise TypeError(f"{owner}: no JSON is known for it")
    name = f"{owner.__name__}InFull" if full else owner.__name__
    if name not in defs:
        defs[name] = {}  # a class may hold itself
        keys = _properties(owner, defs) if full or owner is not Answer else {}
        keys = _quantities() | keys if owner is Answer else keys
        defs[name] = _object(keys, (inspect.getdoc(owner) or "").partition("\n")[0])
    return {"$ref": f"#/$defs/{name}"}


def keys_text() -> str:
    """Return the page of keys: every quantity with its heading and meaning, in Markdown."""
    rows = [f"| `{one.key}` | {one.heading} | {one.meaning} |" for one in QUANTITIES]
    head = ["| key in JSON and CSV | heading | meaning |", "|---|---|---|"]
    return "\n".join((BEGIN, "", *head, *rows, "", END))


def main(folder: Path | None = None) -> int:
    """Write shared/answers.schema.json and the keys in DEVELOPERS.md below a checkout; return 0."""
    top = folder or Path.cwd()
    text = json.dumps(answers_schema(), indent=1, ensure_ascii=False) + "\n"
    (top / "shared" / "answers.schema.json").write_text(text, encoding="utf-8")
    guide = top / "DEVELOPERS.md"
    before, _, rest = guide.read_text(encoding="utf-8").partition(BEGIN)
    guide.write_text(before + keys_text() + rest.partition(END)[2], encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
