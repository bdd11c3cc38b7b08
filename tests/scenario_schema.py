"""The layout of files as JSON Schema, for editors that complete and check.

``python -m tests.scenario_schema`` rewrites the files in shared/.
"""

import json
import sys
from pathlib import Path
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from packsim.scenario import lesson_tables
from packsim.scenario.figures.amount import Amount
from packsim.scenario.figures.load import FiguresFile
from packsim.scenario.keys import Key, Table, keys
from packsim.scenario.known.measured import MOST
from packsim.scenario.known.table_inputs import TABLES, documented
from packsim.scenario.lesson_tables import Caption, LessonFile
from packsim.scenario.renew import SCHEMA
from packsim.scenario.stage_tables import BY_DUTY
from packsim.scenario.tables import PerMillion, ScenarioFile
from packsim.scenario.values import fields
from packsim.scenario.values.quantities import Kind
from packsim.scenario.values.readers import Choice, Named, Names, Of, Range, Words
from viewer.lessons.numbers import NAMES

REQUIRED = {"StageTable": [], "HeaderTable": []}
"""What a file must say in these itself: anything may come from what the table is like."""

_NUMBER: dict[str, Any] = {"type": ["number", "string"]}

_READINGS: dict[str, Any] = {
    "type": ["number", "string", "array"],
    "items": _NUMBER,
    "minItems": 2,
    "maxItems": MOST,
}


class _Types(GenerateJsonSchema):
    """Says what an editor may find where a reader of ours reads."""

    def function_plain_schema(self, schema: Any) -> dict[str, Any]:
        reader = schema["function"]["function"].__self__
        if reader is fields.kind_of(fields.Stations):
            return {"type": ["number", "string", "array"], "items": _NUMBER, "minItems": 1}
        if isinstance(reader, Range):
            return dict(_READINGS)
        if isinstance(reader, Of | Named):
            kind = reader.of if isinstance(reader, Named) else reader
            return dict(_NUMBER if kind.exact else _READINGS)
        if isinstance(reader, Amount):
            return dict(_READINGS) | {"maxItems": 2}
        if isinstance(reader, PerMillion):
            return dict(_NUMBER)
        if isinstance(reader, Choice):
            return {"type": "string", "enum": list(reader.words)}
        if isinstance(reader, Names):
            one = {"type": "string", "maxLength": reader.longest}
            return {"type": ["string", "array"], "items": one, "minItems": 1}
        if isinstance(reader, Caption):
            return {"type": "string", "minLength": 1}
        if isinstance(reader, Words):
            return {"type": "string", "maxLength": reader.longest}
        return {}


def every_kind() -> list[Kind]:
    """The kinds of quantity that fields are annotated with."""
    readers = [getattr(each, "__metadata__", [None])[0] for each in vars(fields).values()]
    readers += vars(lesson_tables).values()
    return [reader for reader in readers if isinstance(reader, Of)]


FILES: dict[str, type[Table]] = {
    "scenario.schema.json": ScenarioFile,
    "figures.schema.json": FiguresFile,
    "lesson.schema.json": LessonFile,
}
"""The files in shared/, and the tables they describe."""


def schema_of(file: type[Table]) -> dict[str, Any]:
    """Return the JSON Schema of a file, draft 2020-12.

    Every key says what it is, which unit a plain number is in, what stands in where it is left out,
    and has an example of its own.
    """
    schema = file.model_json_schema(schema_generator=_Types)
    schema["properties"]["schema"]["const"] = SCHEMA
    tables = {table.__name__: table for table in Table.__subclasses__()}
    for name, table in ((file.__name__, schema), *schema["$defs"].items()):
        declared = keys(tables[name])
        for key, one in table["properties"].items():
            table["properties"][key] = _plain(one, declared[key], _known(tables[name], key))
    if file is ScenarioFile:
        for name, needed in REQUIRED.items():
            schema["$defs"][name]["required"] = needed
    if file is LessonFile:
        caption = schema["$defs"]["SceneRow"]["properties"]["caption"]
        told = "\n".join(f"{{{name}}}: {meaning}" for name, meaning in NAMES.items())
        second = 'With "_2" after its name, as {slack_mm_2}: of the lower pack.'
        caption["description"] = f"{caption['description']}\n{told}\n{second}"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def schema_text(file: type[Table]) -> str:
    """Return the text of its file in shared/."""
    return json.dumps(schema_of(file), indent=2, ensure_ascii=False) + "\n"


def main(folder: Path | None = None) -> int:
    """Write the schemas in shared/ below the checkout; return exit status 0."""
    for name, file in FILES.items():
        place = (folder or Path.cwd()) / "shared" / name
        place.write_text(schema_text(file), encoding="utf-8")
    return 0


def _plain(one: dict[str, Any], key: Key, known: str) -> dict[str, Any]:
    """Drop "or nothing", which TOML cannot write, and say of a key what its declaration says."""
    choices = [choice for choice in one.get("anyOf", []) if choice != {"type": "null"}]
    inner = dict(choices[0]) if len(choices) == 1 else {}
    dropped = {"anyOf", "title", "noun", "assumed", "why", "example"}
    kept = {**inner, **{name: value for name, value in one.items() if name not in dropped}}
    if kept.get("default", 0) in (None, []) or isinstance(kept.get("default"), dict):
        del kept["default"]
    kept["description"] = " ".join(filter(None, (key.about, _written(key), _assumed(key), known)))
    if key.example is not None:
        listed = kept.get("type") == "array"
        kept["examples"] = [[key.example] if listed else key.example]
    return kept


def _written(key: Key) -> str:
    if key.kind is None:
        return ""
    unit = key.kind.unit
    phrase = key.kind.range if key.example is not None else key.kind.allowed
    plain = f"A plain number is in {unit}." if unit else "A plain number, or a text in %."
    return f"{phrase[0].upper()}{phrase[1:]}. {plain}"


def _known(table: type[Table], key: str) -> str:
    """Say how well a value is known that is written plainly, and one that is not there."""
    said = documented().get(f"{TABLES.get(table, '')}.{key}")
    if said is None or said.given == "exact":
        return ""
    told = f"Without a ± or readings, known to {_spread(said.given)} ({said.why})."
    if said.assumed:
        told += f" Where nobody gave it, it may be {_spread(said.assumed)} ({said.if_not})."
    return told


def _spread(spread: str) -> str:
    return spread if " to " in spread else f"± {spread}"


def _assumed(key: Key) -> str:
    if key.assumed is None:
        return ""
    if key.assumed == BY_DUTY:
        return "Assumed by the duty where left out."
    value = key.reader.told("", key.assumed, "").value
    if isinstance(key.reader, Choice | Named):
        value = f'"{value}"'
    return f"Assumed {value} where left out: {key.why}."


if __name__ == "__main__":
    sys.exit(main())
