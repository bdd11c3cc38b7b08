"""The published schema: as the program makes it, and true of what the commands write."""

from __future__ import annotations

import dataclasses
import importlib
import json
import pkgutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import packsim
from packsim.answers.quantities import QUANTITIES
from packsim.answers.quantity import KINDS
from packsim.report.files.as_json import as_json
from packsim.report.files.json_names import ALSO, FROM_ONE, IN_FULL, LEFT_OUT, PICKED, RENAMED
from packsim.report.words.display import Display
from packsim.scenario import load_scenario
from packsim.trial import chances
from tests.answers_schema import RESULTS, answers_schema, keys_text, main
from tests.one_voice.conftest import none_tip

AGAIN = "run: python -m tests.answers_schema"


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return answers_schema()


def test_the_published_files_are_what_the_program_makes(
    root: Path, schema: dict[str, Any], tmp_path: Path
) -> None:
    published = json.loads((root / "shared" / "answers.schema.json").read_text(encoding="utf-8"))
    guide = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert published == schema, AGAIN
    assert keys_text() in guide, AGAIN
    (tmp_path / "shared").mkdir()
    (tmp_path / "DEVELOPERS.md").write_text(guide, encoding="utf-8")
    assert main(tmp_path) == 0
    assert (tmp_path / "DEVELOPERS.md").read_text(encoding="utf-8") == guide


def test_it_is_a_schema_and_says_what_each_key_means(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    named = {one["properties"]["command"]["const"]: one for one in schema["oneOf"]}
    assert set(named) == set(RESULTS)
    silent = [
        f"{name}.{key}"
        for name, one in schema["$defs"].items()
        for key, told in one["properties"].items()
        if not told.get("description")
    ]
    assert silent == []


def test_what_commands_write_agrees_with_it(
    root: Path, schema: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(chances, "chance_of", none_tip)
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    stage, size = line.stages[2].name, line.sizes[0].name
    written = [
        as_json("why", line, packsim.explain_stage(line, stage, size)),
        as_json("nozzles check", line, answers=packsim.check_headers(line, [stage])),
        as_json("nozzles shift", line, answers=packsim.find_shifts(line, [stage])),
        as_json("change", line, packsim.plan_change(line, size, line.sizes[1].name), chances=()),
        as_json("trial plan", line, packsim.plan_trial(line)),
        as_json("study", line, packsim.study_line(line, stages=[stage]), chances=(), history=None),
    ]
    published = jsonschema.Draft202012Validator(schema)  # itself checked above
    for data in written:
        published.validate(json.loads(json.dumps(data, allow_nan=False)))
    broken = written[-1] | {"slack": 1.0}
    with pytest.raises(jsonschema.ValidationError):
        published.validate(broken)


def test_every_name_in_the_tables_is_there() -> None:
    """A row about a field that is gone would hide a new one of that name."""
    modules = [
        importlib.import_module(one.name)
        for one in pkgutil.walk_packages(packsim.__path__, "packsim.")
        if "__main__" not in one.name
    ]
    kinds: dict[str, set[str]] = {}
    for module in modules:
        for name, thing in vars(module).items():
            if isinstance(thing, type) and dataclasses.is_dataclass(thing):
                kinds[name] = {*(f.name for f in dataclasses.fields(thing)), *dir(thing)}
    rows = [
        (owner, name)
        for table in (LEFT_OUT, ALSO, RENAMED)
        for owner in table
        for name in table[owner]
    ]
    rows += [(owner, name) for owner, _, name in (one.partition(".") for one in PICKED)]
    for owner, name in (*rows, *FROM_ONE, *IN_FULL):
        first, _, part = name.partition(".")
        assert first in kinds[owner], f"{owner}.{name}"
        assert not part or part in PICKED[f"{owner}.{first}"], f"{owner}.{name}"


def test_keys_are_unique_and_say_their_unit() -> None:
    keys = [one.key for one in QUANTITIES]
    assert len(set(keys)) == len(keys)
    ends = {"length": "_mm", "signed length": "_mm", "setting": "_mm", "angle": "_deg"}
    for one in QUANTITIES:
        assert one.kind in KINDS
        assert one.meaning.endswith((".", "empty."))
        assert one.key.endswith(ends.get(one.kind, ""))
        assert Display().show(one.kind, None) == "–"
